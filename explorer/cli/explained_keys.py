"""What there is to say about tables and keys of a study, besides its inputs, and about how a value is written."""

import re
from typing import Final

from explorer.page.document import Paragraph, Section, Table
from explorer.registry import STUDY_KEYS, VALUE_FORMS, VALUE_KEYS, StudyKey

_WORD: Final = re.compile(r"[a-z]+")


def explanation(name: str) -> tuple[Section, ...]:
    """Return what there is to say about a table, a key by its address, or a bare key wherever one stands."""
    exact = STUDY_KEYS.get(name)
    found = (exact,) if exact else (key for key in STUDY_KEYS.values() if _bare(key.address) == name)
    return (*_of_value(name), *map(_of_key, found))


def everything() -> tuple[Section, ...]:
    """Return every table and key, and how values are written."""
    tables = tuple((key.shown, key.sentence) for key in STUDY_KEYS.values() if key.heading)
    keys = tuple((key.shown, key.sentence) for key in STUDY_KEYS.values() if not key.heading)
    return (
        Section("Other tables of a study", (Table(tables),)),
        Section("Their keys", (Table(keys),)),
        Section("How a value is written", (Table(VALUE_FORMS), Table(tuple(VALUE_KEYS.items())))),
    )


def names() -> tuple[str, ...]:
    """Return all that can be asked for here."""
    return (*STUDY_KEYS, *map(_bare, STUDY_KEYS), *_value_keys())


def _bare(address: str) -> str:
    return address.rpartition(".")[2]


def _of_value(name: str) -> tuple[Section, ...]:
    if name not in _value_keys():
        return ()
    sentence = (Paragraph(VALUE_KEYS[name]),) if name in VALUE_KEYS else ()
    forms = tuple(row for row in VALUE_FORMS if name in _keys_in(row[0]))
    parts = (*sentence, *((Table(forms),) if forms else ()))
    return (Section(f"{name} (in the table of a value)", parts, as_written=True),)


def _value_keys() -> tuple[str, ...]:
    return (*VALUE_KEYS, *(key for form, _ in VALUE_FORMS for key in _keys_in(form)))


def _keys_in(form: str) -> list[str]:
    return _WORD.findall(form) if form.startswith("{") else []


def _of_key(key: StudyKey) -> Section:
    if not key.heading:
        parts = (Paragraph(key.sentence), Table((("in a study", key.stated),)))
        return Section(key.address, parts, as_written=True)
    beginning = f"{key.address}."
    below = (item for item in STUDY_KEYS.values() if item.address.startswith(beginning))
    rows = tuple(
        (item.shown, item.sentence) for item in below if "." not in item.address.removeprefix(beginning)
    )
    return Section(key.heading, (Paragraph(key.sentence), *((Table(rows),) if rows else ())), as_written=True)
