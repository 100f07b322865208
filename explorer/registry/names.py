"""The words that a study may use: fuels, oxidisers, seeds, magnet grades, choices, statuses, warnings.

Names and sentences only; the data behind a fuel or a grade stand with the physics.
"""

from collections.abc import Mapping
from typing import Final

from explorer.registry.quantity import Choice, Kind, Named, PointWarning


def _named(kind: Kind, sentences: Mapping[str, str]) -> tuple[Named, ...]:
    return tuple(Named(name, kind, sentence) for name, sentence in sentences.items())


FUELS: Final[tuple[Named, ...]] = _named(
    "fuel",
    {
        "ethanol": "Ethanol, C2H6O, liquid; dissolves potassium hydroxide.",
        "methanol": "Methanol, CH4O, liquid; poisonous.",
        "isopropanol": "Isopropanol (2-propanol), C3H8O, liquid.",
        "propane": "Propane, C3H8, injected as a gas.",
        "methane": "Methane, CH4, injected as a gas.",
        "hydrogen": "Hydrogen, H2, injected as a gas; no carbon, so fewer electrons.",
        "kerosene": "Kerosene as the surrogate C12H23, liquid; batches differ.",
        "paraffin": "Paraffin wax, a solid fuel of hybrid motors.",
        "htpb": "Cured hydroxyl-terminated polybutadiene, a solid fuel of hybrid motors.",
        "custom": "A fuel of your own: formula and enthalpy of formation in [gas.custom_fuel].",
    },
)

OXIDIZERS: Final[tuple[Named, ...]] = _named(
    "oxidiser",
    {
        "oxygen": "Oxygen, O2, injected as a gas.",
        "nitrous oxide": "Nitrous oxide, N2O, injected as a gas; can decompose violently.",
        "air": "Air as 79 % nitrogen and 21 % oxygen by volume.",
        "hydrogen peroxide": "Hydrogen peroxide in water, liquid; its mass share is gas.oxidizer_concentration.",
        "custom": "An oxidiser of your own: [gas.custom_oxidizer], as for a fuel.",
    },
)

SEEDS: Final[tuple[Named, ...]] = _named(
    "seed",
    {
        "potassium carbonate": "K2CO3; about 1.1 kg dissolve in a kg of water at 20 °C.",
        "potassium nitrate": "KNO3, an oxidiser itself; dissolves poorly in cold water.",
        "potassium hydroxide": "KOH; dissolves in water and in ethanol; caustic.",
        "cesium carbonate": "Cs2CO3; ionises most easily, costs most.",
        "sodium carbonate": "Na2CO3; cheap, ionises least.",
        "cesium": "The metal itself, evaporated; burns in water and in air.",
        "potassium": "The metal itself, evaporated; burns in water and in air.",
        "sodium": "The metal itself, evaporated; burns in water.",
        "none": "No seed: the gas hardly conducts.",
    },
)

MAGNET_GRADES: Final[tuple[Named, ...]] = tuple(
    Named(name, "magnet grade", f"Neodymium magnet of grade {name}; loses 0.12 % of its field per kelvin.")
    for name in ("N35", "N38", "N40", "N42", "N45", "N48", "N50", "N52")
)

STATUSES: Final[tuple[Named, ...]] = _named(
    "status",
    {
        "ok": "The point was solved.",
        "no_contact": "A valid outcome: the voltage does not reach the gas, current and gain are 0.",
        "choked": (
            "The flow cannot stay supersonic in the channel: widen the outlet, shorten the channel or lower the "
            "current."
        ),
        "outside_table": (
            "The gas left the range of the property table or of the species data: narrow the inputs."
        ),
        "not_converged": "The solver did not find this point: report it with the study.",
        "not_fed": (
            "An orifice does not feed (its gas isn't choked, its liquid would flow back): raise the pressure upstream."
        ),
    },
)

