"""What holds of every bore and every study, tried on many that nobody would write."""

import math
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from borestudy.bore import BoreError, bore_from_dimensions, bore_from_stations, describe
from borestudy.bore.entry import Entry
from borestudy.study import StudyError, load_study, study_from_mapping

#: The same examples on every run and machine, however slow.
tried = settings(max_examples=150, deadline=None, derandomize=True)

#: Lengths [m] that are sensible, and such that are not.
SENSIBLE = st.floats(1e-4, 0.2)
ANY = st.one_of(SENSIBLE, st.floats(allow_nan=True, allow_infinity=True))
ENTRIES = st.one_of(
    st.just(Entry("square")),
    st.builds(lambda size: Entry("rounded", (size,)), SENSIBLE),
    st.builds(
        lambda size, angle: Entry("chamfered", (size,), angle),
        SENSIBLE,
        st.floats(0.1, math.pi / 2 - 0.1),
    ),
    st.builds(lambda a, b: Entry("elliptical", (a, b)), SENSIBLE, SENSIBLE),
)
TAPERS = st.one_of(
    st.sampled_from(["straight", "opening early", "opening late"]), st.floats(-1.5, 1.5)
)


def sizes_of(lengths, shapes):
    return st.fixed_dictionaries(
        {
            "length": lengths,
            "cup_diameter": lengths,
            "cup_depth": lengths,
            "cup_shape": shapes,
            "throat_diameter": lengths,
            "throat_length": lengths,
            "entry": ENTRIES,
            "backbore_end_diameter": lengths,
            "backbore_taper": TAPERS,
        }
    )


def made(make, *arguments, **settings):
    """What is made and no words, or nothing and the words with which it is refused."""
    try:
        return make(*arguments, **settings), ""
    except (BoreError, StudyError) as refused:
        return None, str(refused)


def bore_of(sizes):
    bore, refused = made(bore_from_dimensions, **sizes)
    assert bore or ("; allowed " in refused and "for example" in refused)
    return bore


@tried
@given(sizes_of(ANY, st.floats(allow_nan=True, allow_infinity=True)))
def test_a_bore_is_valid_or_refused_with_an_example(sizes):
    bore = bore_of(sizes)
    if bore is not None:
        assert bore.length == pytest.approx(sizes["length"], rel=1e-12)
        assert 2 * bore.throat_radius == pytest.approx(sizes["throat_diameter"], rel=1e-9)


#: Bores near enough to mouthpieces that most of them are ones.
LIKELY = st.fixed_dictionaries(
    {
        "length": st.floats(0.05, 0.12),
        "cup_diameter": st.floats(0.012, 0.03),
        "cup_depth": st.floats(0.005, 0.03),
        "cup_shape": st.floats(0, 1),
        "throat_diameter": st.floats(2e-3, 8e-3),
        "throat_length": st.floats(1e-3, 15e-3),
        "entry": st.sampled_from(
            [Entry("square"), Entry("rounded", (5e-4,)), Entry("chamfered", (3e-4,), math.pi / 4)]
        ),
        "backbore_end_diameter": st.floats(8e-3, 12e-3),
        "backbore_taper": st.floats(-1, 1),
    }
)


@tried
@given(LIKELY)
def test_volumes_are_positive_and_add_up(sizes):
    bore = bore_of(sizes)
    assume(bore is not None)
    parts = {part: bore.volume(part) for part in bore.parts}
    assert min(parts.values()) > 0
    assert sum(parts.values()) == pytest.approx(bore.volume(), rel=1e-12)
    # a cylinder as wide as the widest place holds more, one as narrow as the throat less
    widest = max(bore.rim_radius, bore.shank_radius)
    least, most = (math.pi * r**2 * bore.length for r in (bore.throat_radius, widest))
    assert least <= bore.volume() <= most
    facts = describe(bore)
    cubic_cm = facts.cup_volume_cm3 + facts.throat_volume_cm3 + facts.backbore_volume_cm3
    assert cubic_cm == pytest.approx(1e6 * bore.volume(), rel=1e-12)


@tried
@given(LIKELY, st.floats(0, 1))
def test_the_wall_is_nowhere_narrower_than_the_throat(sizes, place):
    bore = bore_of(sizes)
    assume(bore is not None)
    assert float(bore.radius(place * bore.length)) >= bore.throat_radius * (1 - 1e-9)


