"""Design problems with a published optimum, each as a design space and an `Assess`; sources in optimisation.toml.

All formulas are from memory of the literature; that the published design gives the published optimum in them is
checked in test_design_space.py.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from explorer.analysis.search.design_space import Assess, Assessed, DesignSpace, Variable

Floats = NDArray[np.float64]

#: x of shape (n, variables) to the wish, shape (n,), and the margins, a list of shape (n,)
Formula = Callable[[Floats], tuple[Floats, list[Floats]]]


@dataclass(frozen=True)
class Problem:
    space: DesignSpace
    formula: Formula
    physical: Callable[[Floats], Floats] = lambda designs: designs  # lists by number to values

    @property
    def assess(self) -> Assess:
        def assessed(designs: Floats) -> Assessed:
            wish, margins = self.formula(self.physical(designs))
            return Assessed(wish[:, None], np.stack(margins, axis=1) if margins else np.empty((len(wish), 0)))

        return assessed


def ranges(*ends: tuple[float, float]) -> DesignSpace:
    return DesignSpace(tuple(Variable(f"x{i + 1}", low, high) for i, (low, high) in enumerate(ends)))


def welded_beam(x: Floats) -> tuple[Floats, list[Floats]]:
    """Weld thickness and length, beam height and width [in] to cost; load 6000 lbf at 14 in, steel."""
    h, length, t, b = x.T
    load, arm, e, g = 6000.0, 14.0, 30e6, 12e6
    radius = np.sqrt(length**2 / 4.0 + ((h + t) / 2.0) ** 2)
    polar = 2.0 * np.sqrt(2.0) * h * length * (length**2 / 12.0 + ((h + t) / 2.0) ** 2)
    primary = load / (np.sqrt(2.0) * h * length)
    secondary = load * (arm + length / 2.0) * radius / polar
    shear = np.sqrt(primary**2 + 2.0 * primary * secondary * length / (2.0 * radius) + secondary**2)
    bending = 6.0 * load * arm / (b * t**2)
    deflection = 4.0 * load * arm**3 / (e * t**3 * b)
    buckling = (
        4.013 * e * np.sqrt(t**2 * b**6 / 36.0) / arm**2 * (1.0 - t / (2.0 * arm) * np.sqrt(e / (4.0 * g)))
    )
    cost = 1.10471 * h**2 * length + 0.04811 * t * b * (14.0 + length)
    return cost, [
        1.0 - shear / 13_600.0,
        1.0 - bending / 30_000.0,
        b - h,
        1.0 - (0.10471 * h**2 + 0.04811 * t * b * (14.0 + length)) / 5.0,
        h - 0.125,
        1.0 - deflection / 0.25,
        buckling / load - 1.0,
    ]


def pressure_vessel(x: Floats) -> tuple[Floats, list[Floats]]:
    """Thickness of shell and heads, inner radius, length [in] to cost [$]; volume at least 1 296 000 in³."""
    shell, head, radius, length = x.T
    cost = (
        0.6224 * shell * radius * length
        + 1.7781 * head * radius**2
        + 3.1661 * shell**2 * length
        + 19.84 * shell**2 * radius
    )
    volume = np.pi * radius**2 * length + 4.0 / 3.0 * np.pi * radius**3
    return cost, [shell - 0.0193 * radius, head - 0.00954 * radius, volume / 1_296_000.0 - 1.0]


def tension_spring(x: Floats) -> tuple[Floats, list[Floats]]:
    """Wire and coil diameter [in], active coils to weight."""
    d, big, coils = x.T
    stress = (4.0 * big**2 - d * big) / (12_566.0 * (big * d**3 - d**4)) + 1.0 / (5108.0 * d**2)
    return (coils + 2.0) * big * d**2, [
        big**3 * coils / (71_785.0 * d**4) - 1.0,
        1.0 - stress,
        140.45 * d / (big**2 * coils) - 1.0,
        1.0 - (d + big) / 1.5,
    ]


def g06(x: Floats) -> tuple[Floats, list[Floats]]:
    a, b = x.T
    return (a - 10.0) ** 3 + (b - 20.0) ** 3, [
        ((a - 5.0) ** 2 + (b - 5.0) ** 2) / 100.0 - 1.0,
        1.0 - ((a - 6.0) ** 2 + (b - 5.0) ** 2) / 82.81,
    ]


def g08(x: Floats) -> tuple[Floats, list[Floats]]:
    a, b = x.T
    with np.errstate(divide="ignore", invalid="ignore"):
        wish = -(np.sin(2.0 * np.pi * a) ** 3) * np.sin(2.0 * np.pi * b) / (a**3 * (a + b))
    return wish, [b - a**2 - 1.0, a - 1.0 - (b - 4.0) ** 2]


def g24(x: Floats) -> tuple[Floats, list[Floats]]:
    a, b = x.T
    return -a - b, [
        2.0 + 2.0 * a**4 - 8.0 * a**3 + 8.0 * a**2 - b,
        36.0 + 4.0 * a**4 - 32.0 * a**3 + 88.0 * a**2 - 96.0 * a - b,
    ]


def plates(designs: Floats) -> Floats:
    """Return the two list entries as multiples of 1/16 in, from the first."""
    values = designs.copy()
    values[:, :2] = (designs[:, :2] + 1.0) / 16.0
    return values


SIXTEENTHS = (Variable("shell", entries=99), Variable("head", entries=99))

PROBLEMS = {
    "welded_beam": Problem(ranges((0.1, 2.0), (0.1, 10.0), (0.1, 10.0), (0.1, 2.0)), welded_beam),
    "pressure_vessel": Problem(
        ranges((0.0625, 6.1875), (0.0625, 6.1875), (10.0, 200.0), (10.0, 200.0)), pressure_vessel
    ),
    "tension_spring": Problem(ranges((0.05, 2.0), (0.25, 1.3), (2.0, 15.0)), tension_spring),
    "g06": Problem(ranges((13.0, 100.0), (0.0, 100.0)), g06),
    "g08": Problem(ranges((0.0, 10.0), (0.0, 10.0)), g08),
    "g24": Problem(ranges((0.0, 3.0), (0.0, 4.0)), g24),
    "pressure_vessel_plates": Problem(
        DesignSpace(
            (*SIXTEENTHS, Variable("radius", 10.0, 200.0), Variable("length", 10.0, 200.0)),
        ),
        pressure_vessel,
        plates,
    ),
}


def front(g: Callable[[Floats], Floats], second: Callable[[Floats], Floats]) -> Assess:
    """Return the two wishes f1 = x1 and f2 = g · second(f1/g) of Zitzler, Deb and Thiele, without limits."""

    def assessed(designs: Floats) -> Assessed:
        spread = g(designs)
        wishes = np.stack([designs[:, 0], spread * second(designs[:, 0] / spread)], axis=1)
        return Assessed(wishes, np.empty((len(designs), 0)))

    return assessed


def _spread(x: Floats) -> Floats:
    return np.asarray(1.0 + 9.0 * x[:, 1:].mean(axis=1))


ZDT = {
    "zdt1": front(_spread, lambda share: 1.0 - np.sqrt(share)),
    "zdt2": front(_spread, lambda share: 1.0 - share**2),
}
