"""An operating point in words: why nothing happens where nothing happens, what the effect is worth, what to heed.

The effect is set against the thrust, against a plain heater, and against the power that it takes.
"""

import math
from collections.abc import Iterator
from typing import Final

from explorer import registry
from explorer.page.words import STATUS_WORDS, percent
from explorer.questions.solve.point import Point
from explorer.questions.solve.pulse_words import no_pulses_words, pulses_words
from explorer.stage.columns import ARC, SPARK

#: Share of the gain from which on a plain heater is said to give most of it.
_MOST: Final = 0.5

#: Share from which on it is said to give all of it; the two are differences of nearly equal thrusts.
_ALL: Final = 0.995

_UNLIMITED: Final = "No current limit of the supply is stated: only its resistance holds the arc back."

_VOLTAGE: Final = registry.quantity("terminal_voltage")


def failure_words(point: Point) -> str:
    """Return why a point has no answer, and what to change."""
    sentence = next(status.sentence for status in registry.STATUSES if status.name == point.status)
    return f"{STATUS_WORDS[point.status]}: {sentence[0].lower()}{sentence[1:]}"


def warning_sentences(point: Point) -> tuple[str, ...]:
    """Return the warnings that a point carries, each with what to do."""
    return tuple(f"{title[0].upper()}{title[1:]}. {words}" for title, words in point.warnings.items())


def contact_words(point: Point) -> Iterator[str]:
    """Yield why no current flows through a pair, or the form in which one with computed layers conducts."""
    for pair in point.study.pairs:
        where = "" if len(point.study.pairs) == 1 else f"Pair {pair}: "
        sentence = _form(point, pair) if point.contact(pair) else _why_no_current(point, pair)
        if sentence:
            sentence = where + sentence
            yield sentence[0].upper() + sentence[1:]


def granted(point: Point) -> Iterator[str]:
    """Yield that contact is taken for granted, where some pair's layers are stated."""
    stated = [
        point.study.choices[f"electrodes.{pair}.layer"] == "stated"
        and point.study.choices[f"electrodes.{pair}.source.kind"] not in registry.PULSED_SOURCES
        for pair in point.study.pairs
    ]
    if point.status == "ok" and any(stated):
        yield (
            "That the current starts, and in what form, is taken for granted where a pair's cool layers are stated;"
            ' with layer = "computed" it is worked out from the electrodes\' temperature.'
        )


def _form(point: Point, pair: str) -> str:
    """In a sentence, how a pair with computed layers conducts and how far it is from an arc; "" with stated ones."""
    head = f"electrodes.{pair}"
    if point.study.choices[f"{head}.source.kind"] in registry.PULSED_SOURCES:
        return pulses_words(point, pair)
    if point.study.choices[f"{head}.layer"] == "stated":
        return ""
    found = point.quantities
    form, striking = found[f"{head}.contact"], found[f"{head}.striking_voltage"]
    amperes = _through_the_gas(point, pair)
    supply = point.study.central().get(f"{head}.source.voltage")
    if form == ARC:
        volts = registry.quantity("terminal_voltage").spoken(found[f"{head}.terminal_voltage"])
        unlimited = supply is not None and math.isinf(point.study.central()[f"{head}.source.current_limit"])
        burns = f"an arc burns: {amperes} at {volts}, taken as spread over the pair's length. It eats the electrodes."
        return f"{burns} {_UNLIMITED}" if unlimited else burns
    if form == SPARK:
        return f"sparks jump, but the source holds no arc; {amperes} flows diffusely."
    if supply is None or not math.isfinite(striking):
        return f"contact is diffuse, {amperes}."
    return (
        f"contact is diffuse, {amperes}; an arc strikes from {_volts(striking, supply)} at the source on, against"
        f" {_volts(supply, striking)} now."
    )


def _through_the_gas(point: Point, pair: str) -> str:
    """Return a pair's current through the gas, with what leaks past it where that is more."""
    plasma, leak = (
        point.quantities[f"electrodes.{pair}.{name}"] for name in ("plasma_current", "leak_current")
    )
    shown = [registry.quantity("current").shown(own, 3) for own in (plasma, leak)]
    if abs(leak) <= abs(plasma):
        return shown[0]
    return f"{shown[0]} through the gas beside {shown[1]} that leak along the walls"


