"""What a study keeps of each case: fields and meshes take most of the room."""

from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator

from borestudy.units import split_list

Kind = Literal["tables", "fields", "meshes", "sounds"]
#: All that may be kept.
KINDS: tuple[Kind, ...] = ("tables", "fields", "meshes", "sounds")


def _as_list(value: Any) -> Any:
    return split_list(value) if isinstance(value, str) else value


def _in_order(kinds: tuple[Kind, ...]) -> tuple[Kind, ...]:
    """Each kind once, in one order; a study without tables would be nothing."""
    if "tables" not in kinds:
        raise ValueError(
            f"found {', '.join(kinds) or 'nothing'}; allowed is a list with tables in it, for "
            "example [tables, fields]"
        )
    return tuple(kind for kind in KINDS if kind in kinds)


Kept = Annotated[tuple[Kind, ...], BeforeValidator(_as_list), AfterValidator(_in_order)]
