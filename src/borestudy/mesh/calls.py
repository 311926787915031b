"""Calls of gmsh's interface, written down as data for a process of their own to make."""

from typing import Any

#: Stands for a call's result, such as the tag of a point, in the arguments of later calls.
Tag = dict[str, int]


class Calls:
    """Looks like the module ``gmsh`` and keeps each call instead of making it.

    Attributes
    ----------
    made : list of dict
        Each call's ``name``, such as ``model.occ.addPoint``, with its ``arguments`` and
        ``options``, in order and ready for JSON.
    """

    def __init__(self, made: list[dict[str, Any]] | None = None, name: str = "") -> None:
        self.made = [] if made is None else made
        self._name = name

    def __getattr__(self, name: str) -> "Calls":
        return Calls(self.made, f"{self._name}.{name}".lstrip("."))

    def __call__(self, *arguments: Any, **options: Any) -> Tag:
        """Keep a call, and return what stands for its result."""
        call = {"name": self._name, "arguments": list(arguments), "options": options}
        self.made.append(call)
        return {"result of": len(self.made) - 1}
