"""How electrons relax as they drift with the gas: u dy/dx = [β(n_eq² − n_e²) + S]/ρ with y = n_e/ρ. Compiled.

A step of the march takes the closed form of constant surroundings (`physics.contact.recombination`) three times: those
of its start for a sixth of its length, of its middle for two thirds, of its end for a sixth. So infinitely fast
recombination is equilibrium at each station, none is frozen, densities stay positive however stiff the equation, and
the scheme is of second order. n_eq holds the nozzle's lag.
"""

from typing import Final, NamedTuple

from explorer.physics.compiled import compiled
from explorer.physics.contact.cool_layer import number_density
from explorer.physics.contact.recombination import (
    DISSOCIATIVE_EXPONENT,
    density_after,
    recombination_rate,
    three_body_rate,
)

#: Shares of a step for which the surroundings at its start, middle and end are taken; and of half a step.
AT_START: Final[float] = 1.0 / 6.0
AT_MIDDLE: Final[float] = 2.0 / 3.0
AT_END: Final[float] = 1.0 / 6.0
HALF_STEP: Final[float] = 0.25


class Drift(NamedTuple):
    """Electrons per mass of gas, as they drift along; not followed where they are in equilibrium."""

    felt: float  #: [1/kg] all that the conductivity feels
    made: float  #: [1/kg] the same, and what the pair's own discharge makes: felt behind it
    unaided: float  #: [1/kg] what there would be without pre-ioniser or any discharge


class Sources(NamedTuple):
    """What makes electrons besides the gas."""

    preionizer: float  #: [1/(m³ s)]
    discharge: float  #: [1/(m³ s)] of the pair here


class Surroundings(NamedTuple):
    """What electrons drift through at one place."""

    density: float  #: [kg/m³] of the gas
    velocity: float  #: [m/s]
    equilibrium: float  #: [1/m³] n_eq
    rate: float  #: [m³/s] β


class Relaxation(NamedTuple):
    """How a point's electrons relax, and where a pre-ioniser makes some."""

    on: bool  #: else they are in equilibrium everywhere
    alkali_share: float  #: [-] of the positive ions
    recombination_factor: float  #: [-]
    preionizer_start: float  #: [m]
    preionizer_end: float  #: [m]
    source: float  #: [1/(m³ s)] S within the pre-ioniser
    power_density: float  #: [W/m³] of it, heat


NO_DRIFT: Final = Drift(0.0, 0.0, 0.0)
NO_SOURCES: Final = Sources(0.0, 0.0)
NO_SURROUNDINGS: Final = Surroundings(0.0, 0.0, 0.0, 0.0)
EQUILIBRIUM: Final = Relaxation(False, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0)


@compiled
def surroundings_at(
    relaxation: Relaxation,
    pressure: float,
    temperature: float,
    density: float,
    velocity: float,
    equilibrium: float,
) -> Surroundings:
    """What electrons drift through.

    Parameters
    ----------
    pressure, temperature : float
        [Pa], [K]
    density : float
        [kg/m³]
    velocity : float
        [m/s]
    equilibrium : float
        [1/m³] electrons in equilibrium, the nozzle's lag included.
    """
    number = number_density(pressure, temperature)
    share, factor = relaxation.alkali_share, relaxation.recombination_factor
    if share == 1.0:  # the flame's ions take two transcendental functions
        rate = factor * three_body_rate(temperature, number)
    else:
        rate = recombination_rate(temperature, number, share, factor, DISSOCIATIVE_EXPONENT)
    return Surroundings(density, velocity, equilibrium, rate)


@compiled
def after(per_mass: float, here: Surroundings, time: float, source: float) -> float:
    """Electrons per mass [1/kg] after a time [s] in constant surroundings, with a source [1/(m³ s)]."""
    density = density_after(time, per_mass * here.density, here.equilibrium, here.rate, source)
    return float(density / here.density)


@compiled
def drifted(drift: Drift, here: Surroundings, length: float, sources: Sources) -> Drift:
    """Electrons after a length [m] in constant surroundings."""
    if length <= 0.0:
        return drift
    time = length / here.velocity
    felt = after(drift.felt, here, time, sources.preionizer)
    made, unaided = felt, felt
    if drift.made != drift.felt or sources.discharge > 0.0:
        made = after(drift.made, here, time, sources.preionizer + sources.discharge)
    if drift.unaided != drift.felt or sources.preionizer > 0.0:
        unaided = after(drift.unaided, here, time, 0.0)
    return Drift(felt, made, unaided)


@compiled
def only_felt(drift: Drift) -> Drift:
    """What the conductivity feels, the rest left aside within a step."""
    return Drift(drift.felt, drift.felt, drift.felt)


@compiled
def behind_pair(drift: Drift) -> Drift:
    """Electrons as they leave a pair: from here on all feel what its discharge made."""
    return Drift(drift.made, drift.made, drift.unaided)


@compiled
def share_preionized(relaxation: Relaxation, start: float, end: float) -> float:
    """Share of a stretch [m] that lies within the pre-ioniser [-]."""
    if relaxation.source == 0.0 and relaxation.power_density == 0.0:
        return 0.0
    within = min(end, relaxation.preionizer_end) - max(start, relaxation.preionizer_start)
    return float(max(within, 0.0) / (end - start))


@compiled
def in_equilibrium(density: float, equilibrium: float) -> Drift:
    """Electrons of a gas [kg/m³] that holds so many [1/m³] of them."""
    per_mass = equilibrium / density
    return Drift(per_mass, per_mass, per_mass)


@compiled
def to_middle(drift: Drift, first: Surroundings, sources: Sources, step: float) -> tuple[Drift, float]:
    """Electrons on their way to the middle of a step [m], and how far they still are from it [m]."""
    return drifted(only_felt(drift), first, HALF_STEP * step, sources), HALF_STEP * step


@compiled
def to_end(
    drift: Drift,
    first: Surroundings,
    middle: Surroundings,
    first_sources: Sources,
    sources: Sources,
    step: float,
) -> tuple[Drift, float]:
    """Electrons on their way to the end of a step [m], and how far they still are from it [m]."""
    drift = drifted(drift, first, AT_START * step, first_sources)
    return drifted(drift, middle, AT_MIDDLE * step, sources), AT_END * step
