"""The shipped chapter, computed: each cause is found, and right claims are not accused."""

import math
import shutil

import pandas as pd
import pytest

from borestudy.__main__ import main
from borestudy.claims import AGREES, DISAGREES, UNDECIDED
from borestudy.claims.trial import (
    DIAMETER_FOR_RADIUS,
    HANDBOOK,
    LOSSLESS,
    LUMPED,
    NO_END_CORRECTION,
    TEMPERATURE,
    WRONG_UNIT,
)
from borestudy.provenance import ROOT

from .conftest import REPOSITORY, Runner, copy_sources

CONFIGS = REPOSITORY / "configs"
TABLE = "results/chapter/claims.csv"
#: Verdict and cause of each claim, by where it stands.
EXPECTED = {
    "1.2, table of dimensions": (AGREES, None),
    "1.3, soft playing": (AGREES, None),
    "1.2, as π d² l": (DISAGREES, DIAMETER_FOR_RADIUS),
    "2.1, computed": (AGREES, None),
    "2.1, with rigid walls and no friction": (DISAGREES, LOSSLESS),
    "2.2, by c/2π √(S/Vl)": (DISAGREES, NO_END_CORRECTION),
    "2.2, with the mass of the air in the backbore": (DISAGREES, LUMPED),
    "2.3, measured in a cold room": (DISAGREES, TEMPERATURE),
    "2.3, shank end open": (DISAGREES, NO_END_CORRECTION),
    "3.1, computed": (AGREES, None),
    "3.1, to one percent": (UNDECIDED, None),
    "3.2, from tables of losses": (DISAGREES, HANDBOOK),
    "3.2, resistance": (DISAGREES, WRONG_UNIT),
    "3.3, what rounding does": (AGREES, None),
}
#: Speed of sound [m/s], density [kg/m³] and viscosity [Pa s] of air at 20 °C, half saturated.
SPEED, DENSITY, VISCOSITY = 343.96, 1.1994, 1.8143e-5


@pytest.fixture(scope="module")
def chapter(tmp_path_factory):
    """Folder in which the chapter's claims were judged."""
    folder = tmp_path_factory.mktemp("chapter")
    for name in ("chapter.yaml", "chapter-claims.csv"):
        shutil.copy(CONFIGS / name, folder)
    copy_sources(ROOT, folder / "sources")
    options = {"study": folder / "chapter.yaml", "sources": folder / "sources"}
    ran = Runner(folder)("--", TABLE, **options)
    assert ran.returncode == 0, ran.stdout
    return folder


@pytest.fixture(scope="module")
def judged(chapter):
    return pd.read_csv(chapter / TABLE).set_index("where")


@pytest.mark.parametrize("where", EXPECTED)
def test_every_claim_gets_its_verdict_and_every_wrong_one_its_cause(judged, where):
    verdict, cause = EXPECTED[where]
    found = judged.loc[where]
    assert found["verdict"] == verdict
    assert (None if pd.isna(found["cause"]) else found["cause"]) == cause
    if cause is None:
        assert pd.isna(found["other_causes"])


def test_the_chapter_has_no_other_claims(judged):
    assert list(judged.index) == list(EXPECTED)


def test_a_claim_that_could_be_wrong_in_two_ways_is_told_both(judged):
    assert TEMPERATURE in judged.loc["2.3, shank end open", "other_causes"]
    alone = judged["other_causes"].drop("2.3, shank end open")
    assert alone.isna().all()


def test_wrong_claims_are_what_their_authors_would_have_worked_out(judged):
    throat, end, length = 3.7338e-3 / 2, 4.4e-3, 4.8e-3
    area = math.pi * throat**2
    # The cup of 1.322 and, rounded, of 1.3285 cm³; then the throat is 0.54 mm shorter.
    backbore = 70.2e-3 / (math.pi * throat * end)
    by_hand = {
        "1.2, as π d² l": 1e6 * math.pi * (2 * throat) ** 2 * length,
        "2.2, with the mass of the air in the backbore": (
            SPEED / (2 * math.pi) / math.sqrt(1.322e-6 * (length / area + backbore))
        ),
        "2.2, by c/2π √(S/Vl)": (
            SPEED / (2 * math.pi) * math.sqrt(area / (1.3285e-6 * (length - 0.544e-3)))
        ),
        # The speed of sound goes with the root of the absolute temperature, to 1e-4 in moist air.
        "2.3, measured in a cold room": 741.25 * math.sqrt(288.15 / 293.15),
    }
    for where, value in by_hand.items():
        assert abs(judged.loc[where, "claimed"] - value) <= judged.loc[where, "tolerance"], where
    # Half a dynamic pressure at the edge (a usual handbook's), Blasius' friction, a third of what
    # a sudden widening loses, and kinetic energy by the mean velocity: some ten pascals.
    speed = 5e-5 / area
    dynamic = 0.5 * DENSITY * speed**2
    friction = 0.3164 * (2 * throat * speed * DENSITY / VISCOSITY) ** -0.25 * 4.8 / 3.734
    speeding_up = (throat / end) ** 4 - (throat / 8.2e-3) ** 4
    cone = (1 - (throat / end) ** 2) ** 2 / 3
    handbook = dynamic * (speeding_up + 0.5 + friction + cone)
    assert judged.loc["3.2, from tables of losses", "claimed"] == pytest.approx(handbook, rel=0.2)


