"""Tables of a card: what to set, what to read, loggers; and of a firing held against it."""

from collections.abc import Sequence
from typing import Any, Final

from explorer import registry
from explorer.page.document import Table
from explorer.page.words import between, percent
from explorer.questions.card.against import Against, Explanation
from explorer.questions.card.card import Band, Card, StepOfCard
from explorer.study.visibility import CARRIED
from explorer.studyfile import Study

#: What a team sets at the stand, in this order, as far as a study states it; pairs' sources come after.
_SET: Final = (
    "gas.flows.fuel",
    "gas.flows.fuel_orifice.upstream_pressure",
    "gas.flows.oxidizer",
    "gas.flows.oxidizer_orifice.upstream_pressure",
    "gas.flows.seed_solution",
    "gas.flows.seed_solution_orifice.upstream_pressure",
    "gas.chamber_pressure",
    "gas.mixture_ratio",
    "gas.seed_fraction",
    "gas.stagnation_temperature",
    "magnet.field",
)

#: What a team sets of a source.
_SOURCE: Final = (
    "voltage",
    "current_limit",
    "resistance",
    "peak_voltage",
    "charge_voltage",
    "capacitance",
    "rate",
)

#: Readings a second and in a step that show a step's course, and how often its fastest part is read; common practice,
#: no source.
_IN_A_STEP: Final[int] = 20
_PER_BANDWIDTH: Final[float] = 2.5

#: Room beyond the range in which 999 of 1000 firings read that a logger's range should leave.
_ROOM: Final[float] = 0.2


def step_name(step: StepOfCard) -> str:
    """Return what a step is called; a burn without steps is one."""
    return step.moment.name or "burn"


def settings_table(card: Card) -> Table:
    """Return what to set, a column for each step."""
    addresses = [a for a in _SET if any(a in step.moment.study.central() for step in card.steps)]
    for pair in card.study.pairs:
        every = [f"electrodes.{pair}.source.{key}" for key in _SOURCE]
        addresses += [a for a in every if any(a in step.moment.study.central() for step in card.steps)]
    changed = {a for step in card.steps for a in step.moment.settings if a not in addresses}
    addresses += sorted((a for a in changed if a != "mode"), key=registry.position)
    rows = [
        (registry.words_of(address), *(_setting(step.moment.study, address) for step in card.steps))
        for address in addresses
    ]
    if len({step.moment.study.mode for step in card.steps}) > 1:
        rows.insert(0, ("mode", *(step.moment.study.mode for step in card.steps)))
    rows.insert(0, ("seconds", *(_seconds(step.moment.seconds) for step in card.steps)))
    return Table(tuple(rows), ("set", *(step_name(step) for step in card.steps)), standing=1)


def _seconds(seconds: float | None) -> str:
    return "not stated" if seconds is None else f"{seconds:g} s"


def _setting(study: Study, address: str) -> str:
    """A setting as it is set, without what is unsure of it."""
    if address in study.choices:
        return study.choices[address]
    value = study.central().get(address)
    return "" if value is None else registry.quantity(address).shown(value, 4)


def readings_table(card: Card) -> Table:
    """Return what each instrument should read in each step."""
    rows = [
        (
            step_name(step),
            band.instrument.name,
            registry.words_of(band.quantity),
            registry.quantity(band.quantity).spoken(band.middle),
            range_words(band),
            contradiction(band),
        )
        for step in card.steps
        for band in step.bands
    ]
    head = ("step", "instrument", "reads", "expected", "19 in 20 between", "one firing in a thousand")
    return Table(tuple(rows), head, standing=2)


def range_words(band: Band) -> str:
    """Return the range in which 95 % of firings read."""
    if band.low != band.low:
        return "no number"
    return between(registry.quantity(band.quantity), band.low, band.high, band.span / 4)


def contradiction(band: Band) -> str:
    """Return what only one firing in a thousand reads."""
    if band.lowest != band.lowest:
        return ""
    quantity = registry.quantity(band.quantity)
    return f"below {quantity.spoken(band.lowest)}, above {quantity.spoken(band.highest)}"


