"""Which inputs the words of a study call for or rule out."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from explorer.registry import PULSED_SOURCES, Quantity
from explorer.studyfile.document import Document, at
from explorer.studyfile.error import StudyError


@dataclass(frozen=True)
class Need:
    """Whether an input must stand in a study, may, or does not fit it."""

    needed: bool
    reason: str = ""  #: why it is needed
    misfit: str = ""  #: why it does not fit; "" where it may stand
    unused: str = ""  #: why it is left out where it stands, with a note; "" where it is used

    def check(self, address: str, *, stated: bool) -> None:
        """Refuse an input that is missing, or that stands where it does not fit."""
        if self.needed and not stated:
            raise StudyError(f'missing key "{address}"{self.reason}', address)
        if self.misfit and stated:
            raise StudyError(f'"{address}" does not fit: {self.misfit}', address)


def custom(what: str, chosen: str | None) -> Need:
    """Return the need for what describes a fuel or an oxidiser of the study's own."""
    if chosen == "custom":
        return Need(True, reason=f': gas.{what} is "custom"')
    return Need(False, misfit=f'gas.{what} is "{chosen}", not "custom"')


def need_of(quantity: Quantity, choices: Mapping[str, str]) -> Need:
    """Return whether the study must, may or must not state a numeric input."""
    head, _, last = quantity.address.rpartition(".")
    if quantity.address == "gas.oxidizer_concentration":
        if choices["gas.oxidizer"] == "hydrogen peroxide":
            return Need(True, reason=': the oxidiser is "hydrogen peroxide"')
        return Need(False, misfit=f'the oxidiser is "{choices["gas.oxidizer"]}"')
    if head in ("gas.custom_fuel", "gas.custom_oxidizer"):
        what = head.removeprefix("gas.custom_")
        need = custom(what, choices[f"gas.{what}"])
        return Need(need.needed and last != "density", need.reason, need.misfit)
    if head.startswith("magnet"):
        return _need_of_magnet(quantity, head, choices["magnet.kind"])
    if head.startswith("electrodes.") and head.count(".") == 2:  # a pair may be called "source"
        return _need_of_source(last, choices[f"{head}.kind"])
    if head == "mass":
        return _need_of_mass(last, choices["magnet.kind"])
    if quantity.address == "gas.trace_alkali":
        seeded = "" if choices["gas.seed"] == "none" else f"the gas is seeded with {choices['gas.seed']}"
        flows = "it is for a stated mixture, not for [gas.flows]" if choices.get("gas.kind") == "fed" else ""
        return Need(False, misfit=seeded or flows)
    if quantity.address == "gas.burn_time":
        return Need(False)
    if quantity.address in ("gas.recombination_factor", "nozzle.length") or last == "pair_energy":
        return _need_of_relaxing(quantity.address, choices)
    if head.startswith("electrodes."):
        if last in ("erosion", "root_share", "allowed_depth") and f"{head}.material" not in choices:
            return Need(False, misfit="the pair's material is not stated")
        return _need_of_layer(quantity, last, choices[f"{head}.layer"], choices[f"{head}.source.kind"])
    return Need(quantity.default is None and head != "ambient")


def _need_of_relaxing(address: str, choices: Mapping[str, str]) -> Need:
    """Return the need for what concerns how electrons relax; recombination counts in computed layers too."""
    if choices.get("gas.ionization") == "relaxing":
        return Need(False)
    misfit = 'gas.ionization is "equilibrium"'
    if address == "gas.recombination_factor":
        computed = "computed" in (word for own, word in choices.items() if own.endswith(".layer"))
        unused = "" if computed else f"{misfit} and no pair's layers are computed"
        return Need(False, unused=unused)
    return Need(False, misfit=misfit)


def need_of_table(address: str, document: Document) -> Need | None:
    """Return the need for what another key of the document calls for; None for other addresses.

    All of [preionizer] where that stands; of magnet blocks that warm how long and at which heat capacity.
    """
    warms = at(document, "magnet.blocks.heat_leak") is not None
    if address == "magnet.blocks.heat_capacity" and not warms:
        return Need(False, misfit="magnet.blocks.heat_leak is not stated")
    if address == "gas.burn_time" and warms:
        return Need(True, reason=": magnet.blocks.heat_leak flows as long")
    if not address.startswith("preionizer."):
        return None
    return Need("preionizer" in document, reason=": the study has a [preionizer]")


def _need_of_magnet(quantity: Quantity, head: str, kind: str) -> Need:
    if head == "magnet":
        return Need(kind == "uniform")
    if head != f"magnet.{kind}":
        return Need(False, misfit=f"the study has no table [{head}]")
    may = (".remanence", ".position", ".heat_leak")
    optional = quantity.default is not None or quantity.address.endswith(may)
    return Need(not optional)


#: What a source must have, and what it may have.
_OF_SOURCE: Final = {
    "supply": (frozenset({"voltage"}), frozenset({"current_limit", "resistance"})),
    "load": (frozenset({"resistance"}), frozenset()),
    "coil": (frozenset({"peak_voltage", "energy", "rate", "inductance", "resistance"}), frozenset()),
    "capacitor": (
        frozenset({"voltage", "capacitance", "inductance", "resistance"}),
        frozenset({"rate", "charger_power", "pulse_length"}),
    ),
}


def _need_of_source(key: str, kind: str) -> Need:
    needed, possible = _OF_SOURCE[kind]
    if key in needed or key in possible:
        return Need(key in needed, reason=f": a {kind} has one")
    return Need(False, misfit=f"a {kind} has no {key.replace('_', ' ')}")


#: What only a pair with computed layers has.
_COMPUTED: Final = frozenset(
    {
        *("wall_temperature", "work_function", "layer_factor", "electron_lag", "ion_factor", "cathode_share"),
        *("contact_current", "strike_voltage", "strike_share", "dielectric_factor", "arc_fall", "arc_field"),
        "shape_factor",
    }
)


#: What only a pair on a coil or a capacitor has, and what it has with stated layers too.
_PULSED: Final = frozenset({"glow_fall", "glow_field", "discharge_carried"})
_DISCHARGE: Final = frozenset(
    {"contact_current", "dielectric_factor", "shape_factor", "arc_fall", "arc_field"}
)


def _need_of_layer(quantity: Quantity, key: str, layer: str, source: str) -> Need:
    pulsed = source in PULSED_SOURCES
    if key in _PULSED and not pulsed:
        return Need(False, misfit=f"the pair's source is a {source}; {key} is for a coil or a capacitor")
    if key in _COMPUTED and layer != "computed" and not (pulsed and key in _DISCHARGE):
        return Need(False, unused="the pair's layers are stated")
    if key == "drop_resistance" and layer == "computed":
        return Need(False, unused="the pair's layers are computed")
    if key in ("erosion", "shape_factor"):
        return Need(False)
    return Need(quantity.default is None and key != "wall_temperature")


def _need_of_mass(key: str, kind: str) -> Need:
    if key == "magnet" and kind == "blocks":
        return Need(False, misfit="the mass of blocks follows from their size and mass.magnet_density")
    if key in ("magnet_density", "yoke_thickness", "yoke_density") and kind != "blocks":
        return Need(False, misfit="the study has no table [magnet.blocks]: state mass.magnet, yoke and all")
    return Need(False)
