"""Figures and report of a study from its folder."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from pathlib import Path

import pandas as pd

from borestudy.drawing.bore import outline
from borestudy.drawing.style import FigureRecord
from borestudy.files import read_json, write_json
from borestudy.provenance import versions
from borestudy.records import read_record
from borestudy.report import page
from borestudy.report.figures.case import read_case
from borestudy.report.figures.collection import PicturedStudy, draw_all
from borestudy.report.figures.comparison_errors import draw_measurements
from borestudy.report.figures.costs import draw_costs
from borestudy.report.figures.wish import draw_wish
from borestudy.report.interactive.collection import charts_of
from borestudy.report.interactive.panels import StudyCharts
from borestudy.report.large.overview import bounded
from borestudy.report.latex import write_latex
from borestudy.report.listening import BoreSounds
from borestudy.report.sentences.wish import wish_answer
from borestudy.report.tables.comparison import printed_comparisons
from borestudy.report.tables.costs import cost_sentences, printed_costs
from borestudy.report.tables.flow import with_transitions
from borestudy.report.tables.measured import read_files
from borestudy.report.topic import topic_of
from borestudy.results.case import CaseResults, varied_columns
from borestudy.results.comparison_errors import comparison_table, shipped_comparisons
from borestudy.results.tables.files import join_impedances, read_rows, read_table
from borestudy.results.tables.selected import read_all
from borestudy.results.wishes import WishResult
from borestudy.stages import large
from borestudy.stages.air import AirResult
from borestudy.stages.benchmarks import times_of
from borestudy.stages.collation import results_of_cases
from borestudy.stages.geometry import read_bore
from borestudy.study import Study

#: Words that go with the figures, and their charts for a browser, kept in their folder.
CAPTIONS, CHARTS = "captions.json", "charts.json"
#: Tables that a study with lips has besides.
OF_LIPS = ("onset", "onset_changes", "tone", "tone_changes")


def draw_figures(study: Study, folder: Path, output: Path) -> None:
    """Draw every figure of a study from its folder, and keep their captions and charts."""
    pictured = pictured_study(study, folder)
    records = records_of(study, folder, pictured, output)
    write_json(output / CAPTIONS, [_entry(record) for record in records])
    charts = charts_of(pictured, topic_of(study.question, pictured.varied))
    write_json(output / CHARTS, asdict(charts))


def pictured_study(study: Study, folder: Path) -> PicturedStudy:
    """What the figures of a study are drawn from, from its folder.

    Of many cases these are columns of the tables, and the few cases that are drawn one by one.
    """
    many = large.many_bores(study, folder) if large.is_large(study) else None
    names = ("comparison", "flow", "sensitivities")
    if many is None:
        labels, results = case_labels(study), results_of_cases(study, folder)
        tables = _tables(folder, *names, "impedance")
    else:
        labels = large.shown_labels(many)
        results = results_of_cases(study, folder, labels)
        curves = [folder / "cases" / case.name / "impedance.csv" for case in results]
        tables = {name: large.shown_rows(folder, name, labels) for name in names}
        tables["impedance"] = join_impedances(curves, study.resonance.points)
    return PicturedStudy(
        cases=[
            read_case(
                folder / "cases" / case.name,
                case,
                outline(read_bore(folder / "cases" / case.name / "bore.json")),
                labels[case.name],
                "fields" in study.keep,
            )
            for case in results
        ],
        varied=varied_columns(results) if many is None else many.varied,
        many=many,
        comparison=tables["comparison"],
        flow=tables["flow"],
        impedance=tables["impedance"],
        sensitivities=tables["sensitivities"],
    )


def records_of(
    study: Study, folder: Path, pictured: PicturedStudy, output: Path
) -> list[FigureRecord]:
    """Draw every figure of a study into a folder, in the look of the moment."""
    records = draw_all(output, pictured, topic_of(study.question, pictured.varied))
    if (wish := read_wish(study, folder)) is not None and (way := draw_wish(wish, output)):
        records.append(way)
    if (measured := draw_measurements(shipped_comparisons(), output)) is not None:
        records.append(measured)
    costs = times_of(folder)
    if costs is not None and (drawn := draw_costs(*costs, output)) is not None:
        records.append(drawn)
    return records


def _entry(record: FigureRecord) -> dict[str, object]:
    """A record with the names of its files alone."""
    entry = asdict(record)
    return {key: value.name if isinstance(value, Path) else value for key, value in entry.items()}


def read_wish(study: Study, folder: Path) -> WishResult | None:
    """What became of a study's wish, from its folder; None of a study without one."""
    if study.asked() is None:
        return None
    return read_record(folder / "wish" / "wish.json", WishResult)


def case_labels(study: Study) -> dict[str, str]:
    """The words that tell each case from the others, by the case's name."""
    return {case.name: case.label for case in study.cases()}


