"""A study as TOML text, in the order of its document: what it is like filled in, what was replaced put in."""

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from explorer.studyfile.document import Document, Keys, flattened, is_input
from explorer.studyfile.study import Study

_BARE_KEY: Final = re.compile(r"[A-Za-z0-9_-]+")


def study_text(study: Study, *, head: Sequence[str] = ()) -> str:
    """Return the text of a study file that is read to the same study.

    Comments of the file that it came from are not in it. What a replacement left without object (a correlation,
    a measurement, an input no longer varied) is left out.
    """
    comment = [f"# {line}".rstrip() for text in head for line in text.splitlines() or [""]]
    blocks = ["\n".join(comment)] if comment else []
    blocks += ["\n".join(lines) for lines in _blocks(_document(study), ())]
    return "\n\n".join(blocks) + "\n"


def _document(study: Study) -> Document:
    """Return the study's document without what is not in the study."""
    document = dict(study.document)
    kept: dict[str, Any] = {
        "correlation": _of_space(document.get("correlation", []), study),
        "measurement": _named(document.get("measurement", []), [item.name for item in study.measurements]),
        "firing": _named(document.get("firing", []), [item.name for item in study.firings]),
        "vary": _flat_of(document.get("vary", {}), [item.address for item in study.vary]),
        "model_error": flattened(document.get("model_error", {})),
    }
    for key, item in kept.items():
        if item:
            document[key] = item
        else:
            document.pop(key, None)
    return document


def _of_space(tables: list[Document], study: Study) -> list[Document]:
    held = [(list(item.between), item.part) for item in study.space.correlations]
    return [table for table in tables if (table["between"], table.get("part", "unknown")) in held]


def _named(tables: list[Document], names: list[str]) -> list[Document]:
    return [table for table in tables if table["name"] in names]


def _flat_of(table: Document, addresses: list[str]) -> Document:
    return {address: item for address, item in flattened(table).items() if address in addresses}


def _blocks(table: Document, path: Keys) -> Iterator[list[str]]:
    """Yield the lines of a table and of those below it, its own values first."""
    below = {key: item for key, item in table.items() if _is_section(item, (*path, key))}
    own = [f"{_key(key)} = {_value(item)}" for key, item in table.items() if key not in below]
    if not path:
        if own:
            yield own
    elif own or not below:
        yield [f"[{'.'.join(map(_key, path))}]", *own]
    for key, item in below.items():
        if isinstance(item, Mapping):
            yield from _blocks(dict(item), (*path, key))
        else:
            heading = f"[[{'.'.join(map(_key, (*path, key)))}]]"
            for entry in item:
                yield [heading, *(f"{_key(k)} = {_value(v)}" for k, v in entry.items())]


def _is_section(item: object, path: Keys) -> bool:
    """Return whether an item has a heading of its own; the table of a value stands on its line."""
    if isinstance(item, list):
        return len(path) == 1 and bool(item) and all(isinstance(entry, Mapping) for entry in item)
    return isinstance(item, Mapping) and not is_input(path)


def _key(key: str) -> str:
    return key if _BARE_KEY.fullmatch(key) else _quoted(key)


def _value(item: object) -> str:
    if isinstance(item, Mapping):
        return "{ " + ", ".join(f"{_key(key)} = {_value(inner)}" for key, inner in item.items()) + " }"
    if isinstance(item, list | tuple):
        return "[" + ", ".join(map(_value, item)) + "]"
    if isinstance(item, bool):
        return "true" if item else "false"
    if isinstance(item, float):
        return repr(float(item))  # which the same number comes from again
    return _quoted(item) if isinstance(item, str) else str(item)


def _quoted(text: str) -> str:
    """Return a basic string of TOML, which is one of JSON but for the delete character."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
