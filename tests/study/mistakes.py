"""What is wrong with a study, for tests of what is said of it."""

#: Changes to the example; the key that must be named; what must be said of it.
MISTAKES = {
    "length without a unit": (
        {"bore/length": 88}, "bore.length", ["found 88", "mm, cm", "for example 88 mm"]),
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
    "a drill between two": (
        {"bore/throat/diameter": "drill 27.5"}, "bore.throat.diameter",
        ["found 'drill 27.5'; allowed is a drill number 1 to 80", "for example drill 27"]),
    "bore that is a word": ({"bore": "narrow", "vary": {}}, "bore", ["'narrow'", "stations"]),
    "bore that is a list": ({"bore": ["88 mm"], "vary": {}}, "bore", ["['88 mm']", "stations"]),
    "tolerance of a metre": (
        {"tolerance": "1 m"}, "tolerance", ["'1 m'", "0.001 mm to 1 mm", "for example 0.001 in"]),
    "tolerance of an unknown dimension": (
        {"tolerances": {"throat.diametre": "0.0005 in"}, "vary": {}}, "tolerances.throat.diametre",
        ["not a dimension of the first case", "did you mean throat.diameter?",
         "for example throat.diameter: 0.0005 in"]),
    "tolerance below zero": (
        {"tolerances": {"cup.depth": "-0.001 in"}, "vary": {}}, "tolerances.cup.depth",
        ["'-0.001 in'", "up to 1 mm either way, 0 where it is exact", "for example 0.0005 in"]),
    "tolerance in another unit": (
        {"tolerances": {"cup.depth": "20 Pa"}, "vary": {}}, "tolerances.cup.depth",
        ["'20 Pa'", "'Pa' is not known", "for example 0.0005 in"]),
    "tolerance without a unit": (
        {"tolerances": {"cup.depth": 0.001}, "vary": {}}, "tolerances.cup.depth",
        ["found 0.001, a number without a unit", "for example 0.0005 in"]),
    "tolerance of a shape in millimetres": (
        {"tolerances": {"cup.shape": "0.02 mm"}, "vary": {}}, "tolerances.cup.shape",
        ["'0.02 mm'", "a number up to 0.5 either way", "for example 0.02"]),
    "tolerance as large as the dimension": (
        {"tolerances": {"throat.entry.radius": "0.5 mm"}, "bore/throat/entry": "rounded 0.5 mm",
         "vary": {}}, "tolerances.throat.entry.radius",
        ["'0.5 mm'", "less than the dimension itself, 0.5 mm", "for example 0.005 mm"]),
    "tolerance of the entry of another case": (
        {"tolerances": {"throat.entry.radius": "0.01 mm"}, "bore/throat/entry": "square",
         "vary": {}}, "tolerances.throat.entry.radius", ["not a dimension of the first case"]),
    "tolerance stated twice": (
        {"tolerances": {"cup.depth": "0.01 mm", "bore.cup.depth": "0.02 mm"}, "vary": {}},
        "tolerances.bore.cup.depth", ["twice", "for example cup.depth: 0.0005 in"]),
    "tolerances that are no mapping": (
        {"tolerances": "0.001 in"}, "tolerances",
        ["'0.001 in'", "a mapping", "for example {throat.diameter: 0.0005 in}"]),
    "folder that is a number": ({"folder": 3}, "folder", ["found 3", "relative to the study"]),
    "two files of one name": (
        {"bore": {"join": "smooth"}, "vary": {"stations": ["other.csv", "./other.csv"]}},
        "vary", ["2 cases that would all be named stations-other", "for example"]),
    "more cases than can be planned": (
        {"vary": {"cup.shape": [i / 1000 for i in range(200)],
                  "length": [f"{80 + i / 10} mm" for i in range(60)]}},
        "vary", ["12,000 cases (200 of cup.shape x 60 of length)", "10,000", "for example"]),
    "lips as heavy as lead": (
        {"lips": {"mass_per_area": "1000 kg/m²"}}, "lips.mass_per_area",
        ["'1000 kg/m²'", "from 0.1 to 100 kg/m²", "for example 2 kg/m²"]),
    "lips' mass without an area": (
        {"lips": {"mass_per_area": "2 kg"}}, "lips.mass_per_area",
        ["'kg' is not known", "kg/m², g/cm²", "for example 2 kg/m²"]),
    "lips' Q of zero": (
        {"lips": {"quality_factor": 0}}, "lips.quality_factor",
        ["found 0", "a number from 0.5 to 50", "for example 7"]),
    "lips a metre wide": (
        {"lips": {"width": "1 m"}}, "lips.width",
        ["'1 m'", "a length from 1 mm to 40 mm", "for example 8 mm"]),
    "lips that are closed at rest": (
        {"lips": {"opening": "0 mm"}}, "lips.opening",
        ["'0 mm'", "a length from 0.01 mm to 5 mm", "for example 0.5 mm"]),
    "too few lips in the set": (
        {"lips": {"set": 3}}, "lips.set", ["found 3", "from 10 to 200", "for example 50"]),
    "lips' Q that is yes": (
        {"lips": {"quality_factor": True}}, "lips.quality_factor",
        ["found 'True'", "a number from 0.5 to 50", "for example 7"]),
    "a register that is yes": (
        {"lips": {"register": True}}, "lips.register", ["found 'True'", "from 1 to 12"]),
    "lips' Q that is no number": (
        {"lips": {"quality_factor": float("nan")}}, "lips.quality_factor",
        ["found nan", "a number from 0.5 to 50"]),
    "a register above the twelfth": (
        {"lips": {"register": 13}}, "lips.register",
        ["found 13", "a whole number from 1 to 12", "for example 4"]),
    "half a register": (
        {"lips": {"register": 2.5}}, "lips.register", ["found 2.5", "a whole number"]),
    "a soft tone below the threshold": (
        {"lips": {"soft": 0.9}}, "lips.soft", ["found 0.9", "from 1.01 to 5", "for example 1.2"]),
    "a loud tone softer than the soft one": (
        {"lips": {"soft": 3}}, "lips.loud",
        ["found 2.5", "above lips.soft (3)", "for example 6"]),
    "a misspelt property of the lips": (
        {"lips": {"qualityfactor": 7}}, "lips.qualityfactor",
        ["unknown key; did you mean quality_factor?", "for example quality_factor: 7"]),
    "a source that is a formula": (
        {"lips": {"sources": {"width": "=1+1"}}}, "lips.sources.width",
        ["'=1+1'", "like a formula", "for example measured by ourselves"]),
    "a source that is no text": (
        {"lips": {"sources": {"width": 2017}}}, "lips.sources.width",
        ["found 2017", "up to 300 characters"]),
    "lips that are a word": (
        {"lips": "soft"}, "lips", ["'soft'", "a mapping", "mass_per_area, quality_factor"]),
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
        ["'95 deg'", "between 0 and 90 deg", "for example chamfered 0.5 mm at 45 deg"]),
    "half an ellipse": (
        {"bore/throat/entry": "elliptical 2 mm"}, "bore.throat.entry",
        ["two lengths", "for example elliptical 2 mm x 1 mm"]),
    "unknown taper": (
        {"bore/backbore/taper": "steep"}, "bore.backbore.taper",
        ["'steep'", "opening early", "for example straight"]),
    "taper beyond a quarter of an ellipse": (
        {"bore/backbore/taper": 1.2}, "bore.backbore.taper",
        ["found 1.2", "-1 (opening late) to 1 (opening early)", "for example straight"]),
    "taper that is neither": (
        {"bore/backbore/taper": True}, "bore.backbore.taper", ["found True", "from -1"]),
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
        ["'0 Hz'", "from 1 Hz to 100 kHz", "for example 50 Hz"]),
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
        {"resonance/fundamental": "0 Hz"}, "resonance.fundamental", ["'0 Hz'", "from 1 Hz"]),
    "unknown termination": (
        {"resonance/behind": "my horn"}, "resonance.behind",
        ["'my horn'", "closed, open, open flanged, anechoic pipe", "air column from a CSV file",
         "(air column)", "for example"]),
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
    "playing rate that is not computed": (
        {"flow/playing_rate": "0.15 L/s"}, "flow.playing_rate",
        ["'0.15 L/s'", "one of flow.rates (0.05 L/s", "for example 0.05 L/s"]),
    "unknown inlet": (
        {"flow/inlet": "turbulent"}, "flow.inlet", ["'turbulent'", "developed", "uniform"]),
    "unknown resolution": (
        {"mesh": {"resolution": "finest"}}, "mesh.resolution",
        ["'finest'", "coarse, medium or fine", "for example medium"]),
    "question of nothing but spaces": (
        {"question": "  "}, "question", ["found '  '", "as a sentence", "for example Does"]),
    "question as long as a book": (
        {"question": "why " * 500}, "question", ["up to 1000 characters", "for example Does"]),
    "name too long for a folder": (
        {"name": "n" * 101}, "name", ["up to 100 letters", "for example entry-rounding"]),
    "number of five thousand digits": (
        {"bore/length": "9" * 5000 + " mm"}, "bore.length", ["too long", "for example 88 mm"]),
    "number beyond all floats": (
        {"bore/length": "9" * 400 + " mm"}, "bore.length", ["too long", "for example 88 mm"]),
    "drill of five thousand digits": (
        {"bore/length": "drill 1/" + "9" * 5000}, "bore.length", ["drill", "for example 88 mm"]),
    "cup shape beyond all floats": (
        {"bore/cup/shape": 10**400}, "bore.cup.shape", ["found 1000", "for example 0.6"]),
    "taper of no station": (
        {"bore/backbore/taper": []}, "bore.backbore.taper", ["found []", "for example straight"]),
    "pipe of a thousand kilometres": (
        {"flow/pipe_behind": "1e6 m"}, "flow.pipe_behind", ["1 mm to 2 m", "for example 90 mm"]),
    "pipe shorter than any triangle": (
        {"flow/pipe_behind": "1e-9 mm"}, "flow.pipe_behind", ["1 mm to 2 m", "for example"]),
    "list written in a section without quotes": (
        {"flow": {"rates": "0.1 L/s", "200 mL/s": None}}, "flow.200 mL/s",
        ["unknown key", 'for example rates: "0.05, 0.1, 0.2, 0.3 L/s"']),
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
    "a taper's word and its number": (
        {"vary": {"backbore.taper": [0.5, "straight", 0]}}, "vary.backbore.taper",
        ["'straight' and '0.0'", "the same", "for example"]),
    "pairs that do not match": (
        {"vary": {"cup.depth": ["9 mm", "10 mm"], "cup.shape": [0, 0.5, 1]}, "combine": "paired"},
        "vary", ["cup.depth has 2, cup.shape has 3", "one length", "combine: grid"]),
    "stations that are missing": (
        {"bore": {"stations": "none.csv"}, "vary": {}}, "bore.stations",
        ["'none.csv'", "no such file", "for example"]),
    "varied stations that are missing": (
        {"bore": {"join": "smooth"}, "vary": {"stations": ["other.csv", "none.csv"]}},
        "vary.stations[1]", ["'none.csv'", "no such file", "for example"]),
    "unknown join": (
        {"bore": {"stations": "stations.csv", "join": "spline"}, "vary": {}}, "bore.join",
        ["'spline'", "straight or smooth", "for example smooth"]),
}  # fmt: skip

