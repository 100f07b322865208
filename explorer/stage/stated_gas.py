"""The gas of a design in the numbers that the kernel reads, however a study states it.

Propellants that burn are stated so; what streams make at the stand is worked out from them; a gas that is only heated
has no mixture ratio, and nothing burns incompletely in it.
"""

from collections.abc import Mapping
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from explorer.stage.design import Design, Values, points_in
from explorer.stage.evaluate import Tables
from explorer.stage.gas.extent import Ranges
from explorer.stage.gas.fed_ranges import derived_ranges, refuse_unfed
from explorer.stage.gas.feeding import fed
from explorer.stage.gas.propellants import HeatedGas, Propellants

#: What stands for a flame where there is none.
_NO_FLAME: Final = {"gas.mixture_ratio": 0.0, "gas.combustion_efficiency": 1.0}


class GasValues(NamedTuple):
    """All values of a series of points, those of the gas among them."""

    values: Values  #: [SI] by address
    unfed: (
        NDArray[np.bool_] | None
    )  #: shape (n,), points whose orifices don't feed; None where nothing is fed


def gas_values(design: Design, values: Values, tables: Tables) -> GasValues:
    """The values of a series of points with those that follow from how the gas is stated.

    Parameters
    ----------
    values : mapping
        [SI] by address, scalars or arrays.
    tables : callable
        As in `evaluate`; what flows make is found on the first, of seeded gas.
    """
    if isinstance(design.propellants, HeatedGas):
        return GasValues({**values, **_NO_FLAME}, None)
    if design.feed is None or not isinstance(design.propellants, Propellants):
        return GasValues(values, None)
    table = tables(0, True)
    assert table is not None  # the first is always there
    made = fed(design.feed, design.propellants, values, table, points_in(values))
    derived = {
        "gas.mixture_ratio": made.mixture_ratio,
        "gas.seed_fraction": made.seed_fraction,
        "gas.chamber_pressure": made.chamber_pressure,
    }
    return GasValues({**values, **derived}, ~made.feeds)


def refuse_unfed_gas(design: Design, values: Mapping[str, float]) -> None:
    """Refuse orifices that don't feed at one set of values [SI].

    Parameters
    ----------
    values : mapping
        [SI] by address.

    Raises
    ------
    ValueError
        With the pressure that is needed upstream.
    """
    if design.feed is not None and isinstance(design.propellants, Propellants):
        refuse_unfed(design.feed, design.propellants, values)


def gas_ranges(design: Design, ranges: Ranges, spread: Mapping[str, float] | None = None) -> Ranges:
    """The ranges of a design's inputs with those that follow from how the gas is stated.

    Parameters
    ----------
    ranges : mapping
        Lowest and highest value [SI] of every input.
    spread : mapping, optional
        Standard uncertainty [SI] of inputs whose whole distribution lies within their range.

    Raises
    ------
    ValueError
        If a liquid doesn't flow in, or a mixture has less oxygen than carbon.
    """
    if isinstance(design.propellants, HeatedGas):
        return {**ranges, **{address: (value, value) for address, value in _NO_FLAME.items()}}
    if design.feed is None or not isinstance(design.propellants, Propellants):
        return ranges
    return derived_ranges(design.feed, design.propellants, ranges, spread)
