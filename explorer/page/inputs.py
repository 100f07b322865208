"""What a study says, as a reader checks it: how uncertain values were read, what was changed, who says a value."""

import shlex
from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from explorer import registry
from explorer.page.document import Lines, Paragraph, Part, Section, Table
from explorer.page.words import counted, opened, percent
from explorer.studyfile import Study

_TRY: Final = (
    "Each line tries one end of a range, taken as exact: copy it, change the value, add more of --set."
)
_TRY_CHANGES: Final = (
    "Each line holds the study against both ends of a range: copy it, change values, add more of --change."
)
_LOOK: Final = "Before and after at central values: copy it, change a value, leave one out."
_MOST_LINES: Final = 8
_LONGEST: Final = 88  #: characters of a line


def how_read(study: Study, *, use: str) -> Section:
    """Return in words how each uncertain value was read."""
    words = study.words()
    parts: list[Part] = []
    if words:
        many = counted(len(words), "value is uncertain", "values are uncertain")
        parts.append(Paragraph(f"{many}. {use}"))
        parts.append(Table(tuple(words.items()), ("key in the study", "read as")))
    else:
        parts.append(Paragraph("Every value of this study is taken as exact."))
    return Section("How uncertain values were read", tuple(parts), folded=True)


def origin_words(origin: str) -> str:
    """Return where a value comes from: "stated" in the study, "default" or "assumed"."""
    return "stated" if origin == "yours" else origin


def who_says(study: Study, address: str) -> str:
    """Return where an input's value comes from: "stated", "stated, uncertain", "default", "assumed"."""
    origin = origin_words(study.origin.get(address, "yours"))
    uncertain = any(item.address == address for item in study.space.inputs)
    return f"{origin}, uncertain" if uncertain else origin


def resolved_inputs(study: Study) -> Section:
    """Return the study as resolved, for a reviewer."""
    head = ("key in the study", "central value", "origin", "read as")
    return Section("The study as resolved", (Table(resolved_rows(study), head),), audience="reviewer")


def resolved_rows(study: Study) -> tuple[tuple[str, str, str, str], ...]:
    """Return every word and value of a study: address, central value, whose it is and how it was read."""
    resolved = study.as_resolved()
    words = [
        (address, word, who_says(study, address), "")
        for address, word in {"mode": study.mode, **resolved["choices"]}.items()
        if address not in ("magnet.kind", "gas.kind")
    ]
    values = [
        (address, item["shown"], who_says(study, address), item["words"] or "exact")
        for address, item in resolved["inputs"].items()
    ]
    return (*words, *values)


def model_error_table(study: Study, quantities: Sequence[str]) -> Table:
    """Return how far the model itself may be off for each quantity, and who says so."""
    stated = [(name, study.model_error.of(name)) for name in quantities]
    rows = [
        (
            registry.words_of(name),
            percent(x.relative) if x.relative else "none stated",
            origin_words(x.origin),
        )
        for name, x in stated
    ]
    return Table(tuple(rows), ("", "standard uncertainty", "origin"))


def notes(study: Study) -> tuple[Paragraph, ...]:
    """Return what a reader must know of how the study was resolved, one paragraph each."""
    return tuple(Paragraph(_sentence(note)) for note in study.notes)


def _sentence(note: str) -> str:
    text = opened(note)
    return text if text.endswith(".") else f"{text}."


def to_try(study: Study, command: str, addresses: Sequence[str] = ()) -> tuple[Section, ...]:
    """Return command lines that try both ends of what is varied and of the inputs named; nothing without a file."""
    varied = [item.address for item in study.vary]
    ends = {address: _ends(study, address) for address in dict.fromkeys((*addresses, *varied))}
    lines = [
        _line(study, command, [_set(address, value)]) for address, values in ends.items() for value in values
    ]
    return _ready("Other values to try", _TRY, study, lines)


def to_compare(study: Study) -> tuple[Section, ...]:
    """Return command lines that hold a study against both ends of each varied input; nothing without a file."""
    lines = [
        _line(study, "compare", [_change(item.address, end) for end in ends])
        for item in study.vary
        if (ends := _ends(study, item.address))
    ]
    return _ready("Other changes to try", _TRY_CHANGES, study, lines)


def to_look_at(study: Study, settings: Mapping[str, str]) -> tuple[Section, ...]:
    """Return a command line that puts a design beside the study at central values; nothing without a file."""
    line = _line(study, "solve", [_set(address, value) for address, value in settings.items()])
    return _ready("To look at it", _LOOK, study, [line])


def _ready(title: str, words: str, study: Study, lines: Sequence[Lines]) -> tuple[Section, ...]:
    if study.path is None or not lines:
        return ()
    return (Section(title, (Paragraph(words), *lines[:_MOST_LINES])),)


def _set(address: str, value: str) -> str:
    return f"--set {address}={shlex.quote(value)}"


def _change(address: str, value: str) -> str:
    return "--change " + shlex.quote(f'{address} = "{value}"')


def _line(study: Study, command: str, options: Sequence[str]) -> Lines:
    """A command to copy, each option on a line of its own where one would be too long for a terminal."""
    start = f"mhdstage {command} {shlex.quote(str(study.path))}"
    whole = " ".join((start, *options))
    if len(whole) <= _LONGEST:
        return Lines((whole,))
    return Lines(
        (*(f"{part} \\" for part in (start, *(f"    {o}" for o in options[:-1]))), f"    {options[-1]}")
    )


def _ends(study: Study, address: str) -> tuple[str, ...]:
    """Both ends of an input's range, or of where its unknown value lies 19 times in 20, as `--set` takes them."""
    shown = registry.quantity(address).shown
    for item in study.vary:
        if item.address == address:
            if item.low is not None and item.high is not None:
                return shown(item.low), shown(item.high)
            return str(item.stock[0]), str(item.stock[-1])
    for uncertain in study.space.inputs:
        if uncertain.address == address:
            ends = uncertain.distribution(uncertain.parts[0]).quantile(np.array([0.025, 0.975]))
            return shown(float(ends[0]), 3), shown(float(ends[1]), 3)
    return ()
