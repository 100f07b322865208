"""All keys and results as Markdown, written from the registry: `python -m explorer.studyfile.keys`."""

import sys
from collections.abc import Iterable
from typing import Final

from explorer import registry
from explorer.registry import Choice, Named, PointWarning, Quantity

_HEAD: Final = """# Keys of a study, and what comes out

Written from the registry by `python -m explorer.studyfile.keys > studies/KEYS.md`; edit the registry instead.
`electrodes.<pair>.…` stands once for each pair, `<pair>` being a name of your own.

## How a value is written

| written | read as |
|---|---|
| `"0.48 T"` | exact |
| `"0.48 ± 0.02 T"`, `"0.48 +/- 0.02 T"`, `"0.48 T ± 4 %"` | normal, one standard uncertainty |
| `"0.48 ± 0.04 T (k=2)"` | normal, expanded uncertainty |
| `"0.48 T limits 0.02 T"` | anything within the limits, a maker's tolerance |
| `"20 .. 60 V"` | anything in between, equally likely |
| `"1.0 ± 0.2 %"` | percentage points |
| `{ low, peak, high }` | triangular |
| `{ median, factor }` | lognormal, 95 % within median/factor … median·factor |
| `{ mean, sd, low, high }` | normal, cut; mean and sd before the cut |
| `{ values = [...] }` | four or more readings: t distribution of their mean |
| `{ value, unknown, scatter }` | what a test can pin down, and what falls anew at each firing |

Any table may carry `shared = "name"`: the same thing in several studies, or under two keys of one, drawn once.
Plain numbers may stand without quotes; a value with a unit needs them. °C is read, its ± in kelvin.
"""


_SUBSTANCE: Final = ("name", "what it is", "answered with this name")


def keys_markdown() -> str:
    """Return the whole document."""
    sections = [
        _HEAD,
        _table(
            "Inputs", ("key", "unit", "possible", "default", "what it is"), map(_input_row, registry.INPUTS)
        ),
        "Inputs without ± in a study: "
        + ", ".join(f"`{_key(q.address)}`" for q in registry.INPUTS if not q.may_be_uncertain)
        + ".\n",
        _table("Words", ("key", "one of", "default", "what it is"), map(_choice_row, registry.CHOICES)),
        _table("Fuels", _SUBSTANCE, map(_substance_row, registry.FUELS)),
        _table("Oxidizers", _SUBSTANCE, map(_substance_row, registry.OXIDIZERS)),
        _table("Seeds", _SUBSTANCE, map(_substance_row, registry.SEEDS)),
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


_OTHER: Final = """## Other sections

| section | keys |
|---|---|
| top | `title`, `mode`, `like` (another study, of which this one states only what differs; one level), `rig` |
| `[target]` | `quantity`, `at_least`, `at_most`, `chance` (50 % if absent), `worth` of a test (2 % if absent) |
| `[vary]` | an input's key = a range `"8 .. 20 mm"`, or a list of what is in stock: values, or words of a choice |
| `[wanted]` | `quantity`, `make` ("smallest" or "largest"); twice as `[[wanted]]` for a trade-off curve |
| `[[limit]]` | `quantity`, `at_least`, `at_most`, `chance` with which it must hold (0.9 if absent, assumed) |
| `[run]` | `random_number` (1 if absent) |
| `[[correlation]]` | `between = [a, b]`, `rank` (Spearman's), `part` ("unknown" if absent) |
| `[model_error]` | a result's name = relative standard uncertainty; `shared` = share common to all stages |
| `[[instrument]]` | `name`, `reads`, `random`, `common`, `rate`, `bandwidth`, `range` |
| `[[setup]]` | `name`, `hours`; of an altitude cell `lowest_pressure`, which it holds around a firing stage |
| `[[measurement]]` | `name`, `hours`, `pins`, `observes`, `settings`, `setup`, `repeats` |
| `[decision]` | `gain_if_met`, `loss_if_not`, `cost_per_hour`, `unit`, `hours` |

Uncertainties of instruments: `"0.3 N"`, `"1 % of reading"`, `"0.3 N + 1 % of reading"`, each a standard
uncertainty or expanded with `(k=2)`; `random` falls with repeats, `common` does not. A measurement pins
inputs and observes results, each to one such uncertainty, to `{ random, common }`, or as an instrument named.

A search moves what is varied, and its ± with it as written: absolute, relative, or a factor. `[wanted]` and
`[[limit]]` take a result's name, or `chance.` and a status or a warning's code, such as `chance.constricted`; such
a limit has no `chance` of its own. A study that is `like` another one replaces its `[vary]`, `[wanted]` and
`[[limit]]` whole; an empty `[vary]` takes the other's away. `--set` on a varied input takes it out of `[vary]`.

A study that is `like` another one is the same hardware with a change: what it doesn't state anew is the same thing,
drawn once in `compare`, `scale` and `rank --against`, and the model's own error is common in full. With
`rig = "another"` it is a second build of the same drawing, which has in common only what carries a `shared` name.
Tables that make no sense after the change (a measurement of what is now exact) are left out, with a note.
"""


_FLIGHT: Final = """Every key of `[flight]` takes a value with its uncertainty; all but `power_wanted` and those with a
default must stand there. Then come the parts of the burn, each a `[[flight.phase]]`, in their order:

| key | what it is |
|---|---|
| `name` | a name of your own |
| `start`, `end` | `"0 s"`, `"35 s"`; between two phases the engine rests |
| `mode` | `"acceleration"`, `"extraction"`, or `"off"` for an open circuit |
| `throttle` | chamber pressure over the study's (1 if absent); the plain engine follows |
| `settings` | inputs of the study that are others in this phase: `{ "electrodes.main.source.resistance" = "2 ohm" }` |

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


def _named_row(named: Named) -> tuple[str, ...]:
    return f"`{named.name}`", named.sentence


def _substance_row(named: Named) -> tuple[str, ...]:
    others = (*registry.OTHER_SPELLINGS.get(named.name, ()), *registry.LIQUIDS.get(named.name, ()))
    return f"`{named.name}`", named.sentence, ", ".join(others)


def _warning_row(warning: PointWarning) -> tuple[str, ...]:
    return f"`{warning.code}`", warning.title, warning.sentence


if __name__ == "__main__":
    sys.stdout.write(keys_markdown())