MODES: Final = ("acceleration", "extraction")
LAYOUTS: Final = ("continuous", "segmented")
PHASES: Final = ("gas", "liquid", "solid")
LAYERS: Final = ("stated", "computed")
IONIZATIONS: Final = ("equilibrium", "relaxing")
MATERIALS: Final = ("copper", "graphite", "tungsten", "steel")
YES_OR_NO: Final = ("no", "yes")
#: How a pair conducts, by the number of the output `contact`.
CONTACT_FORMS: Final = ("none", "spark", "diffuse", "arc")
PULSED_SOURCES: Final = ("coil", "capacitor")
SHAPES: Final = ("plates", "rounded", "points")
SOURCES: Final = ("supply", "load", *PULSED_SOURCES)
SOURCE_OF_MODE: Final = {"acceleration": "supply", "extraction": "load"}


def _names(entries: tuple[Named, ...]) -> tuple[str, ...]:
    return tuple(entry.name for entry in entries)


CHOICES: Final[tuple[Choice, ...]] = (
    Choice("mode", MODES, "Power pushed in for thrust, or pulled out into a load."),
    Choice("gas.fuel", _names(FUELS), "The fuel."),
    Choice("gas.custom_fuel.formula", (), "Elements of one formula unit of a custom fuel, such as C2H6O."),
    Choice("gas.custom_fuel.phase", PHASES, "Phase in which the custom fuel is injected.", default="liquid"),
    Choice("gas.oxidizer", _names(OXIDIZERS), "The oxidiser."),
    Choice(
        "gas.custom_oxidizer.formula", (), "Elements of one formula unit of a custom oxidiser, such as N2O."
    ),
    Choice(
        "gas.custom_oxidizer.phase",
        PHASES,
        "Phase in which the custom oxidiser is injected.",
        default="liquid",
    ),
    Choice("gas.seed", _names(SEEDS), "The alkali compound that makes the gas conduct."),
    Choice(
        "gas.components",
        (),
        "Shares of a gas that is heated and not burnt, such as { N2 = 0.98, Cs = 0.02 }; an alkali metal is the seed.",
    ),
    Choice("gas.components_by", ("mole", "mass"), "What the shares of gas.components count.", default="mole"),
    Choice(
        "gas.ionization",
        IONIZATIONS,
        "Whether electrons are in equilibrium with the gas everywhere, or are made and recombine at finite rates, so"
        " that they lag behind it; a [preionizer] takes the latter.",
        default="equilibrium",
    ),
    Choice(
        "magnet.blocks.grade", _names(MAGNET_GRADES), "Grade of the magnet blocks, in place of a remanence."
    ),
    Choice(
        "magnet.profile.file",
        (),
        "A CSV file beside the study with the columns x and B, each with its unit in the head (x [mm], B [T]).",
    ),
    Choice(
        "electrodes.*.layout",
        LAYOUTS,
        "One electrode a wall, or segments each with its own isolated source at the same voltage.",
        default="continuous",
    ),
    Choice(
        "electrodes.*.layer",
        LAYERS,
        "Whether voltage drop and resistance of the cool gas layers are stated, and striking taken for granted, or "
        "computed from the electrodes' temperature, with what the cathode gives.",
        default="stated",
    ),
    Choice(
        "electrodes.*.material",
        MATERIALS,
        "What the electrodes are made of: how an arc eats them, how they warm, what they stand. Without it nothing is "
        "said of that.",
    ),
    Choice(
        "electrodes.*.struck",
        YES_OR_NO,
        "Whether something beside the pair's own source strikes its arc (an igniter, a torch, a fuse wire).",
        default="no",
    ),
    Choice(
        "electrodes.*.shape",
        SHAPES,
        "Shape of the electrodes' edges toward each other: points break down at a third to a half of the voltage; "
        "plates if absent.",
    ),
    Choice(
        "electrodes.*.source.kind",
        SOURCES,
        "What the pair is connected to: in acceleration a supply, a coil or a capacitor, in extraction a load.",
    ),
)

