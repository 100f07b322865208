"""Whether the stage pays in flight, in plain words: the verdict first, then where it comes from and what would help.

What a reader must be warned of: scenarios that don't fly, separation, warnings of the stage.
"""

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

import numpy as np

from explorer import registry
from explorer.analysis.scrambles import Estimate
from explorer.page.events import AT_ONCE, contact_lines
from explorer.page.words import AS_CALCULATED, listed, opened, percent, percent_with_sampling
from explorer.questions.flight.exhaust import Exhaust
from explorer.questions.flight.figures import STEPPED
from explorer.questions.flight.flight import Flight, quantity_of
from explorer.questions.flight.names import amount, ends, label, taken
from explorer.questions.flight.paths import Separation

_VELOCITY: Final = registry.quantity("exit_velocity")

_VERDICTS: Final = {
    "pays": "The stage pays",
    "doesn't pay": "The stage doesn't pay",
    "not decided": "Whether the stage pays is not decided",
}

#: What is said of each step.
_STEPS: Final = {
    "channel": "with the channel in place of the plain nozzle",
    "mass": "with the stage's {carried} on board",
    "extraction": "with power taken out",
    "acceleration": "with power put in",
}

#: Most inputs named one by one.
_FEW: Final = 3

#: Share of the scenarios from which on a warning is worth a sentence [-].
_WORTH_SAYING: Final = 0.01

#: How far the plain engine's flow may lie from the stage model's before it is said [-].
_FLOW_ROOM: Final = 0.05


def plain_words(found: Flight) -> Iterator[str]:
    """Yield what the flight says, one matter an item, the verdict first."""
    yield _verdict(found)
    carried = amount("carried_mass", found.of_stage["carried_mass"])
    parts = [
        f"by {amount('apogee', found.of_steps[step]['apogee'])} {words.format(carried=carried)}"
        for step, words in _STEPS.items()
        if taken(found, step)
    ]
    yield f"Step by step the apogee changes {listed(parts)}."
    if found.plan.has_extraction:
        yield _extraction(found)
    if found.plan.has_acceleration:
        yield _acceleration(found)
        yield break_even_words(found)
    yield _change(found)
    if drivers := list(_drivers(found)):
        yield " ".join(drivers)


def _verdict(found: Flight) -> str:
    """Whether the stage pays, what it adds to the apogee, and the chance that it adds anything."""
    apogee = found.figures["apogee"]
    less = apogee.difference
    more = "more" if float(less.mean) > 0 else "less"
    size = replace(less, mean=replace(less.mean, value=np.abs(less.mean.value)))
    return (
        f"{_VERDICTS[found.verdict]}. With it the apogee is {amount('apogee', apogee.whole)} instead of"
        f" {amount('apogee', apogee.without)}: {amount('apogee', size)} {more} (one standard uncertainty), 19 times"
        " in 20"
        f" a difference between {ends('apogee', less)}. Chance of flying higher with the stage:"
        f" {_chance(found.chance, found.samples)}."
    )


def _chance(chance: Estimate, scenarios: int) -> str:
    if float(chance) not in (0.0, 1.0):
        return percent_with_sampling(chance)
    return (
        f"{percent(float(chance))} ({'no' if float(chance) == 0.0 else 'every'} scenario of {scenarios} does)"
    )


def _amounts(found: Flight, *names: str) -> list[str]:
    """Figures of the stage, written."""
    return [amount(name, found.of_stage[name]) for name in names]


def _extraction(found: Flight) -> str:
    """What is taken out, whether it is what was wanted, and what a store would weigh that gives the same."""
    names = ("power_out", "energy_out", "equal_store_mass", "carried_mass")
    power, energy, same, carried = _amounts(found, *names)
    wanted, chance = found.plan.values.get("flight.power_wanted"), found.chance_of_power
    there = ""
    if wanted is not None and chance is not None:
        centre = wanted if isinstance(wanted, float) else wanted.centre
        shown = registry.quantity("flight.power_wanted").shown(centre)
        there = f" The {shown} required are there in {percent(float(chance))} of flights."
    return (
        f"Taken out: {power}, {energy} in all.{there} A store and supply that give the same weigh {same}, the stage"
        f" {carried}."
    )


def _acceleration(found: Flight) -> str:
    """What is put in, and what impulse, velocity and height that brings."""
    power, energy = _amounts(found, "power_in", "energy_in")
    brought = [amount(name, found.of_steps["acceleration"][name]) for name in STEPPED]
    return (
        f"Put in: {power}, {energy} in all. With the stage's mass on board that brings {listed(brought)} of apogee,"
        " burn-out velocity and impulse."
    )


def break_even_words(found: Flight) -> str:
    """Return what acceleration pays for, and at which specific power and energy it would pay for itself."""
    payable = found.of_stage["payable_mass"]
    if not payable.is_told:
        return "What mass acceleration pays for is not told: hardly any scenario flies with it."
    if not float(payable.high) > 0:
        return (
            "Acceleration pays for no mass at all: the current costs height. No specific power or energy changes"
            " that."
        )
    parts = ("magnet_mass", "yoke_mass", "channel_mass")
    heaviest = max(parts, key=lambda part: float(found.of_stage[part].mean))
    pays, alone, hardware, supply, store = _amounts(
        found, "payable_mass", heaviest, "hardware_mass", "flight_supply_mass", "flight_store_mass"
    )
    head = (
        f"Acceleration pays for {pays} at most; the {heaviest.removesuffix('_mass')} alone weighs {alone}, the"
        f" hardware in all {hardware}, the supply {supply}, the store {store}."
    )
    return " ".join([head, *_finite(found)])


