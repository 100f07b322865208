"""The commented study that a new user fills in, and what of it is still the template's."""

import re
import tomllib
from collections.abc import Collection, Iterator
from importlib.resources import files
from typing import Any, Final

MARK: Final = "<- yours?"  #: in the comment behind each value that the user must replace or confirm

#: What a new study has if it is asked for: files of this folder, `with_…`, in the order in which they are written.
SECTIONS: Final = ("instruments", "measurements", "vary", "flight")

_TABLE: Final = re.compile(r"\s*\[([^\[\]]+)\]")
_TABLE_OF_LIST: Final = re.compile(r"\s*\[\[([^\[\]]+)\]\]")
_KEY: Final = re.compile(r'\s*"?([A-Za-z0-9_.]+)"?\s*=')
_NAMED: Final = re.compile(
    r'\s*(?:name|quantity)\s*=\s*"([^"]*)"'
)  # by which a table of a list is found again

Path = tuple[str, ...]  #: keys from the top of a document down; of a list, a table's name or quantity


def template_text(sections: Collection[str] = ()) -> str:
    """Return the commented template, a study that runs as it stands, with some of `SECTIONS`."""
    names = ("template", *(f"with_{name}" for name in SECTIONS if name in sections))
    folder = files("explorer.studyfile")
    return "".join((folder / f"{name}.toml").read_text(encoding="utf-8") for name in names)


def template_values_left(text: str) -> tuple[str, ...]:
    """Return where a study still has the template's values and their marks: addresses, and names of listed tables.

    A value that is right as it stands is confirmed by deleting the mark behind it.
    """
    template: dict[str, Any] = tomllib.loads(template_text(SECTIONS))
    study: dict[str, Any] = tomllib.loads(text)
    left = [name for name, path in _marked(text) if _at(study, path) == _at(template, path) is not None]
    return tuple(dict.fromkeys(left))


def _marked(text: str) -> Iterator[tuple[str, Path]]:
    """Yield what stands on the lines that carry the mark: how it is called, and its path."""
    table: Path = ()
    called = ""
    for line in text.splitlines():
        heading, listed, key = _TABLE.match(line), _TABLE_OF_LIST.match(line), _KEY.match(line)
        if found := listed or heading:
            table, called = tuple(found[1].strip().split(".")), ""
            in_list = listed is not None
        elif key:
            if table and in_list and not called and (own := _NAMED.match(line)):
                called = f"{'.'.join(table)} {own[1]}"
                table = (*table, own[1])
            if MARK in line:
                path = (*table, key[1])
                yield called or ".".join(path), path


def _at(document: Any, path: Path) -> Any:
    for key in path:
        if isinstance(document, list):
            document = next(
                (item for item in document if key in (item.get("name"), item.get("quantity"))), {}
            )
        else:
            document = document.get(key, {})
    return document if document != {} else None
