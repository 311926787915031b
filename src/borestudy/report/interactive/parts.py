"""What a page needs so that its charts and tables work: data, libraries, script and its rules.

The libraries stand in the page compressed, are made into scripts when the first chart or table
comes into view, and run because the page's Content Security Policy names their hashes: no other
script does, whatever a study's texts hold, and nothing is asked of a network.  Vega's expressions
are interpreted, since the policy forbids to make code of texts.
"""

import base64
import gzip
import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from typing import Any

from markupsafe import Markup

from borestudy.report.captions import has_text, text
from borestudy.report.interactive.looks import Look, looks
from borestudy.report.interactive.panels import Panel, StudyCharts
from borestudy.report.scripts import hash_of, own_script

#: What the libraries are, for their licences ask to be named.
NOTICE = (
    "Vega, Vega-Lite, Vega-Embed: Copyright (c) University of Washington Interactive Data Lab, "
    "BSD 3-Clause License. DataTables: Copyright (c) SpryMedia Ltd, MIT License. jQuery: "
    "Copyright (c) OpenJS Foundation and other contributors, MIT License."
)


@dataclass(frozen=True)
class Library:
    """A library in the page: its name there, and its script compressed, in letters."""

    name: str
    packed: str
    hash: str


@dataclass(frozen=True)
class Bore:
    """A check box of the row: a bore's number, its words, and how its lines look."""

    number: int
    label: str
    look: Look

    @property
    def dash(self) -> str:
        """The dash as SVG has it."""
        return " ".join(f"{length:g}" for length in self.look.dash)


@dataclass(frozen=True)
class Interactive:
    """The charts by their figures' names, what switches bores off, and what it all runs on.

    A chart without a caption has its figure's.
    """

    charts: Mapping[str, str] = field(default_factory=dict)
    captions: Mapping[str, str] = field(default_factory=dict)
    bores: Sequence[Bore] = ()
    libraries: Sequence[Library] = ()
    script: str = ""
    notice: str = NOTICE

    @property
    def hashes(self) -> list[str]:
        """What the page's policy knows these scripts by."""
        return [*(one.hash for one in self.libraries), hash_of(self.script)]


def interactive(charts: StudyCharts) -> Interactive:
    """What a page needs for the charts of a study.

    One bore alone is not switched off, so it has no check box.
    """
    several = charts.bores if len(charts.bores) > 1 else ()
    every = zip(several, looks(len(several)), strict=True)
    return Interactive(
        charts={name: in_page(panels) for name, panels in charts.panels.items()},
        captions={name: text(name, "chart") for name in charts.panels if has_text(name, "chart")},
        bores=[Bore(number, *pair) for number, pair in enumerate(every)],
        libraries=libraries(),
        script=Markup(own_script("interactive.js")),
    )


def in_page(panels: Sequence[Panel]) -> str:
    """Panels as JSON, compressed: a tenth of the characters, and none that a page could take for
    an element's end."""
    return _packed(json.dumps(panels, ensure_ascii=False, separators=(",", ":"), allow_nan=False))


def from_page(packed: str) -> list[Panel]:
    """The panels that `in_page` packed."""
    found: list[Panel] = json.loads(gzip.decompress(base64.b64decode(packed)))
    return found


@cache
def libraries() -> tuple[Library, ...]:
    """Vega with Vega-Lite and Vega-Embed, and DataTables, each as a script of its own."""
    # only a report asks for them: a second and more, and 3 MB
    import vl_convert

    bundle: Any = vl_convert.javascript_bundle  # its stub asks for a script to add
    tables = files("itables").joinpath("html/dt_bundle.js").read_text("utf-8")
    scripts = {
        "vega": _alone(bundle()),
        "tables": _alone(_with_global(tables)),
    }
    return tuple(
        Library(name, _packed(script), hash_of(script)) for name, script in scripts.items()
    )


def _with_global(module: str) -> str:
    """A module's script that leaves its table class with the window instead of exporting it."""
    exports = re.search(r"export\{([^{}]*)\};", module)
    name = exports and re.search(r"(\w+) as default\b", exports.group(1))
    if not exports or not name:
        raise ValueError("the library of tables has another form: it has no default export")
    given = f"window.DataTable={name.group(1)};"
    return module[: exports.start()] + given + module[exports.end() :]


def _alone(script: str) -> str:
    """A script whose names are its own."""
    return f"(function(){{'use strict';{script}\n}})();"


def _packed(script: str) -> str:
    return base64.b64encode(gzip.compress(script.encode(), 9, mtime=0)).decode("ascii")
