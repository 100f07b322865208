"""What the effect is worth: against the thrust, against a plain heater, against the power that it takes."""

from typing import Final

from explorer import registry
from explorer.page.words import percent
from explorer.questions.solve.point import Point

#: Share of the gain from which on a plain heater is said to give most of it.
_MOST: Final = 0.5

#: Share from which on it is said to give all of it; the two are differences of nearly equal thrusts.
_ALL: Final = 0.995


def worth_words(point: Point) -> tuple[str, ...]:
    """Return in sentences what switching the circuit on is worth."""
    if point.status == "no_contact":
        thrust = _shown(point, "thrust_open_circuit")
        return (f"Nothing changes: the thrust is {thrust} with the circuit on or off.",)
    if point.study.mode == "extraction":
        return _extraction(point)
    return _acceleration(point)


def _acceleration(point: Point) -> tuple[str, ...]:
    found = point.quantities
    gain, thrust, power = found["thrust_gain"], found["thrust_open_circuit"], found["electrical_power"]
    change = (
        f"Power on changes the thrust by {_shown(point, 'thrust_gain', 3)} of"
        f" {_shown(point, 'thrust_open_circuit')}: {percent(gain / thrust)}. It takes"
        f" {_shown(point, 'electrical_power')} at the terminals"
    )
    ideal = power / found["exit_velocity"]
    force = registry.quantity("thrust_gain")
    if not gain > 0.0:
        return (f"{change}. Nothing is gained.",)
    wholly = f"that power, turned wholly into jet power, would add {force.shown(ideal, 3)}"
    return f"{change}; {wholly}.", _against_heater(point)


def _against_heater(point: Point) -> str:
    gain, heating = point.quantities["thrust_gain"], point.quantities["thrust_gain_heating"]
    heater = (
        f"A plain heater of the same power in the gas ({_shown(point, 'gas_power')}), without any magnet, would"
        f" change it by {_shown(point, 'thrust_gain_heating', 3)}"
    )
    share = heating / gain
    if share >= _ALL:
        return f"{heater}: as much as the whole gain. The magnet adds nothing here."
    if share >= _MOST:
        return f"{heater}, {percent(share)} of that: most of the gain needs no magnet."
    if share > 0.0:
        return f"{heater}, {percent(share)} of that: the rest is the magnet's."
    return f"{heater}: the whole gain is the magnet's."


def _extraction(point: Point) -> tuple[str, ...]:
    found = point.quantities
    share = found["power_delivered"] / found["jet_power"]
    return (
        f"The stage delivers {_shown(point, 'power_delivered', 3)} into its load, {percent(share)} of the"
        f" {_shown(point, 'jet_power', 3)} in the jet. The thrust changes by {_shown(point, 'thrust_gain', 3)} of"
        f" {_shown(point, 'thrust_open_circuit')}.",
    )


def _shown(point: Point, address: str, digits: int = 4) -> str:
    return registry.quantity(address).shown(point.quantities[address], digits)
