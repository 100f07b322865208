"""A study at one design: what a search varies set to a trial, the ± of each value moving with it."""

from collections.abc import Mapping
from dataclasses import replace

from explorer import registry
from explorer.space import Uncertain
from explorer.studyfile import grammar, reading
from explorer.studyfile.document import at
from explorer.studyfile.moving import literal, moved_and_read
from explorer.studyfile.resolve import replacement_note
from explorer.studyfile.study import Study
from explorer.studyfile.varying import set_note


def at_design(study: Study, design: Mapping[str, object]) -> Study:
    """Return the study with inputs set; what it says about searching stays."""
    choices = [address for address in design if address in study.choices]
    settings = reading.settings_of(study, {a: item for a, item in design.items() if a not in choices})
    written = {address: design[address] for address in choices}
    for address, to in settings.items():
        written[address] = _moved(study, address, to)[0]
    found = study.replaced(written)
    own = {set_note(a) for a in written} | {replacement_note(a, found.exact) for a in written}
    notes = tuple(note for note in found.notes if note not in own)  # a design is tried, not set from outside
    return replace(found, vary=study.vary, notes=notes, replacements=study.replacements)


def uncertain_at(study: Study, address: str, to: float) -> float | Uncertain:
    """Return one input as it is read at a design, without the rest of the study."""
    return _moved(study, address, to)[1]


def _moved(study: Study, address: str, to: float) -> tuple[object, float | Uncertain]:
    quantity, written = registry.quantity(address), at(study.document, address)
    if written is None:  # a default, or a magnet's remanence from its grade
        result = literal(to, quantity)
        return result, grammar.value(address, result, quantity)
    read = _read(study, address)
    if read is None:
        read = grammar.value(address, written, quantity)
    return moved_and_read(written, read, address, to, quantity)


def _read(study: Study, address: str) -> float | Uncertain | None:
    """Return how the study read what is written at an address, None where it left it unread."""
    if study.origin[address] != "yours":
        return None
    uncertain = (item for item in study.space.inputs if item.address == address)
    return next(uncertain, study.exact.get(address))
