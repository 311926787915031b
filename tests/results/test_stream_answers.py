"""The sentence on what the steady stream does to the resonance."""

from borestudy.records import from_plain
from borestudy.report.sentences.stream import stream_answers
from borestudy.results.case import CaseResults
from borestudy.results.stream import StreamResult

RATES = (0.05, 0.2)  # L/s


def case(name: str, rates: list[dict]) -> CaseResults:
    stream = from_plain(StreamResult, {"rates": rates})
    return CaseResults(name, varied={"throat_diameter_mm": 3.5}, stream=stream)


def row(rate: float, change: float, regime: str, validity: str) -> dict:
    return {
        "rate_index": RATES.index(rate),
        "flow_rate_L_per_s": rate,
        "throat_reynolds": 1e4 * rate,
        "regime": regime,
        "validity": validity,
        "strouhal": 0.62,
        "resonance_Q_change_percent": change,
        "resonance_Q_change_percent_uncertainty": 0.03,
        "resonance_Q_change_low_percent": 1.5 * change,
        "resonance_Q_change_high_percent": 0.5 * change,
    }


def test_a_laminar_stream_has_a_figure_and_a_doubt() -> None:
    still = case("a", [row(0.05, -4.6, "laminar", "not quasi-steady")])
    (sentence,) = stream_answers([still], None)
    assert "by 4.60 ± 0.03 %" in sentence
    assert "too fast for the stream to follow (Strouhal number 0.62)" in sentence


def test_a_stream_has_one_figure_for_both_ends_of_the_study() -> None:
    slow = row(0.05, -4.6, "laminar", "not quasi-steady")
    cases = [
        case("a", [slow, row(0.2, -20.0, "turbulent", "quasi-steady")]),
        case("b", [slow, row(0.2, -10.0, "turbulent", "quasi-steady")]),
    ]
    (sentence,) = stream_answers(cases, "throat_diameter_mm")
    assert "at 0.2 L/s" in sentence
    assert "by 20.00 ± 0.03 % with 3.5 mm and by 10.00 ± 0.03 % with 3.5 mm" in sentence
    assert "too fast" not in sentence


def test_without_a_stream_nothing_is_said() -> None:
    assert stream_answers([case("a", [])], None) == []
