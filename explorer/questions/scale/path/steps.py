"""One step on the path between two designs, as a study whose file reads to it again.

A step is the nearer end's document with its values moved, the ± of each as written there: absolute stays absolute,
relative relative. What an end says of itself alone (a requirement, a search, measurements, a flight) stays behind;
instruments are those of the path's first end, and so is what stands around it. Values are rounded to four digits, as a
drawing has them.
"""

import copy
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from explorer import registry, units
from explorer.registry import Quantity
from explorer.studyfile import Rig, Study, StudyError, at, literal, moved

#: What a study says of its own end: it doesn't come along.
_OF_AN_END: Final = frozenset(
    {"vary", "wanted", "limit", "measurement", "setup", "decision", "flight", "instrument", "target"}
)


@dataclass(frozen=True)
class Step:
    """A design on the path."""

    number: int  #: [-] counted from 1 behind the first end
    place: float  #: [-] 0 at the first end, 1 at the second
    study: Study  #: Titled "step 1" and so on, without a path of its own
    notes: tuple[str, ...]  #: What had to be done about an uncertainty


def step_between(
    near: Study,
    far: Study,
    values: Mapping[str, float],
    number: int,
    place: float,
    *,
    ends: tuple[Study, Study],
    ambient: Mapping[str, Any],
    left_out: Sequence[str] = (),
) -> Step:
    """A step with some values and surroundings of its own, everything else as the nearer end has it."""
    document: dict[str, Any] = {
        key: copy.deepcopy(item) for key, item in near.document.items() if key not in _OF_AN_END
    }
    for address in left_out:
        head, _, last = address.rpartition(".")
        (at(document, head) or {}).pop(last, None)
    document |= {"title": f"step {number}", "target": {"quantity": ends[1].target.quantity}}
    if ends[0].instruments:
        document["instrument"] = ends[0].document["instrument"]
    one_rig = ends[0].rig.drawing == ends[1].rig.drawing
    if "calibrated" in document and not one_rig:
        # What firings taught of another rig's own parts says nothing of this one.
        document["calibrated"]["takes"] = "shared"
    rig = near.rig if one_rig else Rig()  # otherwise each size is a build of its own
    bare = replace(near, path=None, document=document, replacements={}, vary=(), rig=rig)
    notes: list[str] = []
    try:
        written = {a: _written(near, far, a, _rounded(a, to), notes) for a, to in values.items()}
        found = bare.replaced({**written, **ambient})
    except StudyError:  # rounding may part edges that touch
        notes.clear()
        written = {a: _written(near, far, a, to, notes) for a, to in values.items()}
        found = bare.replaced({**written, **ambient})
    return Step(number, place, replace(found, replacements={}, notes=()), tuple(notes))


def _rounded(address: str, value: float) -> float:
    quantity = registry.quantity(address)
    shown = units.from_si(value, quantity.unit, quantity.shown_unit)
    return units.si_value(float(f"{shown:.4g}"), quantity.shown_unit, quantity.unit)


def _written(near: Study, far: Study, address: str, to: float, notes: list[str]) -> object:
    """What stands at an address: the nearer end's value moved, or the other's where that can't be."""
    quantity = registry.quantity(address)
    found = _moved(near, address, to, quantity)
    if found is None:
        found = _moved(far, address, to, quantity)
        notes.append(
            f"{quantity.words} has the further end's ±, for the nearer one's would reach beyond what is possible"
        )
    if found is None:
        raise StudyError(f"{address}: neither end's ± fits about {quantity.shown(to)}", address)
    if isinstance(found, Mapping) and "shared" in found:
        notes.append(f'{address} does not share "{found["shared"]}", for it has another value there')
        found = {key: item for key, item in found.items() if key != "shared"}
    return found


def _moved(study: Study, address: str, to: float, quantity: Quantity) -> Any:
    """What a study states at an address, moved; None where that can't be."""
    stated = at(study.document, address)
    if stated is None:  # a default
        return literal(to, quantity)
    try:
        return moved(address, stated, to, quantity)
    except StudyError:
        return None
