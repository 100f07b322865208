"""Why nothing happens where nothing happens: which voltage falls short of which."""

from explorer import registry
from explorer.questions.solve.point import Point

_VOLTAGE = registry.quantity("terminal_voltage")


def why_no_current(point: Point, pair: str) -> str | None:
    """Return in a sentence why no current flows through a pair's gas; None where it flows."""
    if point.contact(pair):
        return None
    values, found = point.study.central(), point.quantities
    head = f"electrodes.{pair}"
    where = "" if len(point.study.pairs) == 1 else f"Pair {pair}: "
    threshold, terminal = found[f"{head}.threshold_voltage"], found[f"{head}.terminal_voltage"]
    if not values["gas.conductivity_factor"] * values["gas.nozzle_lag"] > 0.0:
        return f"{where}no current flows: gas.conductivity_factor × gas.nozzle_lag is 0, the gas does not conduct."
    if point.study.mode == "extraction":
        return where + _generator(point, pair)
    supply = values[f"{head}.source.voltage"]
    hold = f"the {_volts(threshold, supply)} that the moving gas and the electrodes' drop hold against it"
    if supply <= threshold:
        return (
            f"{where}no current flows through the gas: the supply's {_volts(supply, threshold)} is below {hold}."
            f" Raise {head}.source.voltage above that, or lower the field or the drop."
        )
    limit, leak = values[f"{head}.source.current_limit"], values[f"{head}.leak_conductance"]
    held = f"{where}no current flows through the gas: the leak along the walls"
    if leak * terminal >= limit * (1.0 - 1e-9):
        amperes = registry.quantity("current").shown(limit)
        return (
            f"{held} takes the whole {amperes} of the supply's current limit and holds the terminals at"
            f" {_volts(terminal, threshold)}, below {hold}. Raise the limit or stop the leak."
        )
    return (
        f"{held} pulls the supply's {_VOLTAGE.shown(supply)} down to {_volts(terminal, threshold)}, below {hold}."
        f" Raise {head}.source.voltage, lower its resistance or stop the leak."
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


def contact_words(point: Point) -> tuple[str, ...]:
    """Return a sentence for every pair through which no current flows."""
    return tuple(
        sentence[0].upper() + sentence[1:]
        for pair in point.study.pairs
        if (sentence := why_no_current(point, pair)) is not None
    )