def read_figures(folder: Path) -> list[FigureRecord]:
    """The records that `draw_figures` kept."""
    paths = ("svg_path", "png_path", "csv_path")
    return [
        FigureRecord(**entry | {path: folder / entry[path] for path in paths if entry[path]})
        for entry in read_json(folder / CAPTIONS)
    ]


def make_report(
    study: Study,
    folder: Path,
    air: Path,
    source_hashes: Mapping[str, str],
    output: Path,
    latex: Path,
) -> None:
    """Write a study's report from the tables, answers and figures in its folder.

    `air` is the first case's; `source_hashes` are of the sources of each rule; `latex` is where
    the comparison goes as LaTeX tables.
    """
    told, wish = read_json(folder / "answers.json"), read_wish(study, folder)
    if large.is_large(study):
        many = large.many_bores(study, folder)
        labels, varied = large.shown_labels(many), many.varied
        tables = large.shown_tables(folder, labels)
        results = results_of_cases(study, folder, labels)
        overview = large.study_overview(study, folder, many, len(labels))
        told |= {name: bounded(told[name]) for name in ("answers", "validity")}
    else:
        tables = _tables(
            folder, "comparison", "flow", "verification", "stream", "energy", "separations",
            "sensitivities", "tolerances", "hand_formulas", "budget",
        )  # fmt: skip
        labels, results, overview = case_labels(study), results_of_cases(study, folder), None
        varied = varied_columns(results)
    for name in (one for one in OF_LIPS if one in told["rows"]):
        if overview is None:
            tables |= _tables(folder, name)
        else:
            tables[name] = large.shown_rows(folder, name, labels)
    costs = read_table(folder / "costs.csv")
    tables["flow"] = with_transitions(tables["flow"], results)
    report = page.StudyReport(
        title=study.name,
        question=study.question,
        answers=[*([wish_answer(wish)] if wish else []), *told["answers"]],
        first=told["first"],
        first_files=list(dict.fromkeys(one["file"] for one in told["first_numbers"])),
        validity=told["validity"],
        topic=topic_of(study.question, varied),
        tables=page.ResultTables(
            **tables,
            lips=pd.DataFrame(study.lips.stated() if study.lips else []),
            benchmarks=printed_costs(costs),
            comparison_errors=comparison_table(shipped_comparisons()),
        ),
        figures=read_figures(folder / "figures"),
        charts=StudyCharts(**read_json(folder / "figures" / CHARTS)),
        wish=wish,
        readings=read_files(results),
        labels=labels,
        overview=overview,
        costs=cost_sentences(costs),
        playing=told.get("onset", ()),
        sounds=sounds_of(folder, results, labels),
        provenance=page.MadeFrom(
            settings=study.resolved(folder),
            air=_air_facts(read_record(air, AirResult)),
            sources={"versions": versions(), "source_hashes": source_hashes},
        ),
    )
    page.write_report(output, report)
    called = report.tables.with_labels(report.labels)
    printed = printed_comparisons(called.comparison, called.flow, report.topic)
    write_latex(latex, study.name, printed)


def sounds_of(
    folder: Path, cases: Sequence[CaseResults], labels: Mapping[str, str]
) -> list[BoreSounds]:
    """The sounds that are kept of cases, from a study's folder, a case of none left out."""
    found = []
    for case in cases:
        levels = () if case.tone is None else case.tone.at_levels
        home = folder / "cases" / case.name
        paths = {one.level: home / one.sound for one in levels if one.sound is not None}
        kept = {level: path for level, path in paths.items() if path.is_file()}
        brightness = [one.shank_centroid.value for one in levels if one.shank_centroid is not None]
        centroid = max(brightness, default=None)
        if kept:
            found.append(BoreSounds(label=labels[case.name], files=kept, centroid=centroid))
    return found


def _tables(folder: Path, *names: str) -> dict[str, pd.DataFrame]:
    """Tables of a study by name, each with all the rows that it was written with."""
    told = read_json(folder / "answers.json")
    stored = told.get("parquet_rows", {})  # where a file of CSV may have some cases' rows alone
    return {
        name: read_all(folder / f"{name}.parquet", stored[name])
        if name in stored
        else read_rows(folder / f"{name}.csv", told["rows"][name])
        for name in names
    }


def _air_facts(air: AirResult) -> dict[str, float]:
    """Conditions and constants of the air under names that carry their units."""
    units = {
        "density": "density_kg_per_m3",
        "sound_speed": "sound_speed_m_per_s",
        "viscosity": "viscosity_Pa_s",
        "thermal_conductivity": "thermal_conductivity_W_per_m_K",
        "specific_heat": "specific_heat_J_per_kg_K",
    }
    constants = {units.get(name, name): value for name, value in asdict(air.constants).items()}
    return asdict(air.conditions) | constants
