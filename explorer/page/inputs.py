"""What a study says, as a reader checks it: how uncertain values were read, what was changed, who says a value."""

from collections.abc import Sequence

from explorer import registry
from explorer.page.document import Paragraph, Part, Section, Table
from explorer.page.words import counted, percent
from explorer.studyfile import Study


def how_read(study: Study, *, use: str) -> Section:
    """Return in words how each uncertain value was read."""
    words = study.words()
    parts: list[Part] = []
    if words:
        many = counted(len(words), "value is uncertain", "values are uncertain")
        parts.append(Paragraph(f"{many}. {use}"))
        parts.append(Table(tuple(words.items())))
    else:
        parts.append(Paragraph("Every value of this study is taken as exact."))
    return Section("How uncertain values were read", tuple(parts), folded=True)


def who_says(study: Study, address: str) -> str:
    """Return whose an input's value is: "yours", "yours, uncertain", "default", "assumed"."""
    origin = study.origin.get(address, "yours")
    uncertain = any(item.address == address for item in study.space.inputs)
    return f"{origin}, uncertain" if uncertain else origin


def resolved_inputs(study: Study) -> Section:
    """Return the study as resolved, for a reviewer."""
    resolved = study.as_resolved()
    rows = [("mode", study.mode, who_says(study, "mode"), "")]
    rows += [
        (address, word, who_says(study, address), "")
        for address, word in resolved["choices"].items()
        if address not in ("mode", "magnet.kind", "gas.kind")
    ]
    rows += [
        (address, item["shown"], who_says(study, address), item["words"] or "exact")
        for address, item in resolved["inputs"].items()
    ]
    head = ("input", "central value", "whose", "read as")
    return Section("The study as resolved", (Table(tuple(rows), head),), audience="reviewer")


def model_error_table(study: Study, quantities: Sequence[str]) -> Table:
    """Return how far the model itself may be off for each quantity, and who says so."""
    stated = [(name, study.model_error.of(name)) for name in quantities]
    rows = [(name, percent(x.relative) if x.relative else "none stated", x.origin) for name, x in stated]
    return Table(tuple(rows), ("", "standard uncertainty", "whose"))


def notes(study: Study) -> tuple[Paragraph, ...]:
    """Return what a reader must know of how the study was resolved, one paragraph each."""
    return tuple(Paragraph(_sentence(note)) for note in study.notes)


def _sentence(note: str) -> str:
    first = note.split(" ", 1)[0]
    known = "." in first or first in {
        q.address for q in registry.OUTPUTS
    }  # an address keeps its small letter
    text = note if known else note[:1].upper() + note[1:]
    return text if text.endswith(".") else f"{text}."