def _finite(found: Flight) -> Iterator[str]:
    """At which specific power, and at which specific energy, it pays; or that none would do."""
    none = []
    for name, what, stated in (
        ("break_even_specific_power", "specific power of the supply", "mass.supply_specific_power"),
        ("break_even_specific_energy", "specific energy of the store", "mass.store_specific_energy"),
    ):
        own = found.of_stage[name]
        if not own.is_told:
            none.append(what)
            continue
        centre = registry.quantity(stated).shown(found.study.central()[stated])
        median = quantity_of(name).spoken(float(own.median))
        rest = f"; in {percent(own.missing)} of flights none would do" if own.missing > 0 else ""
        yield (
            f"With all else as stated it breaks even at a {what} of {median} (median; 19 times in 20 between"
            f" {ends(name, own)}{rest}), against {centre} stated."
        )
    if none:
        yield (
            f"No {listed(none, 'or')} is high enough: the rest of the stage alone weighs more than acceleration pays"
            " for."
        )


def _change(found: Flight) -> str:
    """What would have to change for the stage to pay, or what there is to spend where it does."""
    weightless = found.of_bounds["weightless"]
    height = amount("apogee", weightless)
    if found.verdict == "pays":
        return f"Without its mass the stage would add {height}: so much height its mass may cost."
    changes = list(_changes(found)) if found.plan.has_acceleration else []
    words = [f"To pay, {'; or '.join(changes)}."] if changes else []
    words.append(
        f"Even without its mass the stage changes the apogee by {height} (19 times in 20 between"
        f" {ends('apogee', weightless)})."
    )
    if "undragged" in found.of_bounds:
        undragged = amount("apogee", found.of_bounds["undragged"])
        words.append(f"If the power taken out removed all drag, the difference would be {undragged}.")
    return " ".join(words)


def _changes(found: Flight) -> Iterator[str]:
    gain, payable = found.of_stage["break_even_gain"], found.of_stage["payable_mass"]
    if not payable.is_told or not float(payable.high) > 0:
        return
    yield (
        "magnet, electrodes, channel, supply and store together must weigh no more than"
        f" {amount('payable_mass', payable)}"
    )
    if gain.is_told:
        factor = amount("break_even_gain", gain)  # as the table has it
        yield (
            f"the thrust gain, at the same power and mass, must be {factor} times what it is (19 times in 20"
            f" between {ends('break_even_gain', gain)} times)"
        )


def _drivers(found: Flight) -> Iterator[str]:
    """What the difference, and what acceleration pays for, depends on most; nothing where that isn't told."""
    for name, what in (
        ("apogee", "The difference in apogee"),
        ("payable_mass", "The mass that acceleration pays for"),
    ):
        leading = [driver for driver in found.driven.get(name, ())[:_FEW] if driver.share.interval[0] > 0]
        if leading:
            rows = [f"{label(driver)} ({percent(float(driver.share))})" for driver in leading]
            yield f"{what} depends most on {listed(rows)}."


def warnings_of(found: Flight) -> Iterator[str]:
    """Yield what a reader must be warned of: scenarios that don't fly, separation, warnings of the stage."""
    yield from _outcomes(found)
    if abs(found.flow_ratio - 1.0) > _FLOW_ROOM:
        yield (
            f"The plain engine's flow is {percent(found.flow_ratio, 3)} of what the stage model burns with the same"
            " chamber and throat: one of engine flow, throat diameter and chamber pressure is off."
        )
    if found.exhaust.apart:
        yield _exhaust(found.exhaust)
    for phase, separation in found.separations.items():
        yield _separation(phase, separation)
    for phase, contacts in found.contacts.items():
        for text in contact_lines(contacts, AT_ONCE, among="flights"):
            yield f"In {phase} {text[0].lower()}{text[1:]}"
    worth = [warned for warned in found.stage_warnings if float(warned.share) >= _WORTH_SAYING]
    for warning in dict.fromkeys(warned.warning for warned in worth):
        phases = [
            f"{warned.phase} ({percent(float(warned.share))} of flights)"
            for warned in worth
            if warned.warning == warning
        ]
        yield f"{opened(warning.title)} in {listed(phases)}. {warning.sentence} Shares are {AS_CALCULATED}."


def _exhaust(found: Exhaust) -> str:
    return (
        f"The plain engine's exhaust leaves at {_VELOCITY.spoken(found.engine)} in vacuum (engine thrust over engine"
        f" flow), that of the study's own stage with its circuit open at {_VELOCITY.spoken(found.stage)}:"
        f" {found.least:.2f} to {found.most:.2f} times as fast 19 times in 20, which the uncertain inputs do not"
        " explain."
        " Unless the engine has quite another nozzle, its thrust or its flow is off."
    )


def _outcomes(found: Flight) -> Iterator[str]:
    lost = found.ends["with"]["no_number"]
    if lost > 0:
        yield f"In {percent(lost)} of the scenarios the stage carries no number; they are left out and counted."
    for case, shares in found.ends.items():
        for outcome, words in (
            ("never_left", "doesn't rise when its engine starts"),
            ("fell_back", "falls back before burn-out"),
        ):
            if shares[outcome] > 0:
                counts = "; that counts as not paying, and has no apogee" if case == "with" else ""
                yield (
                    f"In {percent(shares[outcome])} of the scenarios the vehicle {words} {case} the stage{counts}."
                )


def _separation(phase: str, found: Separation) -> str:
    altitude = registry.quantity("ambient.altitude")
    told = found.up_to == found.up_to
    where = f" up to {altitude.spoken(found.up_to)} at central values" if told else ""
    return (
        f"In {phase} the flow likely separates at the stage's exit{where}, in {percent(found.share)} of flights (exit"
        " pressure under 0.4 of ambient, common practice): there its thrust is told too low; a smaller exit area ratio"
        " or a start higher up keeps the model in its range."
    )
