"""The entries to this package: a study from a file or a text, and inputs for a plain callable."""

from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from explorer import registry, units
from explorer.registry import Quantity, did_you_mean
from explorer.space import Correlation, Distribution, InputSpace, SharedError, Uncertain
from explorer.studyfile import document
from explorer.studyfile.error import StudyError, naming
from explorer.studyfile.inherited import Change
from explorer.studyfile.inputs.correlations import correlation_of
from explorer.studyfile.rig import rig_of
from explorer.studyfile.study import Study, study_of
from explorer.studyfile.values import exact_value, moved, value
from explorer.studyfile.values.text import unit_written


def read_study(path: str | Path, replacements: Mapping[str, object] | None = None) -> Study:
    """Return the study of a file.

    Parameters
    ----------
    path : str or Path
        The file; others that it names are looked for beside it.
    replacements : mapping, optional
        Values replaced whole, by address as `--set` does: {"magnet.field": "0.6 T"}.

    Raises
    ------
    StudyError
        For anything wrong in it, in one or two lines.
    """
    place = Path(path)
    return _read(document.document_of_file(place), place, place.parent, replacements or {})


def parse_study(
    text: str, folder: str | Path | None = None, replacements: Mapping[str, object] | None = None
) -> Study:
    """Return the study of a text, as `read_study` does; file names in it count from `folder`.

    Parameters
    ----------
    text : str
        TOML.
    folder : str or Path, optional
        Where the files lie that it names; without it, it can be `like` no other study.
    replacements : mapping, optional
        Values replaced whole, by address.
    """
    place = None if folder is None else Path(folder)
    return _read(document.document_of_text(text, place), None, place, replacements or {})


def _read(
    own: document.Document, path: Path | None, folder: Path | None, replacements: Mapping[str, object]
) -> Study:
    """Return the study of a document of its own at `path`, with what it is like from `folder` and what is replaced."""
    base, rig = document.base_of(own, folder), rig_of(own, path, folder)
    raw = document.merged(base, own)
    change = Change(lambda: study_of(base, None, {}), frozenset(own)) if base else None
    if replacements:
        as_written = partial(study_of, raw, path, {}, change=change)
        raw, rig, change = document.replaced(raw, replacements), rig.changed(replacements), Change(as_written)
    return study_of(raw, path, replacements, rig=rig, change=change)


def settings_of(study: Study, settings: Mapping[str, object]) -> dict[str, float]:
    """Return settings of a firing or a point in SI."""
    known = study.central()
    found: dict[str, float] = {}
    for address, written in settings.items():
        if address not in known:
            hint = did_you_mean(address, known)
            raise StudyError(f'this study has no input "{address}"{hint}', address)
        quantity = registry.quantity(address)
        in_si = isinstance(written, int | float) and not isinstance(written, bool)
        text = f"{float(str(written))!r} {quantity.unit}" if in_si and quantity.unit != "1" else written
        found[address] = exact_value(address, text, quantity)
    return found


def read_inputs(
    inputs: Mapping[str, object], correlations: Sequence[Correlation | Mapping[str, object]] = ()
) -> tuple[dict[str, float], InputSpace]:
    """Return exact values [SI] and the space of uncertain ones, for a callable's inputs in their own order."""
    exact: dict[str, float] = {}
    uncertain: list[Uncertain] = []
    for name, written in inputs.items():
        found = _one_input(name, written)
        if isinstance(found, Uncertain):
            uncertain.append(found)
        else:
            exact[name] = found
    try:
        return exact, InputSpace(tuple(uncertain), tuple(map(correlation_of, correlations)))
    except SharedError as error:
        raise StudyError(str(error)) from error


def _one_input(name: str, written: object) -> float | Uncertain:
    if hasattr(written, "quantile") and hasattr(written, "cumulative"):
        distribution: Distribution = written  # type: ignore[assignment]  # looked at just above
        return Uncertain(name, unknown=distribution)
    return value(name, written, quantity_of(name, written))


def moved_input(name: str, written: object, to: float) -> object:
    """Return what a callable's input states, moved so that its central value is `to` [SI]."""
    return moved(name, written, to, quantity_of(name, written))


def quantity_of(name: str, written: object) -> Quantity:
    """Return what is known of a callable's quantity: the registry's, or one in the unit of what is written."""
    try:
        return registry.quantity(name)
    except registry.UnknownAddressError:
        return _unregistered(name, written)


def _unregistered(name: str, written: object) -> Quantity:
    """Return a quantity without bounds whose unit is that of what is written."""
    with naming(name):
        unit = _unit_of(written)
        si = units.si_unit(unit)
    return Quantity(name, address=name, unit=si, shown_unit=unit or "1", may_be_uncertain=True)


def _unit_of(written: object) -> str:
    """Return the unit written in a value: that of "0.48 ± 0.02 T" is T, that of "12 bar ± 2 %" is bar."""
    if isinstance(written, Mapping):
        items: list[Any] = [item for key, item in written.items() if key not in ("shared", "part", "factor")]
        return next((unit for unit in map(_unit_of, items) if unit not in ("", "%")), "")
    if isinstance(written, list | tuple):
        return next((unit for unit in map(_unit_of, written) if unit), "")
    return unit_written(written) if isinstance(written, str) else ""
