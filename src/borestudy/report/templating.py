"""Templates of the pages, which escape whatever they are given."""

from jinja2 import Environment, PackageLoader, StrictUndefined, Template
from markupsafe import Markup, escape

from borestudy.report.tables.layout import unbroken


def template(name: str) -> Template:
    """A template of the report; what it is not given is an error."""
    environment = Environment(
        loader=PackageLoader("borestudy.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters |= {"breakable": breakable, "unbroken": unbroken}
    return environment.get_template(name)


def breakable(cell: str) -> Markup:
    """A cell's text that breaks into lines where it may: never within a number and its unit."""
    return Markup(str(escape(unbroken(cell))).replace("_", "_<wbr>"))
