"""Whether the stage pays in flight, in plain words: the verdict first, then where it comes from and what would help."""

from collections.abc import Iterator
from typing import Final

from explorer import registry
from explorer.page.words import listed, percent, percent_with_sampling, share_with_sampling
from explorer.questions.flight.changes import break_even_words, change_words
from explorer.questions.flight.flight import Flight
from explorer.questions.flight.names import amount, ends, figures_of, label, plan_of, taken

_VERDICTS: Final = {
    "pays": "The stage pays",
    "doesn't pay": "The stage doesn't pay",
    "not decided": "Whether the stage pays is not decided",
}

#: Most inputs named one by one.
_FEW: Final = 3


def plain_words(found: Flight) -> tuple[str, ...]:
    """Return what the flight says, one matter an item, the verdict first."""
    return tuple(_words(found))


def _words(found: Flight) -> Iterator[str]:
    yield verdict_words(found)
    yield steps_words(found)
    plan = plan_of(found.study)
    if plan.has_extraction:
        yield extraction_words(found)
    if plan.has_acceleration:
        yield acceleration_words(found)
        yield break_even_words(found)
    yield change_words(found)
    if (words := drivers_words(found)) is not None:
        yield words


def verdict_words(found: Flight) -> str:
    """Return whether the stage pays, what it adds to the apogee, and the chance that it adds anything."""
    without, whole = (figures_of(found.compared, "apogee", case) for case in ("without", "with"))
    less = figures_of(found.differences, "apogee", "with")
    more = "more" if less["mean"] > 0 else "less"
    size = {**less, "mean": abs(less["mean"])}
    return (
        f"{_VERDICTS[found.verdict]}. With it the apogee is {amount('apogee', whole)} instead of"
        f" {amount('apogee', without)}: {amount('apogee', size)} {more} (one standard uncertainty), the difference 19"
        f" times in 20 between {ends('apogee', less)}. The chance that it flies higher with the stage is"
        f" {_chance(found)}."
    )


def _chance(found: Flight) -> str:
    value, error = float(found.chance.value), float(found.chance.standard_error)
    if value in (0.0, 1.0):
        which = "no" if value == 0.0 else "every"
        return f"{value:g} ({which} scenario of {found.samples} does)"
    return share_with_sampling(value, error)


def steps_words(found: Flight) -> str:
    """Return where the difference comes from, step by step."""
    carried = amount("carried_mass", figures_of(found.stage, "carried_mass"))
    steps = {
        "channel": "with the channel in place of the plain nozzle",
        "mass": f"with the stage's {carried} on board",
        "extraction": "with power taken out",
        "acceleration": "with power put in",
    }
    parts = [
        f"by {amount('apogee', figures_of(found.steps, step, 'apogee'))} {words}"
        for step, words in steps.items()
        if taken(found, step)
    ]
    return f"Step by step the apogee changes {listed(parts)}."


def extraction_words(found: Flight) -> str:
    """Return what is taken out, whether it is what was wanted, and what a store would weigh that gives the same."""
    power, energy = (figures_of(found.stage, name) for name in ("power_out", "energy_out"))
    same, carried = (figures_of(found.stage, name) for name in ("equal_store_mass", "carried_mass"))
    return (
        f"Taken out: {amount('power_out', power)}, {amount('energy_out', energy)} in all.{_wanted(found)} A store and"
        f" its supply that give the same weigh {amount('equal_store_mass', same)}, the stage"
        f" {amount('carried_mass', carried)}."
    )


def _wanted(found: Flight) -> str:
    """How often the power wanted is there; nothing where none is wanted."""
    wanted, chance = plan_of(found.study).values.get("flight.power_wanted"), found.chance_of_power
    if wanted is None or chance is None:
        return ""
    centre = registry.quantity("flight.power_wanted").shown(
        wanted if isinstance(wanted, float) else wanted.centre
    )
    share = percent_with_sampling(float(chance.value), float(chance.standard_error))
    return f" The {centre} wanted are there in {share} of flights."


def acceleration_words(found: Flight) -> str:
    """Return what is put in, and what impulse, velocity and height that brings."""
    power, energy = (figures_of(found.stage, name) for name in ("power_in", "energy_in"))
    brought = [
        amount(name, figures_of(found.steps, "acceleration", name))
        for name in found.steps.columns.unique(level="design")
    ]
    return (
        f"Put in: {amount('power_in', power)}, {amount('energy_in', energy)} in all. With the stage's mass on board"
        f" that brings {listed(brought)} of apogee, burn-out velocity and impulse."
    )


def drivers_words(found: Flight) -> str | None:
    """Return what the difference hangs on most; None where that can't be told."""
    sentences = []
    for name, what in (
        ("apogee", "How large the difference is"),
        ("payable_mass", "How much acceleration pays for"),
    ):
        if name not in found.drivers:
            continue
        leading = found.drivers[name].head(_FEW).to_dict("records")
        rows = [f"{label(row)} ({percent(row['first'])})" for row in leading if row["first_low"] > 0]
        if rows:
            sentences.append(f"{what} hangs most on {listed(rows)}.")
    return " ".join(sentences) or None
