"""The house is as DEVELOPERS.md draws it: who imports whom, read from the sources."""

import ast
import re
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

PROJECT = Path(__file__).parents[1]
SOURCES = PROJECT / "src"
PACKAGE = "borestudy"
LONGEST = 300


def name_of(path):
    steps = path.relative_to(SOURCES).with_suffix("").parts
    return ".".join(steps[:-1] if steps[-1] == "__init__" else steps)


MODULES = {name_of(path): path for path in sorted((SOURCES / PACKAGE).rglob("*.py"))}


@cache
def imported(name):
    """Every module that a module's source imports by name, of this package and of others."""
    path = MODULES[name]
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            above = name.split(".")
            above = above[: len(above) - node.level + (path.name == "__init__.py")]
            source = node.module or ""
            if node.level:
                source = ".".join([*above, *([source] if source else [])])
            inner = {f"{source}.{alias.name}" for alias in node.names} & set(MODULES)
            # a name that the package itself passes on, or a module of it
            found |= inner if len(inner) == len(node.names) else {*inner, source}
    return found - {name}


def room_of(name):
    """The room or the small module that a dotted name lies in."""
    steps = name.split(".")
    return steps[1] if len(steps) > 1 else PACKAGE


def used_rooms(room):
    """Rooms and small modules that a room's modules import."""
    return {
        room_of(other)
        for name in MODULES
        if room_of(name) == room
        for other in imported(name)
        if other.split(".")[0] == PACKAGE
    } - {room}


def developers():
    return (PROJECT / "DEVELOPERS.md").read_text(encoding="utf-8")


@cache
def drawn():
    """Rooms of the table in DEVELOPERS.md from top to bottom, each with what it imports."""
    rows = {}
    for line in developers().splitlines():
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        if len(cells) == 4 and re.fullmatch(r"`\w+`", cells[0]):
            rows[cells[0].strip("`")] = set(re.findall(r"`(\w+)`", cells[3]))
    return rows


@cache
def small():
    """Modules without a room, as DEVELOPERS.md lists them."""
    (words,) = re.findall(r"Small modules without a room.*?\n\n", developers(), re.DOTALL)
    return set(re.findall(r"`(\w+)`", words.split(":")[1]))


def test_every_room_and_small_module_is_drawn():
    rooms = {room_of(name) for name in MODULES}
    assert set(drawn()) | small() == rooms - {"__main__"}


@pytest.mark.parametrize("room", drawn())
def test_a_room_imports_what_its_row_says(room):
    assert used_rooms(room) - small() == drawn()[room]


@pytest.mark.parametrize("room", drawn())
def test_a_room_imports_only_rooms_below_it(room):
    order = list(drawn())
    assert drawn()[room] <= set(order[order.index(room) + 1 :])


def test_small_modules_import_only_each_other():
    for module in small():
        assert used_rooms(module) <= small(), module


def test_no_modules_import_one_another_in_a_circle():
    graph = {name: imported(name) & set(MODULES) for name in MODULES}
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as circle:
        pytest.fail(" -> ".join(circle.args[1]))


def test_only_mesh_imports_gmsh():
    users = {name for name in MODULES if any(m.split(".")[0] == "gmsh" for m in imported(name))}
    assert users
    assert {room_of(name) for name in users} == {"mesh"}


def test_closed_forms_import_air_alone_and_air_imports_nothing_of_ours():
    assert used_rooms("closed_form") == {"air"}
    assert used_rooms("air") == set()


def test_the_two_physics_do_not_know_each_other():
    assert "flow" not in used_rooms("acoustics")
    assert "acoustics" not in used_rooms("flow")


def test_only_the_front_door_stages_and_the_command_line_read_studies():
    readers = {room for room in {*drawn(), *small(), "__main__"} if "study" in used_rooms(room)}
    assert readers <= {"borestudy", "notebook", "questions", "stages", "command_line"}


def test_every_file_that_developers_md_names_is_there():
    named = re.findall(r"`([\w./-]+\.(?:py|smk|toml|lock))`", developers())
    places = (PROJECT, SOURCES / PACKAGE, PROJECT / "workflow")
    missing = [name for name in named if not any((place / name).exists() for place in places)]
    assert len(named) > 30
    assert missing == []


def test_no_file_is_longer_than_300_lines():
    lengths = {name: len(path.read_text(encoding="utf-8").splitlines())
               for name, path in MODULES.items()}  # fmt: skip
    assert {name: length for name, length in lengths.items() if length > LONGEST} == {}