def loggers_table(card: Card) -> Table:
    """Return which range and rate each instrument's logger needs."""
    rows = []
    shortest = min((s.moment.seconds for s in card.steps if s.moment.seconds is not None), default=None)
    for place, instrument in enumerate(card.firing.instruments):
        bands = [step.bands[place] for step in card.steps]
        quantity = registry.quantity(CARRIED.get(instrument.reads, instrument.reads))
        least, most = min(b.borne[0] for b in bands), max(b.borne[1] for b in bands)
        room = _ROOM * (most - least)
        beyond = max(band.beyond for band in bands)
        has = "not stated" if instrument.range is None else quantity.scale.span(*instrument.range, 3)
        if beyond >= 0.001:
            has += f", too small in {percent(beyond)}"
        rows.append(
            (
                instrument.name,
                f"{quantity.scale.readable(most).span(least - room, most + room, 2)}",
                has,
                _rate(instrument.bandwidth, shortest),
                "not stated" if instrument.rate is None else _hertz(instrument.rate),
            )
        )
    head = ("instrument", "range needed, from and to", "range it has", "readings a second needed", "it gives")
    return Table(tuple(rows), head, standing=1)


def _rate(bandwidth: float | None, shortest: float | None) -> str:
    needed = [_PER_BANDWIDTH * bandwidth] if bandwidth else []
    needed += [_IN_A_STEP / shortest] if shortest else []
    return _hertz(max(needed)) if needed else "not told: neither bandwidth nor seconds are stated"


def _hertz(rate: float) -> str:
    return f"{rate / 1e3:.3g} kHz" if rate >= 1e3 else f"{rate:.3g} Hz"


def held_table(found: Against) -> Table:
    """Return each reading beside what was predicted."""
    rows = []
    for own in found.held:
        quantity = registry.quantity(own.quantity)
        side = "inside" if own.inside else "OUTSIDE, " + ("above" if own.value > own.high else "below")
        rows.append(
            (
                own.step or "burn",
                registry.words_of(own.quantity),
                quantity.spoken(own.value, 4),
                between(quantity, own.low, own.high, own.standard_uncertainty),
                side,
            )
        )
    return Table(tuple(rows), ("step", "read", "value", "19 in 20 between", ""), standing=2)


def explanations_table(explanations: Sequence[Explanation]) -> Table:
    """Return what would explain the readings, best first."""
    rows = [(explained(own), taken(own), needed(own), fit_words(own)) for own in explanations]
    return Table(tuple(rows), ("what would explain it", "taken as", "would have to be", "readings then"))


def explained(own: Explanation) -> str:
    """Return what an explanation is about."""
    return own.slip or (
        own.address if own.address.startswith("instrument ") else registry.words_of(own.address)
    )


def taken(own: Explanation) -> str:
    """Return what the model takes."""
    if own.slip or own.address.startswith("instrument "):
        return ""
    return registry.quantity(own.address).spoken(own.taken)


def needed(own: Explanation) -> str:
    """Return what it would have to be."""
    if own.slip:
        return "so"
    if own.address.startswith("instrument "):
        return f"off by {percent(own.needed)} of its readings"
    quantity = registry.quantity(own.address)
    spread = max((own.high - own.low) / 4, 1e-300)
    return f"{quantity.spoken(own.needed)} ({between(quantity, own.low, own.high, spread, last=' to ')})"


def fit_words(own: Explanation) -> str:
    """Return how well the readings fit with it."""
    return f"this far off in {percent(own.fit)} of firings" if own.fit < 0.5 else "fit"


def data_of(found: Against) -> dict[str, Any]:
    """Return a firing held against its prediction for a JSON."""
    return {
        "firing": found.firing.name,
        "chance": found.chance,
        "contradicts": found.surprises,
        "readings": [{**own._asdict(), "inside": own.inside} for own in found.held],
        "explanations": [own._asdict() for own in found.explanations],
    }
