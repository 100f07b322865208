"""A study at one design, or in one phase of its flight: values set, the ± of each moving with it."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Final

from explorer import registry
from explorer.space import Uncertain
from explorer.studyfile.document import at, replaced
from explorer.studyfile.error import StudyError, refusal
from explorer.studyfile.inputs.varied import set_note
from explorer.studyfile.reading import settings_of
from explorer.studyfile.sections.flight import Phase
from explorer.studyfile.study import Study, replacement_note, study_of
from explorer.studyfile.values import literal, moved_and_read, value

#: What a study of one phase keeps: all that shapes the stage.
_KEPT: Final = {
    *("title", "run"),
    *(quantity.address.partition(".")[0] for quantity in registry.INPUTS),
    *(choice.address.partition(".")[0] for choice in registry.CHOICES),
}


def at_design(study: Study, design: Mapping[str, object]) -> Study:
    """Return the study with inputs set; what it says about searching stays."""
    choices = [address for address in design if address in study.choices]
    settings = settings_of(study, {a: item for a, item in design.items() if a not in choices})
    written = {address: design[address] for address in choices}
    for address, to in settings.items():
        written[address] = _moved(study, address, to)[0]
    found = _tried(study.replaced(written), written)
    return replace(found, vary=study.vary, replacements=study.replacements)


def changed(study: Study, changes: Mapping[str, object]) -> Study:
    """Return the same hardware with values replaced whole, as a design that is tried."""
    return _tried(study.replaced(changes), changes)


def _tried(found: Study, changes: Iterable[str]) -> Study:
    """Return a design without notes on what was changed: it is tried, not set from outside."""
    own = {set_note(a) for a in changes} | {replacement_note(a, found.exact.get(a)) for a in changes}
    return replace(found, notes=tuple(note for note in found.notes if note not in own))


def uncertain_at(study: Study, address: str, to: float) -> float | Uncertain:
    """Return one input as it is read at a design, without the rest of the study."""
    return _moved(study, address, to)[1]


def _moved(study: Study, address: str, to: float) -> tuple[object, float | Uncertain]:
    quantity, written = registry.quantity(address), at(study.document, address)
    if written is None:  # a default, or a magnet's remanence from its grade
        result = literal(to, quantity)
        return result, value(address, result, quantity)
    read = study.as_read.get(address)
    before = value(address, written, quantity) if read is None else read[1]
    return moved_and_read(written, before, address, to, quantity)


def phase_study(study: Study, phase: Phase) -> Study:
    """Return the study of the stage in one phase, in vacuum: its mode, its sources and its settings put in.

    What is asked of the study (target, measurements, limits) is left out, and so are correlations: the flight draws
    its inputs from the whole study.
    """
    kinds: dict[str, object] = {}
    if phase.mode not in ("off", study.mode):
        source = registry.SOURCE_OF_MODE[phase.mode]
        kinds = {"mode": phase.mode, **{f"electrodes.{pair}.source.kind": source for pair in study.pairs}}
    raw = {key: item for key, item in study.document.items() if key in _KEPT}
    changes: Mapping[str, object] = {"ambient.pressure": "0 Pa", **kinds, **phase.settings}
    try:
        return study_of(replaced(raw, changes), study.path, {}).calculated_by(study.calculation)
    except StudyError as error:
        raise refusal(f"flight.phase {phase.name}", error) from error
