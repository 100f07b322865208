"""A pair on a coil or a capacitor in words: whether its pulses spark, what each is worth, and what they come to."""

import math

from explorer import registry
from explorer.questions.solve.point import Point
from explorer.stage.columns import ARC, SPARK


def pulses_words(point: Point, pair: str) -> str:
    """Return how a pulsed source's current flows, what a pulse delivers, and what that is on average."""
    head, values = f"electrodes.{pair}", point.study.central()
    kind = point.study.choices[f"{head}.source.kind"]
    form = point.quantities[f"{head}.contact"]
    how = f"the gas loads the {kind}, whose current flows diffusely"
    if form in (SPARK, ARC):
        how = "sparks jump" if form == SPARK else f"the {kind} burns an arc"
    rate = values.get(f"{head}.source.rate")
    many = "once in the firing" if rate is None else registry.quantity(f"{head}.source.rate").spoken(rate)
    each = (
        f"each {_shown(point, pair, 'pulse_charge')} and {_shown(point, pair, 'pulse_impulse')},"
        f" {_shown(point, pair, 'pulse_gas_heat')} into the gas and"
        f" {_shown(point, pair, 'pulse_electrode_energy')} into the electrodes"
    )
    mean = (
        f"On average {_shown(point, pair, 'plasma_current')} and {_shown(point, pair, 'lorentz_force')} for"
        f" {_shown(point, pair, 'source_power')}"
    )
    return f"{how}, {many}, {each}. {mean}.{_droop(point, pair, rate)}{_between(point, pair, rate)}"


def _droop(point: Point, pair: str, rate: float | None) -> str:
    """How far a capacitor's voltage falls in a pulse, in a sentence with a blank before it."""
    head = f"electrodes.{pair}"
    if point.study.choices[f"{head}.source.kind"] != "capacitor":
        return ""
    full, end = point.study.central()[f"{head}.source.voltage"], point.quantities[f"{head}.end_voltage"]
    volts = registry.quantity("end_voltage")
    when = "in the firing" if rate is None else "each time"
    return f" The capacitor falls from {volts.spoken(full)} to {volts.spoken(end)} {when}."


def _between(point: Point, pair: str, rate: float | None) -> str:
    """How many pulses gas meets on its way through, in a sentence with a blank before it."""
    if rate is None:
        return ""
    met = point.quantities[f"electrodes.{pair}.pulses_in_passage"]
    return f" While gas passes, {met:.2g} pulses come (f·L/u)."


def no_pulses_words(point: Point, pair: str) -> str:
    """Return which voltage or current of a pulsed source falls short of which."""
    head, values, found = f"electrodes.{pair}", point.study.central(), point.quantities
    kind = point.study.choices[f"{head}.source.kind"]
    peak = values[f"{head}.source.peak_voltage" if kind == "coil" else f"{head}.source.voltage"]
    volts, breaks = registry.quantity("striking_voltage"), found[f"{head}.striking_voltage"]
    if math.isfinite(breaks) and peak < breaks:
        needed = f"the {volts.spoken(breaks)} at which the gap breaks down"
        short = f"the {kind}'s {volts.spoken(peak)} does not reach {needed}"
    else:
        short = f"the {kind} with its {volts.spoken(peak)} starts no discharge"
    leak = found[f"{head}.leak_current"]
    lost = (
        f" What it gives leaks along the walls, {registry.quantity('current').spoken(leak)} on average."
        if leak
        else ""
    )
    return f"no current flows through the gas: {short}, and diffusely too little flows to count as contact.{lost}"


def _shown(point: Point, pair: str, name: str) -> str:
    return registry.quantity(name).spoken(point.quantities[f"electrodes.{pair}.{name}"])
