"""What is fixed but not known, by the names under which a reader meets it, before and after."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from explorer import registry
from explorer.questions.calibrate.learning.instruments import Instruments
from explorer.questions.calibrate.learning.predictions import Aim
from explorer.questions.calibrate.learning.sides import StudySide
from explorer.questions.calibrate.learning.stand import Stand, probabilities
from explorer.questions.calibrate.posterior import COMMON_ERROR, MODEL_ERROR
from explorer.space import Distribution, Uncertain

Floats = NDArray[np.float64]

#: How many standard uncertainties of before a mean must move for its input to count as pushed far out [-].
_FAR_OUT: Final[float] = 2.5

_ENDS: Final = np.array([0.025, 0.975])


@dataclass(frozen=True)
class Unknown:
    """An input of which something is not known."""

    name: str
    distribution: Distribution  #: before any firing
    column: int  #: among the common latents
    shared: str
    unit: str


def unknowns_of(stand: Stand) -> tuple[Unknown, ...]:
    """Every unknown of a stand: the study's own by their addresses, then what only some firings have."""
    called = _names(stand)
    found = []
    for column, number in enumerate(stand.unknown):
        row = stand.space.rows[number]
        item = next(own for own in stand.space.inputs if own.address == row.address)
        name, original = called.get(row.address, (row.address, None))
        shared = (original or item).shared or ""
        found.append(Unknown(name, item.distribution("unknown"), column, shared, _unit(name)))
    for place, item in enumerate(stand.shared):
        column = len(stand.unknown) + place
        found.append(
            Unknown(
                str(item.shared), item.distribution("unknown"), column, str(item.shared), _unit(item.address)
            )
        )
    return tuple(found)


def _names(stand: Stand) -> dict[str, tuple[str, Uncertain | None]]:
    """By name in the joint space, the address in the study, or in another that firings need, and the input there."""
    found: dict[str, tuple[str, Uncertain | None]] = {}
    for number, side in enumerate(stand.sides):
        if isinstance(side, StudySide):
            items = {item.address: item for item in side.side.study.space.inputs}
            for address, names in side.side.terms.items():
                said = address if number == 0 else f"{address} of {side.side.name}"
                found.setdefault(names[0], (said, items[address]))
    return found


def _unit(address: str) -> str:
    try:
        return registry.quantity(address).unit
    except registry.UnknownAddressError:
        return ""


def physical(stand: Stand, unknowns: Sequence[Unknown], common: Floats) -> dict[str, Floats]:
    """Values of what is not known [SI], by name, dependence put in."""
    cube = np.full((len(common), stand.space.dimension), 0.5)
    cube[:, list(stand.unknown)] = probabilities(common[:, : len(stand.unknown)])
    every = stand.space.dependent(cube) if stand.space.dimension else []
    shared = probabilities(common[:, len(stand.unknown) : stand.common])
    columns = [every[number] for number in stand.unknown] + [*shared.T]
    return {own.name: own.distribution.quantile(columns[own.column]) for own in unknowns}


def inputs_table(stand: Stand, unknowns: Sequence[Unknown], common: Floats) -> pd.DataFrame:
    """Every unknown before and after."""
    values, rows = physical(stand, unknowns, common), {}
    for own in unknowns:
        found = values[own.name]
        low, high = own.distribution.quantile(_ENDS)
        stated = own.distribution.mean, own.distribution.standard_uncertainty
        before = _figures(*stated, (low, high), "before")
        after = _figures(found.mean(), found.std(), np.quantile(found, _ENDS), "after")
        spread = own.distribution.standard_uncertainty
        rows[own.name] = {
            "unit": own.unit,
            "shared": own.shared,
            **before,
            **after,
            "shift": (found.mean() - own.distribution.mean) / spread,
            "left": found.std() / spread,
            "far_out": bool(abs(common[:, own.column].mean()) > _FAR_OUT),
        }
    return pd.DataFrame.from_dict(rows, orient="index")


def _figures(mean: float, spread: float, ends: Sequence[float] | Floats, when: str) -> dict[str, float]:
    names = ("mean", "standard_uncertainty", "low", "high")
    return {f"{n}_{when}": float(own) for n, own in zip(names, (mean, spread, *ends), strict=True)}


def errors_of(instruments: Instruments, aim: Aim | None, common: Floats, errors: Floats) -> dict[str, Floats]:
    """Named errors in their own standard uncertainties, and factors that the model is off by [-], by name."""
    found = {
        f"{COMMON_ERROR}{name}": column for name, column in zip(instruments.errors, errors.T, strict=False)
    }
    last = len(instruments.stand.moments)
    for quantity in instruments.discrepancy.relative:
        found[f"{MODEL_ERROR}{quantity}"] = np.asarray(instruments.factor(quantity, last, common, errors))
    if aim is not None and aim.quantity not in instruments.discrepancy.relative:
        factor = aim.factor(
            aim.quantity, common, errors, aim.scatter[np.arange(len(common)) % len(aim.scatter), 0]
        )
        if np.ptp(factor) > 0.0:
            found[f"{MODEL_ERROR}{aim.quantity}"] = factor
    return found


def errors_table(before: Mapping[str, Floats], after: Mapping[str, Floats]) -> pd.DataFrame:
    """Errors of instruments and of the model before and after."""
    rows: dict[str, dict[str, Any]] = {}
    for name, found in after.items():
        rows[name] = {"kind": "instrument" if name.startswith(COMMON_ERROR) else "model"}
        for when, values in (("before", before[name]), ("after", found)):
            rows[name] |= _figures(values.mean(), values.std(), np.quantile(values, _ENDS), when)
    columns = [
        f"{n}_{w}" for w in ("before", "after") for n in ("mean", "standard_uncertainty", "low", "high")
    ]
    return pd.DataFrame.from_dict(rows, orient="index", columns=["kind", *columns])
