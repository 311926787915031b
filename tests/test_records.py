"""Typed results as JSON and table columns."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field

import pytest

from borestudy.files import FileError, write_json
from borestudy.quantity import Quantity
from borestudy.records import (
    columns,
    from_plain,
    quantity,
    read_record,
    to_plain,
    write_record,
)


@dataclass(frozen=True, kw_only=True)
class Part:
    length: Quantity | None = quantity("mm")


@dataclass(frozen=True, kw_only=True)
class Whole:
    rate_L_per_s: float
    drop: Quantity | None = quantity("Pa")
    factor: Quantity | None = quantity()
    by_part: Mapping[str, Quantity] | None = quantity("Pa")
    parts: tuple[Part, ...] = ()
    named: Mapping[str, Part] = field(default_factory=dict)
    first: Part | None = None
    note: str | None = None


WHOLE = Whole(
    rate_L_per_s=0.3,
    drop=Quantity(12.5, 0.25, "Pa", (12.0, 12.5)),
    by_part={"cup": Quantity(2.0, 0.5, "Pa")},
    parts=(Part(length=Quantity(3.0, None, "mm")), Part()),
    named={"throat": Part(length=Quantity(4.0, 0.1, "mm"))},
    first=Part(),
)


def test_keys_end_in_the_unit_and_uncertainties_stand_beside():
    assert to_plain(WHOLE) == {
        "rate_L_per_s": 0.3,
        "drop_Pa": 12.5,
        "drop_Pa_uncertainty": 0.25,
        "factor": None,
        "factor_uncertainty": None,
        "by_part_Pa": {"cup": 2.0},
        "by_part_Pa_uncertainty": {"cup": 0.5},
        "parts": [
            {"length_mm": 3.0, "length_mm_uncertainty": None},
            {"length_mm": None, "length_mm_uncertainty": None},
        ],
        "named": {"throat": {"length_mm": 4.0, "length_mm_uncertainty": 0.1}},
        "first": {"length_mm": None, "length_mm_uncertainty": None},
        "note": None,
        "levels": {"drop_Pa": [12.0, 12.5]},
    }


def test_a_record_written_as_json_is_read_back_the_same():
    assert from_plain(Whole, json.loads(json.dumps(to_plain(WHOLE)))) == WHOLE


def test_a_record_in_a_file_is_read_back_the_same(tmp_path):
    write_record(tmp_path / "whole.json", WHOLE)
    assert read_record(tmp_path / "whole.json", Whole) == WHOLE
    assert json.loads((tmp_path / "whole.json").read_text())["schema_version"] == 2


@pytest.mark.parametrize(
    ("contents", "found"),
    [
        ({"schema_version": 1, "rate_L_per_s": 0.3}, "found schema_version 1, allowed is 2"),
        ({"schema_version": 3, "rate_L_per_s": 0.3}, "found schema_version 3, allowed is 2"),
        ({"rate_L_per_s": 0.3}, "found no schema_version, allowed is 2"),
        ([1, 2], "found no schema_version, allowed is 2"),
        ({"schema_version": 2}, "Whole: found no key 'rate_L_per_s', which it must have"),
    ],
)
def test_a_file_of_another_version_is_refused_by_its_name(contents, found, tmp_path):
    path = tmp_path / "whole.json"
    write_json(path, contents)
    with pytest.raises(FileError) as caught:
        read_record(path, Whole)
    assert str(caught.value) == f"{path}: {found}; delete it and run again"


def test_cells_of_a_table_are_the_keys_without_parts():
    assert list(columns(WHOLE)) == [
        *("rate_L_per_s", "drop_Pa", "drop_Pa_uncertainty"),
        *("factor", "factor_uncertainty", "note"),
    ]


def test_a_key_that_must_be_there_is_named():
    with pytest.raises(ValueError, match="Whole: found no key 'rate_L_per_s'"):
        from_plain(Whole, {"drop_Pa": 1.0})


@pytest.mark.parametrize(
    ("found", "text"),
    [
        (Quantity(842.123, 0.31, "Hz"), "842.1 ± 0.3 Hz"),
        (Quantity(0.5032, 0.00059, "kPa_s_per_L"), "0.5032 ± 0.0006 kPa·s/L"),
        (Quantity(2e7, 3e4, "Pa_s_per_m3"), "(2.000 ± 0.003) × 10⁷ Pa·s/m³"),
        (Quantity(1.9, None), "1.9 (uncertainty unknown)"),
        (Quantity(1.9, None, "Hz"), "1.9 Hz (uncertainty unknown)"),
    ],
)
def test_the_text_has_the_digits_that_the_uncertainty_leaves(found, text):
    assert str(found) == text


def test_a_record_cannot_have_the_key_of_the_meshes_values_as_a_field() -> None:
    @dataclass(frozen=True, kw_only=True)
    class Clash:
        levels: tuple[float, ...] = ()
        height: Quantity | None = quantity("mm")

    with pytest.raises(TypeError, match="Clash: found a field 'levels'"):
        to_plain(Clash())
