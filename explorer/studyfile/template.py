"""The commented study that a new user fills in, and what of it is still the template's."""

import re
import tomllib
from importlib.resources import files
from typing import Any, Final

from explorer.studyfile.document import at

MARK: Final = "<- yours?"  #: in the comment behind each value that the user must replace or confirm

_TABLE: Final = re.compile(r"\s*\[([^\[\]]+)\]")
_KEY: Final = re.compile(r"\s*([A-Za-z0-9_]+)\s*=")


def template_text() -> str:
    """Return the commented template, a study that runs as it stands."""
    return (files("explorer.studyfile") / "template.toml").read_text(encoding="utf-8")


def template_values_left(text: str) -> tuple[str, ...]:
    """Return the addresses at which a study still has the template's value and its mark.

    A value that is right as it stands is confirmed by deleting the mark behind it.
    """
    template: dict[str, Any] = tomllib.loads(template_text())
    study: dict[str, Any] = tomllib.loads(text)
    return tuple(a for a in _marked(text) if at(study, a) == at(template, a) is not None)


def _marked(text: str) -> list[str]:
    """Return the addresses of the lines that carry the mark."""
    table, found = "", []
    for line in text.splitlines():
        heading, key = _TABLE.match(line), _KEY.match(line)
        if heading:
            table = heading[1].strip()
        elif key and MARK in line:
            found.append(f"{table}.{key[1]}" if table else key[1])
    return found
