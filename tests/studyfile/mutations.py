"""Studies as an enemy or a slip of the keyboard would leave them: a document or its text, changed at random."""

import copy
import math
import random
import re
from collections.abc import Callable
from typing import Any

Document = dict[str, Any]
Place = tuple[Any, Any]  #: a table or list, and the key or index of an item in it


class _Written(str):
    """A piece of TOML, not a text of the study."""


NUMBERS = (
    *(
        _Written("9" * 5000),
        _Written("0x" + "f" * 5000),
        _Written("1979-05-27T07:32:00Z"),
        _Written("07:32:00"),
    ),
    *(0, -1, 1, 10**30, -(10**400), 10**400, 2**63, 1e308, -1e308, 5e-324, 1e-300, 0.1 + 0.2, -0.0),
    *(math.inf, -math.inf, math.nan, 12.5, 0.5, 99999999),
)
TEXTS = (
    *(
        "",
        " ",
        "\0",
        "a\0b.toml",
        "x" * 5000,
        "é",
        "\u202e12 bar",
        "１２ bar",
        "١٢ bar",
        "12 bar\n",
        "𝟙𝟚 bar",
    ),
    *(
        "12 mm",
        "12 bar",
        "1 T",
        "-5 V",
        "0 V",
        "200 %",
        "5 kg m^2/s^3",
        "3 furlong",
        "1e999 V",
        "1e-999 V",
        "9" * 500,
    ),
    *("0.5 ± 0.1", "5 ± 5 V", "12 bar ± 2 %", "12 ± 1 bar (k=2)", "12 ± 1 bar (k=0)", "12 ± 1 bar (k=1e400)"),
    *(
        "1 .. 2 V",
        "2 .. 1 V",
        "1 .. 1e400 V",
        "1 V .. 2 mm",
        "1 .. 2 .. 3",
        "± V",
        "..",
        "limits",
        "5 V limits 1 V",
    ),
    *(
        "1,5 V",
        "nan V",
        "inf V",
        "(k=2)",
        "1 ** 9999999 V",
        "1 V**1e9",
        "1 °C ± 5 %",
        "20 °C",
        "1 °F",
        "m",
        "%",
        "[]",
    ),
    *(
        "thrust_gain",
        "current",
        "chance.constricted",
        "chance.",
        "electrodes.main.current",
        "electrodes..",
        "gas",
        ".",
    ),
    *(
        "gas.fuel",
        "magnet.field",
        "flight.vehicle_mass",
        "electrodes.*.start",
        "electrodes.nobody.start",
        "custom",
    ),
    *(
        "hydrogen peroxide",
        "none",
        "supply",
        "load",
        "acceleration",
        "extraction",
        "bench.toml",
        "/",
        "..",
        "/dev/null",
    ),
    *(
        "smallest",
        "largest",
        "load_cell",
        "N42",
        "gas.",
        "electrodes",
        "magnet.profile.file",
        "C2H6O",
        "C999999999H",
        "yes",
    ),
)
KEYS = (
    *(
        "",
        " ",
        "\0",
        ".",
        "a.b",
        "é",
        "value",
        "values",
        "unknown",
        "scatter",
        "low",
        "high",
        "mean",
        "sd",
        "peak",
    ),
    *(
        "median",
        "factor",
        "shared",
        "part",
        "like",
        "vary",
        "flight",
        "limit",
        "electrodes",
        "main",
        "rear",
        "source",
    ),
    *(
        "file",
        "blocks",
        "profile",
        "grade",
        "field",
        "altitude",
        "name",
        "quantity",
        "random",
        "common",
        "__class__",
    ),
)


def deep(rng: random.Random) -> _Written:
    """Tables or lists within one another, more than any reader of them goes down."""
    opened = [
        rng.choice(("[", "{value = ", "{unknown = ", "{a = ")) for _ in range(rng.choice((3, 40, 300, 2000)))
    ]
    closed = ["]" if one == "[" else "}" for one in reversed(opened)]
    return _Written("".join((*opened, rng.choice(("1", '"1 V"', "[]")), *closed)))


def value(rng: random.Random) -> Any:
    """Anything that TOML can say."""
    kind = rng.randrange(9)
    if kind < 2:
        return rng.choice(NUMBERS)
    if kind < 5:
        return rng.choice(TEXTS)
    if kind == 5:
        return rng.choice((True, False))
    if kind == 6:
        return [value(rng) for _ in range(rng.randrange(6))]
    if kind == 7:
        return {rng.choice(KEYS): value(rng) for _ in range(rng.randrange(5))}
    return deep(rng) if rng.random() < 0.2 else rng.choice(TEXTS)


def places(item: Any) -> list[Place]:
    """Every place in a document at which something stands."""
    found: list[Place] = []
    inner = item.items() if isinstance(item, dict) else enumerate(item) if isinstance(item, list) else ()
    for key, child in inner:
        found += [(item, key), *places(child)]
    return found


def _replace(rng: random.Random, document: Document) -> None:
    table, key = rng.choice(places(document))
    table[key] = value(rng)


def _drop(rng: random.Random, document: Document) -> None:
    table, key = rng.choice(places(document))
    del table[key]


def _add(rng: random.Random, document: Document) -> None:
    tables = [
        document,
        *(table[key] for table, key in places(document) if isinstance(table[key], dict | list)),
    ]
    table = rng.choice(tables)
    if isinstance(table, dict):
        table[rng.choice(KEYS)] = value(rng)
    else:
        table.insert(rng.randrange(len(table) + 1), value(rng))


def _copied(rng: random.Random, document: Document) -> None:
    """What stands at one place stands at another as well."""
    (there, one), (table, key) = rng.choice(places(document)), rng.choice(places(document))
    table[key] = copy.deepcopy(there[one])