#: By code: title, and what it means and what to do. A warning's bit is its place; new ones go to the end.
_WARNINGS: Final = {
    "outside_gas_table": (
        "outside the gas data",
        "Part of the flow is hotter or colder than the species data reach (300 to 6000 K): change the inputs that lead "
        "there.",
    ),
    "constricted": (
        "constricted",
        "The discharge constricts into arcs: expect spots, erosion and unsteady current; lower the voltage or the "
        "current limit, or heat the electrodes.",
    ),
    "current_density": (
        "current density above the diffuse limit",
        "More than 1 A/cm² on cold metal tends to run as arcs (common practice, no source): enlarge the "
        "electrodes, limit the current, or use hot or emitting electrodes; where they glow, go by the form of contact.",
    ),
    "overheating": (
        "discharge tends to constrict",
        "The current heats the gas that carries it faster than the flow takes it away (overheating number above "
        "0.5): lower the current density or shorten the pair.",
    ),
    "hall_field": (
        "axial Hall field above 4 kV/m",
        "Above 40 V per cm along the wall, segments break down to their neighbours (Stanford HTGL, DTIC "
        "ADA025949, 1975): lower the current or the field, or make segments and insulators finer.",
    ),
    "neighbouring_pairs": (
        "voltage between neighbouring pairs above 4 kV/m",
        "The voltage between two pairs over the wall between them exceeds 40 V per cm (same source as the Hall "
        "field): move the pairs apart or bring their voltages together.",
    ),
    "hot_electrons": (
        "electrons hotter than the gas: current underestimated",
        "By their energy balance the electrons run more than 2 % hotter than the gas (an estimate: what they lose in a "
        "collision is known to a factor 3 to 5): the real current is larger; lower the current density or raise the "
        "pressure to come back into the model.",
    ),
    "separation": (
        "flow likely separated at the exit",
        "The exit pressure is under 0.4 of ambient (common practice, no source): the flow leaves the wall and "
        "thrust is wrong; shorten the exit or raise the chamber pressure.",
    ),
    "magnet_temperature": (
        "magnet above its grade's limit",
        "The blocks lose field for good above their grade's limit: cool or shield them, or take a grade for "
        "higher temperature.",
    ),
    "cold_gas": (
        "gas below 1500 K",
        "The seed condenses in gas this cold (assumed limit) and conducts less than computed: shorten the "
        "channel, raise the efficiency or expand less.",
    ),
    "seed_not_soluble": (
        "seed not soluble in the water given",
        "The seed's carrier water cannot hold this much salt at 20 °C: raise gas.seed_water or heat the feed.",
    ),
    "cathode_limited": (
        "cathode limits the current",
        "The cathode gives fewer electrons than gas and layers would carry; the rest of the voltage drops in front of "
        "it: a hotter cathode, one that emits more easily, or more voltage brings more current.",
    ),
    "electrodes_too_hot": (
        "electrodes beyond their service limit",
        "At the end of the firing the electrodes' surface is hotter than its material stands: fire shorter, make the "
        "electrodes thicker or of another material, or lower the drop.",
    ),
    "spark": (
        "sparks without an arc",
        "The gap breaks down, but the source cannot hold an arc (less than 0.1 A): contact, and hardly any thrust; a "
        "supply of more current, with less resistance, holds one.",
    ),
    "pulsed": (
        "pulsed current",
        "Force and heat are means over the pulses of a coil or a capacitor.",
    ),
    "charger_too_weak": (
        "charger too weak for the rate",
        "The charger gives less power than the pulses take: lower the rate, the capacitance or the charge voltage.",
    ),
}

WARNINGS: Final[tuple[PointWarning, ...]] = tuple(
    PointWarning(code, 1 << number, *words) for number, (code, words) in enumerate(_WARNINGS.items())
)
