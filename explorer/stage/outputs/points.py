"""A series of points: what went in and what the kernel gave, as named arrays."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from explorer.physics import propellant
from explorer.stage import columns
from explorer.stage.columns import NO_CONTACT
from explorer.stage.design import Design, Values

FloatArray = NDArray[np.float64]


class KernelResults(NamedTuple):
    """What the kernel gave."""

    results: FloatArray  #: [SI] `columns.OUTPUTS`, shape (n, outputs)
    pair_results: FloatArray  #: [SI] `columns.PAIR_OUTPUTS`, shape (n, pairs, outputs)
    outcomes: NDArray[np.int8]  #: shape (n,)


class Points:
    """Kernel results of a series of points together with what went in, as named arrays."""

    def __init__(self, design: Design, values: Values, given: KernelResults) -> None:
        self.design = design
        self.values = values
        self.outcomes = given.outcomes
        self._results: dict[str, FloatArray] = dict(zip(columns.OUTPUTS, given.results.T, strict=True))
        self._pairs: dict[str, dict[str, FloatArray]] = {
            pair.name: dict(zip(columns.PAIR_OUTPUTS, given.pair_results[:, p].T, strict=True))
            for p, pair in enumerate(design.pairs)
        }

    def __getitem__(self, name: str) -> FloatArray:
        """A column of the kernel's results [SI]."""
        return self._results[name]

    def of_pair(self, pair: str, name: str) -> FloatArray:
        """A column of a pair's results [SI]."""
        return self._pairs[pair][name]

    @property
    def burns(self) -> bool:
        """Whether a flame heats the gas."""
        return self.design.propellants.burns

    def where_numbered(self, values: ArrayLike) -> FloatArray:
        """What is known before the flow is solved, at each point; NaN where the point carries no numbers [SI]."""
        return np.where(self.outcomes <= NO_CONTACT, values, np.nan)

    def value(self, address: str) -> FloatArray:
        """An input [SI]."""
        return np.asarray(self.values[address], dtype=np.float64)

    def of_electrodes(self, pair: str, key: str) -> FloatArray:
        """An input of a pair [SI]; zero where the study has none (a load's voltage, say)."""
        return np.asarray(self.values.get(f"electrodes.{pair}.{key}", 0.0), dtype=np.float64)

    def at_middle(self, pair: str, side: str) -> FloatArray:
        """Gap or width of the channel at a pair's middle [m]."""
        x = self.of_electrodes(pair, "start") + 0.5 * self.of_electrodes(pair, "length")
        at_inlet, at_outlet = self.value(f"channel.{side}_in"), self.value(f"channel.{side}_out")
        return np.asarray(at_inlet + (at_outlet - at_inlet) / self.value("channel.length") * x)

    def current(self, pair: str) -> FloatArray:
        """Current at a pair's terminals, leak included [A]."""
        return np.asarray(self.of_pair(pair, "plasma_current") + self.of_pair(pair, "leak_current"))

    def electrical_power(self, pair: str) -> FloatArray:
        """Power at a pair's terminals [W], positive when the circuit feeds the stage."""
        return self.of_pair(pair, "terminal_voltage") * self.current(pair)

    def injected(self) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Fuel, oxidizer, seed compound and carrier water per kilogram injected [-]."""
        return propellant.injected_fractions(
            mixture_ratio=self.value("gas.mixture_ratio"),
            seed_fraction=self.value("gas.seed_fraction"),
            seed_water=self.value("gas.seed_water"),
            seed=self.design.propellants.seed,
        )