@tried
@given(
    st.lists(st.tuples(ANY, ANY), min_size=0, max_size=12),
    st.sampled_from(["straight", "smooth"]),
)
def test_a_file_of_stations_is_a_bore_or_refused(stations, join):
    rows = "".join(f"{1e3 * x!r},{1e3 * d!r}\n" for x, d in stations)
    with TemporaryDirectory() as folder:
        path = Path(folder) / "stations.csv"
        path.write_text(f"position_mm,diameter_mm\n{rows}", encoding="utf-8")
        bore, refused = made(bore_from_stations, path, join)
        assert "allowed" in refused if bore is None else bore.volume() > 0


@tried
@given(st.text(max_size=200))
def test_any_text_is_a_file_of_stations_or_refused(text):
    with TemporaryDirectory() as folder:
        path = Path(folder) / "stations.csv"
        path.write_text(text, encoding="utf-8", errors="surrogatepass")
        bore, refused = made(bore_from_stations, path)
        assert bore or "allowed" in refused


MILLIMETRES = st.integers(1, 400).map(lambda tenths: f"{tenths / 10:g} mm")
DRILLS = st.integers(10, 40).map(lambda number: f"drill {number}")
VARIED = {
    "throat.diameter": DRILLS,
    "throat.length": MILLIMETRES,
    "cup.depth": MILLIMETRES,
    "cup.shape": st.integers(0, 20).map(lambda n: n / 20),
    "length": st.integers(700, 1000).map(lambda tenths: f"{tenths / 10:g} mm"),
    "throat.entry": st.one_of(
        st.just("square"),
        st.integers(1, 30).map(lambda n: f"rounded {n / 10:g} mm"),
        st.integers(1, 30).map(lambda n: f"chamfered {n / 10:g} mm at 45 deg"),
    ),
    "backbore.taper": st.one_of(
        st.sampled_from(["straight", "opening early"]), st.integers(-9, 9).map(lambda n: n / 10)
    ),
    "air.temperature": st.integers(10, 40).map(lambda n: f"{n} degC"),
}


@st.composite
def studies(draw):
    """Contents of a study file that varies some dimensions."""
    keys = draw(st.lists(st.sampled_from(sorted(VARIED)), unique=True, max_size=3))
    vary = {key: draw(st.lists(VARIED[key], min_size=1, max_size=4, unique=True)) for key in keys}
    return {
        "question": draw(st.text(st.characters(codec="ascii", categories=["L"]), min_size=1)),
        "bore": {
            "length": "88 mm",
            "cup": {"diameter": "16.2 mm", "depth": "10.8 mm", "shape": 0.6},
            "throat": {"diameter": "drill 27", "length": "5 mm", "entry": "square"},
            "backbore": {"end_diameter": "9 mm"},
        },
        "vary": vary,
        "flow": {"rates": draw(st.sampled_from(["0.05 L/s", "0.05, 0.1 L/s", "20, 40 mL/s"]))},
        "mesh": {"resolution": draw(st.sampled_from(["coarse", "medium"]))},
        "tolerance": draw(st.sampled_from(["0.001 in", "0.02 mm"])),
    }


def study_of(contents):
    study, refused = made(study_from_mapping, contents, ".", "tried")
    assert study or "allowed" in refused
    assume(study)
    return study


@tried
@given(studies())
def test_names_of_cases_are_unique_and_safe_for_files(contents):
    names = [case.name for case in study_of(contents).cases()]
    assert len({name.lower() for name in names}) == len(names)
    for name in names:
        assert name == Path(name).name
        assert not set(name) & set('/\\:*?"<>| \n')
        assert len(name) < 200


@tried
@given(studies())
def test_a_study_written_out_and_read_again_is_the_same(contents):
    study = study_of(contents)
    with TemporaryDirectory() as folder:
        path = Path(folder) / "resolved.yaml"
        study.write_resolved(path)
        again = load_study(path)
        assert again.resolved(Path(folder)) == study.resolved(Path(folder))
        assert [case.name for case in again.cases()] == [case.name for case in study.cases()]
        assert [case.description() for case in again.cases()] == [
            case.description() for case in study.cases()
        ]
