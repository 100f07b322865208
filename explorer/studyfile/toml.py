"""From TOML text to plain tables: what is no TOML, and what no study can mean, is refused with its line or place."""

import datetime
import re
import tomllib
from collections.abc import Mapping
from typing import Any, Final

from explorer.studyfile.error import StudyError

_DEEPEST: Final = 20  #: tables and lists within one another; a study needs five
_LARGEST: Final = 10**60  #: as for numbers of quantities


def tables_of(text: str, name: str) -> dict[str, Any]:
    """Return the tables of a text; `name` says in a message where it stands."""
    try:
        found = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise StudyError(f"{name}: {_toml_words(str(error), text)}") from error
    except RecursionError:
        raise StudyError(f"{name}: {_TOO_DEEP}") from None
    except ValueError as error:  # an integer of thousands of digits, a date that no calendar has
        raise StudyError(f"{name}: not TOML: {str(error).partition(';')[0].lower()}") from error
    _check(found, name)
    return found


_TOO_DEEP: Final = (
    f"tables or lists stand more than {_DEEPEST} deep within one another, and a study needs five"
)


def _check(found: dict[str, Any], name: str) -> None:
    """Refuse what TOML can say and no study can mean; by a loop, for calls go no deeper than it might be nested."""
    waiting: list[tuple[str, object, int]] = [(key, item, 1) for key, item in found.items()]
    while waiting:
        where, item, depth = waiting.pop()
        if depth > _DEEPEST:
            raise StudyError(f"{name}: {where.partition('.')[0]}: {_TOO_DEEP}")
        if isinstance(item, Mapping):
            waiting += [(f"{where}.{key}", inner, depth + 1) for key, inner in item.items()]
        elif isinstance(item, list):
            waiting += [(where, inner, depth + 1) for inner in item]
        elif isinstance(item, int) and not -_LARGEST < item < _LARGEST:
            raise StudyError(f"{where}: an integer of more than 60 digits cannot be meant", where)
        elif isinstance(item, datetime.date | datetime.time):
            raise StudyError(f"{where}: expected a number, a text with a unit or a table, got {item}", where)
        elif isinstance(item, str) and "\0" in item:
            raise StudyError(f"{where}: a text holds the character NUL, which cannot be meant", where)


def _toml_words(message: str, text: str) -> str:
    """Return a TOML error with its line, and a hint where the line shows the usual slips."""
    match = re.search(r"line (\d+)", message)
    lines = text.splitlines()
    number = int(match[1]) if match else len(lines)
    line = lines[number - 1].strip() if 0 < number <= len(lines) else ""
    words = f"not TOML, line {number}: {message.partition(' (at')[0].lower()}"
    if re.search(r"=\s*[+-]?\d+,\d", line):
        spelling = re.sub(r"(\d),(\d)", r"\1.\2", line)
        return f"{words}; a decimal comma? write {spelling}"
    if re.search(r"=\s*[+-]?[\d.]+\s*[^\d\s,\]}#]", line):
        return f'{words}; a value with a unit stands in quotes, such as "12 bar"'
    return words
