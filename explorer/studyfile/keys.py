"""All keys and results as Markdown, written from the registry: `python -m explorer.studyfile.keys`."""

import itertools
import sys
from collections.abc import Iterable
from typing import Final

from explorer import registry
from explorer.registry import Choice, Named, PointWarning, Quantity, StudyKey

_HEAD: Final = """# Keys of a study, and what comes out

Written from the registry by `python -m explorer.studyfile.keys > studies/KEYS.md`; edit the registry instead.
`electrodes.<pair>.…` stands once for each pair, `<pair>` being a name of your own.
"""

_AFTER_FORMS: Final = """Plain numbers may stand without quotes; a value with a unit needs them. °C is read, its ± in
kelvin.
"""

_SUBSTANCE: Final = ("name", "what it is", "answered with this name")


def keys_markdown() -> str:
    """Return the whole document."""
    sections = [
        _HEAD,
        _table("How a value is written", ("written", "read as"), map(_quoted_row, registry.VALUE_FORMS)),
        _table(
            "Keys of any value's table", ("key", "what it is"), map(_quoted_row, registry.VALUE_KEYS.items())
        ),
        _AFTER_FORMS,
        _table(
            "Inputs", ("key", "unit", "possible", "default", "what it is"), map(_input_row, registry.INPUTS)
        ),
        "Inputs without ± in a study: "
        + ", ".join(f"`{_key(q.address)}`" for q in registry.INPUTS if not q.may_be_uncertain)
        + ".\n",
        _table("Words", ("key", "one of", "default", "what it is"), map(_choice_row, registry.CHOICES)),
        _table("Fuels", _SUBSTANCE, map(_substance_row, registry.FUELS)),
        _table("Oxidisers", _SUBSTANCE, map(_substance_row, registry.OXIDIZERS)),
        _table("Seeds", _SUBSTANCE, map(_substance_row, registry.SEEDS)),
        _table(
            "Other sections",
            ("section", "what it is"),
            map(_section_row, filter(_is_table, registry.STUDY_KEYS.values())),
        ),
        _table(
            "Their keys",
            ("key", "default", "what it is"),
            map(_key_row, itertools.filterfalse(_is_table, registry.STUDY_KEYS.values())),
        ),
        _OTHER,
        _table(
            "The vehicle of a flight",
            ("key", "unit", "possible", "default", "what it is"),
            map(_input_row, registry.FLIGHT_INPUTS),
        ),
        _FLIGHT,
        _table(
            "Results",
            ("name", "unit", "per pair", "what it is", "sign"),
            map(_output_row, registry.OUTPUTS),
        ),
        "Per pair: also as `electrodes.<pair>.<name>`. With several pairs the top level holds the "
        "sum where the"
        ' column says "adds", and nothing where it says "yes".\n',
        _table(
            "Results of a flight",
            ("name", "unit", "per pair", "what it is", "sign"),
            map(_output_row, registry.FLIGHT_OUTPUTS),
        ),
        _table("Statuses of a point", ("status", "what it means"), map(_named_row, registry.STATUSES)),
        _table("Warnings of a point", ("code", "title", "what to do"), map(_warning_row, registry.WARNINGS)),
    ]
    return "\n".join(sections)


_OTHER: Final = """Uncertainties of instruments: `"0.3 N"`, `"1 % of reading"`, `"0.3 N + 1 % of reading"`, each a
standard uncertainty or expanded with `(k=2)`; `random` falls with repeats, `common` does not. A measurement pins
inputs and observes results, each to one such uncertainty, to `{ random, common }`, or as an instrument named.

A search moves what is varied, and its ± with it as written: absolute, relative, or a factor. `[wanted]` and
`[[limit]]` take a result's name, or `chance.` and a status, a warning's code or a form of contact (none, spark,
diffuse, arc), such as `chance.constricted`, `chance.arc` (of some pair) or `chance.electrodes.main.arc`; such a limit
has no `chance` of its own. A study that is `like` another one replaces its `[vary]`, `[wanted]` and `[[limit]]`
whole; an empty `[vary]` takes the other's away. `--set` on a varied input takes it out of `[vary]`.

A study that is `like` another one is the same hardware with a change: what it doesn't state anew is the same thing,
drawn once in `compare`, `scale` and `rank --against`, and the model's own error is common in full. With
`rig = "another"` it is a second build of the same drawing, which has in common only what carries a `shared` name.
Tables that make no sense after the change (a measurement of what is now exact) are left out, with a note.
"""


_FLIGHT: Final = """Every key of `[flight]` takes a value with its uncertainty; all but `power_wanted` and those with a
default must stand there. Then come the parts of the burn, each a `[[flight.phase]]`, in their order.
A phase in the other mode takes that mode's source and none of the study's values for its own: state them as settings.
"""


def _key(address: str) -> str:
    return address.replace("*", "<pair>")


def _table(title: str, head: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    lines = [f"## {title}", "", f"| {' | '.join(head)} |", "|" + "---|" * len(head)]
    lines += [f"| {' | '.join(cell.replace('|', chr(92) + '|') for cell in row)} |" for row in rows]
    return "\n".join(lines) + "\n"


def _unit(quantity: Quantity) -> str:
    return "" if quantity.shown_unit == "1" else quantity.shown_unit


def _input_row(quantity: Quantity) -> tuple[str, ...]:
    default = ""
    if quantity.default is not None:
        default = quantity.shown(quantity.default) + (
            ", assumed" if quantity.default_origin == "assumed" else ""
        )
    sentence = f"{quantity.sentence} Sign: {quantity.sign}." if quantity.sign else quantity.sentence
    return f"`{_key(quantity.address)}`", _unit(quantity), quantity.bounds_words(), default, sentence


def _choice_row(choice: Choice) -> tuple[str, ...]:
    return (
        f"`{_key(choice.address)}`",
        ", ".join(choice.options) or "text",
        choice.default or "",
        choice.sentence,
    )


def _output_row(quantity: Quantity) -> tuple[str, ...]:
    per_pair = ("adds" if quantity.adds else "yes") if quantity.per_pair else ""
    return f"`{quantity.address}`", _unit(quantity), per_pair, quantity.sentence, quantity.sign


def _quoted_row(item: tuple[str, str]) -> tuple[str, ...]:
    return f"`{item[0]}`", item[1]


def _is_table(key: StudyKey) -> bool:
    return bool(key.heading)


def _section_row(key: StudyKey) -> tuple[str, ...]:
    return f"`{key.shown}`", key.sentence


def _key_row(key: StudyKey) -> tuple[str, ...]:
    return f"`{key.shown}`", key.stated, key.sentence


def _named_row(named: Named) -> tuple[str, ...]:
    return f"`{named.name}`", named.sentence


def _substance_row(named: Named) -> tuple[str, ...]:
    others = (*registry.OTHER_SPELLINGS.get(named.name, ()), *registry.LIQUIDS.get(named.name, ()))
    return f"`{named.name}`", named.sentence, ", ".join(others)


def _warning_row(warning: PointWarning) -> tuple[str, ...]:
    return f"`{warning.code}`", warning.title, warning.sentence


if __name__ == "__main__":
    sys.stdout.write(keys_markdown())
