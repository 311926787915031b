"""Scripts of the page, each of which its policy knows by a hash: no other runs."""

import base64
import hashlib
from collections.abc import Iterable
from functools import cache
from importlib.resources import files


@cache
def own_script(name: str) -> str:
    """A script of `templates`, by the name of its file."""
    return files("borestudy.report").joinpath("templates", name).read_text("utf-8")


def hash_of(script: str) -> str:
    """A script as a Content Security Policy names it."""
    digest = hashlib.sha256(script.encode()).digest()
    return f"sha256-{base64.b64encode(digest).decode('ascii')}"


def policy_of(hashes: Iterable[str]) -> str:
    """The part of a Content Security Policy that lets scripts of these hashes run and no other."""
    return "script-src " + " ".join(f"'{one}'" for one in hashes)
