"""Each mistake is answered with the key, what was found, what is allowed and an example."""

import pytest

# Changes to the example; the key that must be named; what must be said of it.
MISTAKES = {
    "length without a unit": (
        {"bore/length": 88}, "bore.length", ["found 88", "mm, cm", "for example 3.66 mm"]),
    "length in an unknown unit": (
        {"bore/length": "88 furlongs"}, "bore.length", ["'furlongs'", "for example"]),
    "length with a comma": (
        {"bore/length": "8,8 cm"}, "bore.length", ["comma", "for example"]),
    "length below zero": (
        {"bore/cup/depth": "-10.8 mm"}, "bore.cup.depth", ["'-10.8 mm'", "above zero"]),
    "length of zero": (
        {"bore/throat/length": "0 mm"}, "bore.throat.length", ["'0 mm'", "above zero"]),
    "a drill that is none": (
        {"bore/throat/diameter": "drill 99"}, "bore.throat.diameter",
        ["'drill 99'", "1 to 80", "for example drill 27"]),
    "missing dimension": (
        {"bore/cup/depth": None}, "bore.cup.depth", ["missing", "length", "for example 10.8 mm"]),
    "missing section": (
        {"bore/cup": None}, "bore.cup", ["missing", "diameter, depth, shape"]),
    "no bore": ({"bore": None, "vary": {}}, "bore", ["missing", "stations"]),
    "cup shape": (
        {"bore/cup/shape": 1.2}, "bore.cup.shape", ["found 1.2", "0 (straight cone)", "1 (full"]),
    "cup shape in words": (
        {"bore/cup/shape": "bowl"}, "bore.cup.shape", ["'bowl'", "for example 0.6"]),
    "unknown entry": (
        {"bore/throat/entry": "smooth"}, "bore.throat.entry",
        ["'smooth'", "square", "for example rounded 0.5 mm"]),
    "entry without a size": (
        {"bore/throat/entry": "rounded"}, "bore.throat.entry", ["'rounded'", "mm"]),
    "entry radius of zero": (
        {"bore/throat/entry": "rounded 0 mm"}, "bore.throat.entry", ["above zero"]),
    "chamfer angle": (
        {"bore/throat/entry": "chamfered 1 mm at 95 deg"}, "bore.throat.entry",
        ["'95 deg'", "between 0 and 90 deg", "for example 45 deg"]),
    "half an ellipse": (
        {"bore/throat/entry": "elliptical 2 mm"}, "bore.throat.entry",
        ["two lengths", "for example elliptical 2 mm x 1 mm"]),
    "unknown taper": (
        {"bore/backbore/taper": "steep"}, "bore.backbore.taper",
        ["'steep'", "opening early", "for example straight"]),
    "taper station without a diameter": (
        {"bore/backbore/taper": [{"position": "1 mm"}]}, "bore.backbore.taper[0].diameter",
        ["missing", "for example 4.6 mm"]),
    "unknown key": (
        {"bore/cup/dept": "3 mm"}, "bore.cup.dept",
        ["unknown key", "did you mean depth?", "diameter, depth, shape"]),
    "temperature": (
        {"air/temperature": "300 degC"}, "air.temperature", ["-20 degC to 60 degC", "25 degC"]),
    "humidity without percent": (
        {"air/relative_humidity": 0.5}, "air.relative_humidity", ["found 0.5", "50 %"]),
    "pressure in the wrong unit": (
        {"air/pressure": "101.325 Pa"}, "air.pressure", ["50 kPa to 110 kPa"]),
    "frequency of zero": (
        {"resonance/from": "0 Hz"}, "resonance.from",
        ["'0 Hz'", "above zero", "for example 50 Hz"]),
    "descending range": (
        {"resonance/to": "20 Hz"}, "resonance.to",
        ["'20 Hz'", "above resonance.from (50 Hz)", "for example 5000 Hz"]),
    "range that begins above the usual end": (
        {"resonance/from": "6 kHz", "resonance/to": "50 Hz"}, "resonance.to",
        ["'50 Hz'", "above resonance.from (6 kHz)", "for example 12000 Hz"]),
    "range of one frequency": (
        {"resonance/to": "50 Hz"}, "resonance.to", ["above resonance.from", "for example"]),
    "one point": (
        {"resonance/points": 1}, "resonance.points", ["found 1", "2 to 200000", "example 991"]),
    "half a point": (
        {"resonance/points": 10.5}, "resonance.points", ["found 10.5", "whole number"]),
    "fundamental of zero": (
        {"resonance/fundamental": "0 Hz"}, "resonance.fundamental", ["'0 Hz'", "above zero"]),
    "unknown termination": (
        {"resonance/behind": "trumpet"}, "resonance.behind",
        ["'trumpet'", "anechoic pipe", "for example"]),
    "air column that is missing": (
        {"resonance/behind": {"air column": "no.csv"}}, "resonance.behind.air column",
        ["'no.csv'", "no such file", "for example"]),
    "air column that is no CSV": (
        {"resonance/behind": {"air column": "column.xls"}}, "resonance.behind.air column",
        ["'column.xls'", "CSV file", "for example"]),
    "no rate": ({"flow/rates": []}, "flow.rates", ["no rate", "for example"]),
    "rate of zero": (
        {"flow/rates": "0, 0.1 L/s"}, "flow.rates[0]", ["'0 L/s'", "above zero", "for example"]),
    "rates that descend": (
        {"flow/rates": "0.1, 0.05 L/s"}, "flow.rates[1]",
        ["'0.05 L/s' after '0.1 L/s'", "ascending", "for example"]),
    "a rate twice": (
        {"flow/rates": ["0.1 L/s", "100 mL/s"]}, "flow.rates[1]", ["each once", "for example"]),
    "rates without a unit": (
        {"flow/rates": [0.05, "0.1 L/s"]}, "flow.rates[0]", ["0.05", "without a unit", "0.05 L/s"]),
    "reference rate that is not computed": (
        {"flow/reference_rate": "0.15 L/s"}, "flow.reference_rate",
        ["'0.15 L/s'", "one of flow.rates (0.05 L/s", "for example 0.05 L/s"]),
    "unknown inlet": (
        {"flow/inlet": "turbulent"}, "flow.inlet", ["'turbulent'", "developed", "uniform"]),
    "unknown resolution": (
        {"mesh": {"resolution": "finest"}}, "mesh.resolution",
        ["'finest'", "coarse, medium or fine", "for example medium"]),
    "name with a slash": (
        {"name": "a/b"}, "name", ["'a/b'", "letters, digits", "for example entry-rounding"]),
    "section that is a word": (
        {"flow": "fast"}, "flow", ["'fast'", "rates, inlet"]),
    "varied dimension that is none": (
        {"vary": {"throat.entri": ["square"]}}, "vary.throat.entri",
        ["did you mean throat.entry?", "Allowed keys are"]),
    "varied section": (
        {"vary": {"throat": ["square"]}}, "vary.throat", ["not a dimension", "Allowed keys are"]),
    "varied value": (
        {"vary": {"throat.entry": ["square", "round 1 mm"]}}, "vary.throat.entry[1]",
        ["'round 1 mm'", "square", "for example rounded 0.5 mm"]),
    "nothing to vary": (
        {"vary": {"throat.entry": []}}, "vary.throat.entry", ["empty list", "for example"]),
    "varied by one word": (
        {"vary": {"throat.entry": "square"}}, "vary", ["throat.entry", "'square'", "a list"]),
    "varied twice": (
        {"vary": {"cup.depth": ["9 mm"], "bore.cup.depth": ["9 mm"]}}, "vary.bore.cup.depth",
        ["twice", "for example cup.depth"]),
    "the same value twice": (
        {"vary": {"throat.diameter": ["drill 27", "0.144 in"]}}, "vary.throat.diameter",
        ["'drill 27' and '0.144 in'", "the same", "for example"]),
    "pairs that do not match": (
        {"vary": {"cup.depth": ["9 mm", "10 mm"], "cup.shape": [0, 0.5, 1]}, "combine": "paired"},
        "vary", ["cup.depth has 2, cup.shape has 3", "one length", "combine: grid"]),
    "stations that are missing": (
        {"bore": {"stations": "none.csv"}, "vary": {}}, "bore.stations",
        ["'none.csv'", "no such file", "for example"]),
    "varied stations that are missing": (
        {"bore": {"join": "smooth"}, "vary": {"stations": ["stations.csv", "none.csv"]}},
        "vary.stations[1]", ["'none.csv'", "no such file", "for example"]),
    "unknown join": (
        {"bore": {"stations": "stations.csv", "join": "spline"}, "vary": {}}, "bore.join",
        ["'spline'", "straight or smooth", "for example smooth"]),
}  # fmt: skip


@pytest.mark.parametrize(("changes", "key", "words"), MISTAKES.values(), ids=MISTAKES.keys())
def test_a_mistake_is_told_by_key_what_was_found_and_what_is_allowed(refusal, changes, key, words):
    message = refusal(changes)
    assert "\n" not in message
    assert message.startswith(f"{key}: ")
    for word in words:
        assert word in message


@pytest.mark.parametrize("mistake", MISTAKES)
def test_no_message_speaks_the_validation_librarys_language(refusal, mistake):
    message = refusal(MISTAKES[mistake][0])
    for word in ("pydantic", "validation error", "type=", "Input should", "Field required"):
        assert word not in message


@pytest.mark.parametrize("contents", [None, [], "text", 3], ids=str)
def test_a_file_that_holds_no_mapping_is_refused_with_an_example(tmp_path, contents):
    from borestudy.study import StudyError, study_from_mapping

    with pytest.raises(StudyError, match=r"^study: found .*; allowed is a mapping.*for example"):
        study_from_mapping(contents, tmp_path)
