"""A flight as tables: with against without, where the difference comes from, what the stage weighs, what drives it."""

from collections.abc import Sequence
from typing import Final

from explorer import registry
from explorer.page.document import Table
from explorer.page.inputs import origin_words
from explorer.page.text import bar
from explorer.page.words import figure_with_sampling, percent
from explorer.questions.flight.figures import STEPPED, Driver
from explorer.questions.flight.flight import Flight, quantity_of
from explorer.questions.flight.names import MODE_WORDS, STEP_WORDS, amount, ends, fitting, label, taken
from explorer.study.contrasts import Difference, Figures

#: Share below which a row is not printed on its own [-], and characters of a whole bar.
SMALLEST_SHOWN: Final = 0.01

_BAR: Final = 10

_BREAK_EVEN: Final = (
    "payable_mass",
    "break_even_specific_power",
    "break_even_specific_energy",
    "break_even_gain",
)


def compared_table(found: Flight) -> Table:
    """Return every quantity without and with the stage."""
    rows = [
        (quantity_of(name).words, amount(name, own.without), amount(name, own.whole))
        for name, own in found.figures.items()
    ]
    return Table(tuple(rows), ("", "without the stage", "with the stage"))


def differences_table(found: Flight) -> Table:
    """Return how much more of every quantity there is with the stage, with its interval and sampling error."""
    rows = [_mean_and_ends(name, own.difference) for name, own in found.figures.items()]
    return Table(tuple(rows), ("", "difference with the stage, mean", "19 times in 20"))


def steps_table(found: Flight) -> Table:
    """Return what each step from without to with the stage adds."""
    rows = [
        (STEP_WORDS[step], *(amount(name, own[name]) for name in STEPPED))
        for step, own in found.of_steps.items()
        if taken(found, step)
    ]
    return Table(tuple(rows), ("", *(quantity_of(name).words for name in STEPPED)))


def stage_table(found: Flight) -> Table:
    """Return powers, energies and masses of the stage, each with its interval."""
    rows = [
        _mean_and_ends(name, own)
        for name, own in found.of_stage.items()
        if name not in _BREAK_EVEN and own.is_told and (float(own.high) or float(own.low))
    ]
    return Table(tuple(rows), ("", "mean", "19 times in 20"))


def names_table(found: Flight) -> Table:
    """Return what the names of results mean, for a reviewer."""
    return Table(
        tuple(
            (quantity_of(name).words, quantity_of(name).sentence)
            for name in (*found.figures, *found.of_stage)
        )
    )


def break_even_table(found: Flight) -> Table | None:
    """Return at what acceleration just pays; None without acceleration."""
    if not found.of_stage["payable_mass"].is_told:
        return None
    rows = []
    for name in _BREAK_EVEN:
        own = found.of_stage[name]
        none = percent(own.missing, 3) if own.missing > 0 else "0 %"
        told = _mean_and_ends(name, own) if own.is_told else (quantity_of(name).words, "none", "")
        rows.append((*told, none))
    return Table(tuple(rows), ("", "mean", "19 times in 20", "none in"), frozenset({3}))


def drivers_table(drivers: Sequence[Driver]) -> tuple[Table, int]:
    """Return ranked rows with bars from zero, and how many small ones are left out."""
    shown = [driver for driver in drivers if float(driver.share) >= SMALLEST_SHOWN]
    rows = []
    for driver in shown:
        share = float(driver.share)
        half_width, length = driver.share.interval[1] - share, share / float(shown[0].share)
        cell = f"{100 * share:.1f} (±{100 * half_width:.1f})"
        rows.append((label(driver), driver.row.part, cell, bar(length, length=_BAR, of_it=length)))
    return Table(tuple(rows), ("", "", "share %", ""), frozenset({2})), len(drivers) - len(shown)


def phases_table(found: Flight) -> Table:
    """Return the phases of the burn."""
    rows = tuple(
        (
            phase.name,
            f"{phase.start:g} to {phase.end:g} s",
            MODE_WORDS[phase.mode],
            percent(phase.throttle, 3),
            "; ".join(f"{address} = {written}" for address, written in phase.settings.items()),
        )
        for phase in found.plan.phases
    )
    return Table(rows, ("phase", "when", "circuit", "throttle", "set in the study"))


def vehicle_table(found: Flight) -> Table:
    """Return the vehicle's values and how each was read."""
    rows = []
    for address, value in found.plan.values.items():
        quantity = registry.quantity(address)
        origin = origin_words(found.plan.origin.get(address, "yours"))
        if isinstance(value, float):
            centre, words = value, "exact" if origin == "stated" else origin
        else:
            centre, words = value.centre, value.words(quantity.scale)
        rows.append((address, quantity.shown(centre), origin, words))
    return Table(tuple(rows), ("key in the study", "central value", "origin", "read as"))


def _mean_and_ends(name: str, own: Figures | Difference) -> tuple[str, str, str]:
    """A row with a mean and its sampling error, and the interval."""
    if not own.is_told:
        return quantity_of(name).words, "not told", ""
    mean = figure_with_sampling(fitting(name, own), own.mean, None, own.standard_uncertainty, full=True)
    return quantity_of(name).words, mean, ends(name, own, last=" … ")
