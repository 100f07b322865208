"""The model's own error: an ordinary row of the uncertain inputs, a factor of median 1 on an output.

Among several studies a share of the smallest error is common to all; studies of one rig have all of it in common, up
to the smallest of theirs.
"""

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri

from explorer import registry
from explorer.space import Lognormal, Uncertain
from explorer.studyfile import Study

FloatArray = NDArray[np.float64]

#: What its row is called.
MODEL_ITSELF: Final = "the model itself"

#: What the part of it is called that studies have in common.
SHARED_MODEL: Final[str] = f"{MODEL_ITSELF}, shared"

#: Outputs that a supply fixes: the voltage, and what leaks at it, below its current limit, the current at it.
FIXED_BY_A_SUPPLY: Final = ("terminal_voltage", "leak_current", "current")

#: Relative distance from a supply's corner within which a point counts as lying on it; the circuit is solved to 1e-8.
_AT_LIMIT: Final[float] = 1e-6

#: Half-width of a lognormal's 95 % interval in standard deviations, as the value grammar reads a factor.
_HALF_WIDTH: Final[float] = 1.959964


def model_error(name: str, variance: float, output: str = "") -> tuple[Uncertain, ...]:
    """The row of an error with this variance of its factor's logarithm [-]; none where that is zero.

    Its address is the output's, where the space is of one study; among several it is the row's name.
    """
    if not variance > 0:
        return ()
    factor = float(np.exp(_HALF_WIDTH * np.sqrt(variance)))
    return (Uncertain(output or name, unknown=Lognormal(1.0, factor), called=name),)


def variance_of(relative: float) -> float:
    """Variance of the factor's logarithm [-] from its relative standard uncertainty [-]."""
    return float(np.log1p(relative**2))


def model_factor(u: NDArray[np.float64], relative: float) -> NDArray[np.float64]:
    """Factor [-] by which the model may be off, at probabilities u in (0, 1)."""
    return np.asarray(np.exp(np.sqrt(variance_of(relative)) * ndtri(u)))


def off(
    study: Study,
    quantity: str,
    values: FloatArray,
    factor: FloatArray | float,
    inputs: Mapping[str, ArrayLike],
) -> FloatArray:
    """A quantity with what the model may be off by [SI]; what a supply fixes is not the model's to be wrong about.

    Below its current limit a supply fixes the terminal voltage and what leaks at it, at it the current; what the model
    computes of the others reaches no further than the limit's corner. Inputs that aren't given are at their central
    values.
    """
    head, _, bare = quantity.rpartition(".")
    if bare not in FIXED_BY_A_SUPPLY or np.ndim(factor) == 0:
        return np.asarray(values * factor)
    pair = head.removeprefix("electrodes.") or (study.pairs[0] if len(study.pairs) == 1 else "")
    source = f"electrodes.{pair}.source"
    if study.choices.get(f"{source}.kind") != "supply":
        return np.asarray(values * factor)
    given = {**study.central(), **inputs}
    voltage, limit, inner = (
        np.asarray(given[f"{source}.{key}"]) for key in ("voltage", "current_limit", "resistance")
    )
    if bare == "current":
        return np.where(values >= limit * (1.0 - _AT_LIMIT), values, np.minimum(values * factor, limit))
    each_volt = np.asarray(given[f"electrodes.{pair}.leak_conductance"]) if bare == "leak_current" else 1.0
    corner = (voltage - inner * np.where(np.isfinite(limit), limit, 0.0)) * each_volt
    at_limit = np.isfinite(limit) & (values < corner - _AT_LIMIT * np.abs(voltage * each_volt))
    return np.where(at_limit, np.minimum(values * factor, corner), values)


def parts_of(study: Study, quantity: str) -> tuple[str, ...]:
    """The pairs' own outputs of which a sum over several is made that supplies may fix in part; none for all else."""
    fixed = quantity in FIXED_BY_A_SUPPLY and registry.quantity(quantity).adds
    return (
        tuple(f"electrodes.{pair}.{quantity}" for pair in study.pairs)
        if fixed and len(study.pairs) > 1
        else ()
    )


def with_parts(study: Study, quantities: Sequence[str]) -> tuple[str, ...]:
    """Outputs, and the pairs' own that `off_found` wants beside them."""
    if study.calculation is not None:  # a callable needn't give them
        return tuple(dict.fromkeys(quantities))
    parts = (part for quantity in quantities for part in parts_of(study, quantity))
    return tuple(dict.fromkeys((*quantities, *parts)))


def off_found(
    study: Study,
    quantity: str,
    found: Mapping[str, FloatArray],
    factor: FloatArray | float,
    inputs: Mapping[str, ArrayLike],
) -> FloatArray:
    """As `off`, of a quantity among what was found; of several pairs' sum each pair's part by itself."""
    parts = parts_of(study, quantity)
    if np.ndim(factor) == 0 or not parts or not all(part in found for part in parts):
        return off(study, quantity, found[quantity], factor, inputs)
    return np.asarray(np.sum([off(study, part, found[part], factor, inputs) for part in parts], axis=0))


def model_errors_in_common(
    studies: Mapping[str, Study],
    rigs: Sequence[Sequence[str]],
    quantities: Sequence[Sequence[str]],
    share: float,
) -> tuple[list[Uncertain], dict[tuple[str, str], tuple[str, ...]]]:
    """The errors of studies by name as factors of median 1, and which of them a study's quantity has."""
    every = list(dict.fromkeys(quantity for own in quantities for quantity in own))
    found: list[Uncertain] = []
    model: dict[tuple[str, str], tuple[str, ...]] = {}
    for quantity in every:
        which = f": {quantity}" if len(every) > 1 else ""
        variances = {
            name: variance_of(study.model_error.of(quantity).relative)
            for (name, study), own in zip(studies.items(), quantities, strict=True)
            if quantity in own
        }
        groups = [[name for name in rig if name in variances] for rig in rigs]
        groups = [group for group in groups if group]
        everywhere = share * min(variances.values()) if len(groups) > 1 else 0.0
        joint = model_error(f"{SHARED_MODEL}{which}", everywhere)
        found += joint
        for group in groups:
            common = min(variances[name] for name in group) if len(group) > 1 else everywhere
            called = f"{MODEL_ITSELF} of all like {group[0]}" if len(groups) > 1 else SHARED_MODEL
            of_rig = model_error(f"{called}{which}", common - everywhere)
            found += of_rig
            for name in group:
                alone = model_error(f"{name}: {MODEL_ITSELF}{which}", variances[name] - common)
                found += alone
                model[name, quantity] = tuple(item.address for item in (*joint, *of_rig, *alone))
    return found, model