def test_the_page_says_how_many_agree(chapter):
    text = (chapter / "results/chapter/claims.html").read_text(encoding="utf-8")
    assert "Of 14 claims 5 agree, 8 disagree and 1 cannot be decided" in text.replace(
        "\N{NO-BREAK SPACE}", " "
    )


def test_another_claim_solves_nothing_again(chapter):
    file = chapter / "chapter-claims.csv"
    before = file.read_text(encoding="utf-8")
    file.write_text(before.replace("740.8", "740.7"), encoding="utf-8")
    try:
        options = {"study": chapter / "chapter.yaml", "sources": chapter / "sources"}
        jobs = Runner(chapter).planned("--", TABLE, **options)
    finally:
        file.write_text(before, encoding="utf-8")
    assert set(jobs) - {"total"} == {"claims"}


def test_the_command_judges_from_the_results(chapter, tmp_path, capsys):
    study, output = str(chapter / "chapter.yaml"), tmp_path / "judged.csv"
    results = ["--results", str(chapter / "results/chapter")]
    assert main(["claims", study, *results, "--output", str(output)]) == 0
    told = capsys.readouterr().out
    assert "Of 14 claims 5 agree, 8 disagree" in told
    assert f"Table: {output}" in told
    same = pd.read_csv(output).set_index("where")
    assert list(same["verdict"]) == [verdict for verdict, _ in EXPECTED.values()]


def test_a_claim_that_is_none_stops_the_run_before_anything_is_written(tmp_path):
    shutil.copy(CONFIGS / "chapter.yaml", tmp_path)
    text = (CONFIGS / "chapter-claims.csv").read_text(encoding="utf-8")
    (tmp_path / "chapter-claims.csv").write_text(text.replace("740.8,Hz", "740.8,Pa"))
    ran = Runner(tmp_path)("--", TABLE, study=tmp_path / "chapter.yaml")
    assert ran.returncode != 0
    assert "chapter-claims.csv, line 7: unit: found 'Pa'" in ran.stdout
    assert "Traceback" not in ran.stdout
    assert not (tmp_path / "results").exists()


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("740.8,Hz", "740.8,Pa", "line 7: unit: found 'Pa'"),
        ("resonance,square,,740.8", "resonanse,square,,740.8", "did you mean resonance?"),
        ("quantity,case", "quantity,bore", "line 3: bore: unknown column"),
    ],
)
def test_the_command_refuses_claims_with_their_line_and_writes_nothing(
    tmp_path, capsys, old, new, told
):
    shutil.copy(CONFIGS / "chapter.yaml", tmp_path)
    text = (CONFIGS / "chapter-claims.csv").read_text(encoding="utf-8")
    assert old in text
    (tmp_path / "chapter-claims.csv").write_text(text.replace(old, new, 1), encoding="utf-8")
    output = tmp_path / "judged.csv"
    for command in (["claims", "--output", str(output)], ["check"]):
        name, *options = command
        assert main([name, str(tmp_path / "chapter.yaml"), *options]) == 2
        shown = capsys.readouterr()
        assert shown.out == ""
        assert told in shown.err
    assert not output.exists()


def test_the_command_wants_results_and_claims(tmp_path, capsys):
    for name in ("chapter.yaml", "chapter-claims.csv"):
        shutil.copy(CONFIGS / name, tmp_path)
    study = tmp_path / "chapter.yaml"
    (tmp_path / "other").mkdir()
    shutil.copy(CONFIGS / "throat-sweep.yaml", tmp_path / "other" / "resolved.yaml")
    assert main(["claims", str(study), "--results", str(tmp_path / "other")]) == 2
    assert "no results of it as it stands in" in capsys.readouterr().err
    assert main(["claims", str(study)]) == 2
    assert f"for example borestudy run {study}" in capsys.readouterr().err
    study.write_text(study.read_text(encoding="utf-8").replace("claims: chapter-claims.csv", ""))
    assert main(["claims", str(study)]) == 2
    assert "claims: missing" in capsys.readouterr().err
