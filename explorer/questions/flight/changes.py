"""What acceleration pays for, and what would have to change for the stage to pay, in plain words."""

from collections.abc import Iterator

from explorer import registry
from explorer.page.words import listed, percent
from explorer.questions.flight.flight import Flight
from explorer.questions.flight.names import amount, ends, figures_of, is_told, plan_of, quantity_of


def break_even_words(found: Flight) -> str:
    """Return what acceleration pays for, and at which specific power and energy it would pay for itself."""
    payable = figures_of(found.stage, "payable_mass")
    if not is_told(payable):
        return "What mass acceleration pays for can't be told: hardly any scenario flies with it."
    if not payable["high"] > 0:
        return (
            "Acceleration pays for no mass at all: the current costs height. No specific power or energy changes"
            " that."
        )
    heaviest = _heaviest(found)
    names = ("hardware_mass", "flight_supply_mass", "flight_store_mass")
    hardware, supply, store = (amount(name, figures_of(found.stage, name)) for name in names)
    head = (
        f"Acceleration pays for {amount('payable_mass', payable)} at most; {heaviest}, the hardware in all {hardware},"
        f" the supply {supply}, the store {store}."
    )
    return f"{head} {_finite(found)}"


def _heaviest(found: Flight) -> str:
    """The heaviest part of the hardware, by name."""
    parts = {name: figures_of(found.stage, name) for name in ("magnet_mass", "yoke_mass", "channel_mass")}
    name = max(parts, key=lambda part: parts[part]["mean"])
    return f"the {name.removesuffix('_mass')} alone weighs {amount(name, parts[name])}"


def _finite(found: Flight) -> str:
    """At which specific power, and at which specific energy, it pays; or that none would do."""
    told, none = [], []
    for name, what, stated in (
        ("break_even_specific_power", "specific power of the supply", "mass.supply_specific_power"),
        ("break_even_specific_energy", "specific energy of the store", "mass.store_specific_energy"),
    ):
        row = figures_of(found.stage, name)
        missing = float(row["missing"])
        if not is_told(row):
            none.append(what)
            continue
        centre = registry.quantity(stated).shown(found.study.central()[stated])
        median = quantity_of(name).shown(row["median"], 3)
        rest = f"; in {percent(missing)} of flights none would do" if missing > 0 else ""
        told.append(
            f"With all else as stated it breaks even at a {what} of {median} (median; 19 times in 20 between"
            f" {ends(name, row)}{rest}), against {centre} stated."
        )
    if none:
        told.append(
            f"No finite {listed(none, 'or')} would do: the rest of the stage alone weighs more than acceleration pays"
            " for."
        )
    return " ".join(told)


def change_words(found: Flight) -> str:
    """Return what would have to change for the stage to pay, or what there is to spend where it does."""
    weightless = figures_of(found.bounds, "weightless")
    if found.verdict == "pays":
        height = amount("apogee", weightless)
        return f"Without its mass the stage would add {height}: that much is there to be spent on it."
    changes = list(_changes(found)) if plan_of(found.study).has_acceleration else []
    words = [f"What would have to change: {'; or '.join(changes)}."] if changes else []
    words.append(
        f"Even weighing nothing the stage would change the apogee by {amount('apogee', weightless)} (19 times in 20"
        f" between {ends('apogee', weightless)})."
    )
    if "undragged" in found.bounds.index:
        undragged = amount("apogee", figures_of(found.bounds, "undragged"))
        words.append(
            f"Were the power taken out to do away with all drag, the difference would be {undragged}."
        )
    return " ".join(words)


def _changes(found: Flight) -> Iterator[str]:
    gain, payable = (figures_of(found.stage, name) for name in ("break_even_gain", "payable_mass"))
    if not is_told(payable) or not payable["high"] > 0:
        return
    yield (
        "magnet, electrodes, channel, supply and store together would have to weigh no more than"
        f" {amount('payable_mass', payable)}"
    )
    if is_told(gain):
        factor = quantity_of("break_even_gain").shown(gain["median"], 2)
        yield (
            f"the thrust gain, at the same power and mass, would have to be {factor} times what it is (19 times in 20"
            f" between {ends('break_even_gain', gain)} times)"
        )