def _twice(rng: random.Random, document: Document) -> None:
    lists = [table[key] for table, key in places(document) if isinstance(table[key], list) and table[key]]
    if lists:
        chosen = rng.choice(lists)
        chosen.append(copy.deepcopy(rng.choice(chosen)))


def _reordered(rng: random.Random, document: Document) -> None:
    table, key = rng.choice(places(document))
    inner = table[key]
    if isinstance(inner, dict):
        items = list(inner.items())
        rng.shuffle(items)
        table[key] = dict(items)
    elif isinstance(inner, list):
        rng.shuffle(inner)


def _renamed(rng: random.Random, document: Document) -> None:
    table, key = rng.choice(places(document))
    if isinstance(table, dict):
        table[rng.choice(KEYS)] = table.pop(key)


def _spoilt(rng: random.Random, document: Document) -> None:
    """A letter of a text is another, or gone."""
    texts = [(table, key) for table, key in places(document) if isinstance(table[key], str) and table[key]]
    if texts:
        table, key = rng.choice(texts)
        text, at = table[key], rng.randrange(len(table[key]))
        table[key] = (
            text[:at] + rng.choice(("", "\0", "9", "-", "±", ".", " ", "é", "(", "%", "e")) + text[at + 1 :]
        )


def _scaled(rng: random.Random, document: Document) -> None:
    """A number of a text is a thousand times as large, a tenth, its negative, zero."""
    texts = [(table, key) for table, key in places(document) if isinstance(table[key], str | float)]
    numbers = [(table, key) for table, key in texts if re.search(r"\d", str(table[key]))]
    if numbers:
        table, key = rng.choice(numbers)
        factor = rng.choice((-1.0, 0.0, 0.5, 0.9, 1.1, 2.0, 10.0, 0.1, 1e3, 1e-3, 1e6, 1e-6, 1e30, 1e-30))
        spelling = re.sub(r"\d+\.?\d*", lambda one: f"{float(one[0]) * factor:g}", str(table[key]), count=1)
        table[key] = spelling if isinstance(table[key], str) else factor * table[key]


def _other_form(rng: random.Random, document: Document) -> None:
    """A value is written in another form, perhaps with a piece of it missing."""
    table, key = rng.choice(places(document))
    written = table[key]
    form = {
        **rng.choice(
            (
                {"value": written, "unknown": {"values": [1.0, 1.1, 0.9, 1.0]}, "scatter": "1 %"},
                {"value": written, "unknown": {}, "scatter": {}},
                {"value": written, "scatter": {"value": written}},
                {"values": [written, written, written, written]},
                {"low": written, "peak": written, "high": written},
                {"mean": written, "sd": "10 %", "low": written},
                {"median": written, "factor": rng.choice((1, 1.5, 1e5, 1e300))},
            )
        ),
        **rng.choice(({}, {}, {"shared": "x"}, {"part": "scatter"}, {"part": "unknown", "shared": ""})),
    }
    if rng.random() < 0.3:
        del form[rng.choice(list(form))]
    table[key] = form


_CHANGES: tuple[Callable[[random.Random, Document], None], ...] = (
    *(
        _replace,
        _replace,
        _scaled,
        _scaled,
        _scaled,
        _other_form,
        _drop,
        _add,
        _add,
        _copied,
        _twice,
        _reordered,
        _renamed,
        _spoilt,
    ),
)


def mutated(rng: random.Random, document: Document) -> Document:
    """Return a document with one to three changes."""
    found = copy.deepcopy(document)
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        if places(found):
            rng.choice(_CHANGES)(rng, found)
    return found


def mutated_text(rng: random.Random, text: str) -> bytes:
    """Return a text with lines dropped, doubled or exchanged, or bytes that are others."""
    lines = text.splitlines(keepends=True)
    one, two = rng.randrange(len(lines)), rng.randrange(len(lines))
    kind = rng.randrange(4)
    if kind == 0:
        del lines[one]
    elif kind == 1:
        lines.insert(two, lines[one])
    elif kind == 2:
        lines[one], lines[two] = lines[two], lines[one]
    raw = bytearray("".join(lines).encode())
    if kind == 3:
        for _ in range(rng.choice((1, 3, 30))):
            raw[rng.randrange(len(raw))] = rng.choice((0, 9, 34, 91, 123, 195, 255, rng.randrange(256)))
    return bytes(raw)


def toml(document: Document) -> str:
    """Return a document as TOML; tables of the top as headings, the rest inline."""
    plain = {key: item for key, item in document.items() if not isinstance(item, dict)}
    lines = [f"{_text(key)} = {_inline(item)}" for key, item in plain.items()]
    for key, item in document.items():
        if isinstance(item, dict):
            lines += [
                f"[{_text(key)}]",
                *(f"{_text(inner)} = {_inline(child)}" for inner, child in item.items()),
            ]
    return "\n".join(lines) + "\n"


def _inline(item: Any) -> str:
    if isinstance(item, dict):
        return "{" + ", ".join(f"{_text(key)} = {_inline(child)}" for key, child in item.items()) + "}"
    if isinstance(item, list):
        return "[" + ", ".join(map(_inline, item)) + "]"
    if isinstance(item, _Written):
        return item
    if isinstance(item, bool):
        return "true" if item else "false"
    return _text(item) if isinstance(item, str) else repr(item)


def _text(text: str) -> str:
    spelled = "".join(
        f"\\u{ord(letter):04x}" if letter < " " or letter in '"\\\x7f' else letter for letter in text
    )
    return f'"{spelled}"'