def _why_no_current(point: Point, pair: str) -> str:
    """In a sentence, which voltage falls short of which."""
    values, found = point.study.central(), point.quantities
    head = f"electrodes.{pair}"
    threshold, terminal = found[f"{head}.threshold_voltage"], found[f"{head}.terminal_voltage"]
    if not values["gas.conductivity_factor"] * values["gas.nozzle_lag"] > 0.0:
        return "no current flows: conductivity factor × nozzle lag is 0, the gas does not conduct."
    if point.study.mode == "extraction":
        return _generator(point, pair)
    if point.study.choices[f"{head}.source.kind"] in registry.PULSED_SOURCES:
        return no_pulses_words(point, pair)
    supply = values[f"{head}.source.voltage"]
    source_voltage = registry.words_of(f"{head}.source.voltage")
    against = "the electrodes' drop hold against it"
    if point.study.choices[f"{head}.layer"] == "computed":
        least = registry.quantity("electrodes.*.contact_current").shown(values[f"{head}.contact_current"])
        against = f"the layers at the electrodes hold against {least}"
    hold = f"the {_volts(threshold, supply)} that the moving gas and {against}"
    if supply <= threshold:
        return (
            f"no current flows through the gas: the supply's {_volts(supply, threshold)} is below {hold}."
            f" Raise the {source_voltage} above that, or lower the field or the drop."
        )
    limit, leak = values[f"{head}.source.current_limit"], values[f"{head}.leak_conductance"]
    held = "no current flows through the gas: the leak along the walls"
    if leak * terminal >= limit * (1.0 - 1e-9):
        amperes = registry.quantity("current").shown(limit)
        return (
            f"{held} takes the whole {amperes} of the supply's current limit and holds the terminals at"
            f" {_volts(terminal, threshold)}, below {hold}. Raise the limit or stop the leak."
        )
    return (
        f"{held} pulls the supply's {_VOLTAGE.shown(supply)} down to {_volts(terminal, threshold)}, below {hold}."
        f" Raise the {source_voltage}, lower the source's resistance or stop the leak."
    )


def _generator(point: Point, pair: str) -> str:
    head = f"electrodes.{pair}"
    induced, drop = point.quantities[f"{head}.back_emf"], point.study.central()[f"{head}.voltage_drop"]
    if not induced > 0.0:
        return "no current flows: without a magnetic field the moving gas induces no voltage."
    return (
        f"no current flows: the {_volts(induced, drop)} that the moving gas induces does not overcome the"
        f" electrodes' drop of {_volts(drop, induced)}. More field, a wider gap or electrodes with less drop (hot,"
        " emitting) would help."
    )


def _volts(value: float, beside: float) -> str:
    """Return a voltage with as many digits as tell it from the one beside it."""
    digits = next((n for n in (2, 3, 4, 6) if f"{value:.{n}g}" != f"{beside:.{n}g}"), 6)
    return _VOLTAGE.shown(value, digits)


def worth_words(point: Point) -> Iterator[str]:
    """Yield in sentences what switching the circuit on is worth."""
    found = point.quantities
    gain, thrust = found["thrust_gain"], _shown(point, "thrust_open_circuit")
    if point.status == "no_contact":
        yield f"Nothing changes: the thrust is {thrust} with the circuit on or off."
    elif point.study.mode == "extraction":
        yield (
            f"The stage delivers {_shown(point, 'power_delivered')} into its load,"
            f" {percent(found['power_delivered'] / found['jet_power'])} of the {_shown(point, 'jet_power')} in the"
            f" jet. The thrust changes by {_shown(point, 'thrust_gain')} of {thrust}."
        )
    else:
        change = (
            f"Power on changes the thrust by {_shown(point, 'thrust_gain')} of {thrust}:"
            f" {percent(gain / found['thrust_open_circuit'])}. It takes {_shown(point, 'electrical_power')} at the"
            " terminals"
        )
        if not gain > 0.0:
            yield f"{change}. Nothing is gained."
            return
        ideal = registry.quantity("thrust_gain").spoken(found["electrical_power"] / found["exit_velocity"])
        yield f"{change}; turned wholly into jet power, it would add {ideal}."
        yield _against_heater(point)


def _against_heater(point: Point) -> str:
    gain, heating = point.quantities["thrust_gain"], point.quantities["thrust_gain_heating"]
    if math.isnan(heating):
        return (
            f"What a plain heater of the same power in the gas ({_shown(point, 'gas_power')}) would add is not known:"
            " its flow chokes, or leaves the gas data. So it is not known how much of the gain needs no magnet."
        )
    heater = (
        f"A plain heater of the same power in the gas ({_shown(point, 'gas_power')}), without any magnet, would"
        f" change it by {_shown(point, 'thrust_gain_heating')}"
    )
    share = heating / gain
    if share >= _ALL:
        return f"{heater}: as much as the whole gain. The magnet adds nothing here."
    if share >= _MOST:
        return f"{heater}, {percent(share)} of that: most of the gain needs no magnet."
    if share > 0.0:
        return f"{heater}, {percent(share)} of that: the rest is the magnet's."
    return f"{heater}: the whole gain is the magnet's."


def _shown(point: Point, address: str) -> str:
    return registry.quantity(address).spoken(point.quantities[address])