#: Bores that no metal can have, and the key that must be named.
IMPOSSIBLE = {
    "bore in inches": ({"bore/length": "88 in"}, "bore.length"),
    "cup in inches": ({"bore/cup/diameter": "16.2 in"}, "bore.cup.diameter"),
    "throat in inches": ({"bore/throat/diameter": "3.66 m"}, "bore.throat.diameter"),
    "shank in inches": ({"bore/backbore/end_diameter": "9 in"}, "bore.backbore.end_diameter"),
    "cup too deep": ({"bore/cup/depth": "90 mm"}, "bore.cup.depth"),
    "throat too long": ({"bore/throat/length": "80 mm"}, "bore.throat.length"),
    "no room for the throat": (
        {"bore/cup/depth": "86.8 mm", "bore/throat/length": "5 mm"}, "bore.throat.length"),
    "throat too wide": ({"bore/throat/diameter": "17 mm"}, "bore.throat.diameter"),
    "throat too wide for a small cup": (
        {"bore/cup/diameter": "3 mm", "bore/backbore/end_diameter": "4 mm"},
        "bore.throat.diameter"),
    "backbore too narrow": ({"bore/backbore/end_diameter": "2 mm"}, "bore.backbore.end_diameter"),
    "backbore narrower than a wide throat": (
        {"bore/throat/diameter": "12 mm"}, "bore.backbore.end_diameter"),
    "rounding too large": ({"bore/throat/entry": "rounded 25 mm"}, "bore.throat.entry"),
    "rounding longer than the throat": (
        {"bore/throat/length": "0.1 mm", "bore/throat/entry": "rounded 0.5 mm"},
        "bore.throat.entry"),
    "ellipse too large": ({"bore/throat/entry": "elliptical 40 mm x 20 mm"}, "bore.throat.entry"),
    "ellipse longer than the throat": (
        {"bore/throat/length": "1 mm", "bore/throat/entry": "elliptical 12 mm x 1 mm"},
        "bore.throat.entry"),
    "chamfer too large": ({"bore/throat/entry": "chamfered 30 mm"}, "bore.throat.entry"),
    "chamfer that cuts nothing": (
        {"bore/throat/entry": "chamfered 0.5 mm at 85 deg"}, "bore.throat.entry"),
    "chamfer that cuts nothing of a cone": (
        {"bore/cup/shape": 0, "bore/throat/entry": "chamfered 4 mm at 40 deg"},
        "bore.throat.entry"),
    "taper beyond the shank": (
        {"bore/backbore/taper": [{"position": "90 mm", "diameter": "5 mm"}]},
        "bore.backbore.taper[0].position"),
    "taper that goes back": (
        {"bore/backbore/taper": [{"position": "30 mm", "diameter": "5 mm"},
                                 {"position": "20 mm", "diameter": "5 mm"}]},
        "bore.backbore.taper[1].position"),
    "taper narrower than the throat": (
        {"bore/backbore/taper": [{"position": "30 mm", "diameter": "3 mm"}]},
        "bore.backbore.taper[0].diameter"),
    "taper that misses the throat": (
        {"bore/backbore/taper": [{"position": "0 mm", "diameter": "4 mm"}]},
        "bore.backbore.taper[0].diameter"),
    "rates beyond Mach 0.3": ({"flow/rates": "0.1, 5 L/s"}, "flow.rates"),
    "rates of a wide throat in a narrow one": (
        {"bore/throat/diameter": "0.6 mm"}, "flow.rates"),
    "rates below any handbook": ({"flow/rates": "1e-12 L/s"}, "flow.rates"),
}  # fmt: skip
