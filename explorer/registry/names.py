"""The words that a study may use: fuels, oxidizers, seeds, magnet grades, choices, statuses, warnings.

Names and sentences only; the data behind a fuel or a grade stand with the physics.
"""

from functools import partial
from typing import Final

from explorer.registry.quantity import Choice, Named, PointWarning

_fuel = partial(Named, kind="fuel")
_oxidizer = partial(Named, kind="oxidizer")
_seed = partial(Named, kind="seed")
_grade = partial(Named, kind="magnet grade")
_status = partial(Named, kind="status")

FUELS: Final[tuple[Named, ...]] = (
    _fuel(name="ethanol", sentence="Ethanol, C2H6O, liquid; dissolves potassium hydroxide."),
    _fuel(name="methanol", sentence="Methanol, CH4O, liquid; poisonous."),
    _fuel(name="isopropanol", sentence="Isopropanol (2-propanol), C3H8O, liquid."),
    _fuel(name="propane", sentence="Propane, C3H8, injected as a gas."),
    _fuel(name="methane", sentence="Methane, CH4, injected as a gas."),
    _fuel(name="hydrogen", sentence="Hydrogen, H2, injected as a gas; no carbon, so fewer electrons."),
    _fuel(name="kerosene", sentence="Kerosene as the surrogate C12H23, liquid; batches differ."),
    _fuel(name="paraffin", sentence="Paraffin wax, a solid fuel of hybrid motors."),
    _fuel(name="htpb", sentence="Cured hydroxyl-terminated polybutadiene, a solid fuel of hybrid motors."),
    _fuel(
        name="custom", sentence="A fuel of your own: formula and enthalpy of formation in [gas.custom_fuel]."
    ),
)

OXIDIZERS: Final[tuple[Named, ...]] = (
    _oxidizer(name="oxygen", sentence="Oxygen, O2, injected as a gas."),
    _oxidizer(
        name="nitrous oxide", sentence="Nitrous oxide, N2O, injected as a gas; can decompose violently."
    ),
    _oxidizer(name="air", sentence="Air as 79 % nitrogen and 21 % oxygen by volume."),
    _oxidizer(
        name="hydrogen peroxide",
        sentence="Hydrogen peroxide in water, liquid; its mass share is gas.oxidizer_concentration.",
    ),
    _oxidizer(name="custom", sentence="An oxidizer of your own: [gas.custom_oxidizer], as for a fuel."),
)

SEEDS: Final[tuple[Named, ...]] = (
    _seed(name="potassium carbonate", sentence="K2CO3; about 1.1 kg dissolve in a kg of water at 20 °C."),
    _seed(name="potassium nitrate", sentence="KNO3, an oxidizer itself; dissolves poorly in cold water."),
    _seed(name="potassium hydroxide", sentence="KOH; dissolves in water and in ethanol; caustic."),
    _seed(name="cesium carbonate", sentence="Cs2CO3; ionises most easily, costs most."),
    _seed(name="sodium carbonate", sentence="Na2CO3; cheap, ionises least."),
    _seed(name="none", sentence="No seed: the gas hardly conducts."),
)

MAGNET_GRADES: Final[tuple[Named, ...]] = tuple(
    _grade(name=name, sentence=f"Neodymium magnet of grade {name}; loses 0.12 % of its field per kelvin.")
    for name in ("N35", "N38", "N40", "N42", "N45", "N48", "N50", "N52")
)

STATUSES: Final[tuple[Named, ...]] = (
    _status(name="ok", sentence="The point was solved."),
    _status(
        name="no_contact",
        sentence="A valid outcome: the voltage does not reach the gas, current and gain are 0.",
    ),
    _status(
        name="choked",
        sentence="The flow cannot stay supersonic in the channel: widen the outlet, shorten the channel or "
        "lower"
        " the current.",
    ),
    _status(
        name="outside_table",
        sentence="The gas left the range of the property table or of the species data: narrow the inputs.",
    ),
    _status(name="not_converged", sentence="The solver did not find this point: report it with the study."),
)

MODES: Final = ("acceleration", "extraction")
LAYOUTS: Final = ("continuous", "segmented")
PHASES: Final = ("gas", "liquid", "solid")
SOURCES: Final = ("supply", "load")
SOURCE_OF_MODE: Final = {"acceleration": "supply", "extraction": "load"}


def _names(entries: tuple[Named, ...]) -> tuple[str, ...]:
    return tuple(entry.name for entry in entries)


CHOICES: Final[tuple[Choice, ...]] = (
    Choice("mode", MODES, "Power pushed in for thrust, or pulled out into a load."),
    Choice("gas.fuel", _names(FUELS), "The fuel."),
    Choice("gas.custom_fuel.formula", (), "Elements of one formula unit of a custom fuel, such as C2H6O."),
    Choice("gas.custom_fuel.phase", PHASES, "Phase in which the custom fuel is injected.", default="liquid"),
    Choice("gas.oxidizer", _names(OXIDIZERS), "The oxidizer."),
    Choice(
        "gas.custom_oxidizer.formula", (), "Elements of one formula unit of a custom oxidizer, such as N2O."
    ),
    Choice(
        "gas.custom_oxidizer.phase",
        PHASES,
        "Phase in which the custom oxidizer is injected.",
        default="liquid",
    ),
    Choice("gas.seed", _names(SEEDS), "The alkali compound that makes the gas conduct."),
    Choice(
        "magnet.blocks.grade", _names(MAGNET_GRADES), "Grade of the magnet blocks, in place of a remanence."
    ),
    Choice(
        "magnet.profile.file",
        (),
        "A CSV file beside the study with the columns x and B, each with its unit in the head (x "
        "[mm], B [T]).",
    ),
    Choice(
        "electrodes.*.layout",
        LAYOUTS,
        "One electrode a wall, or segments each with its own isolated source at the same voltage.",
        default="continuous",
    ),
    Choice(
        "electrodes.*.source.kind",
        SOURCES,
        "What the pair is connected to: a supply in acceleration, a load in extraction.",
    ),
)

WARNINGS: Final[tuple[PointWarning, ...]] = tuple(
    PointWarning(code, 1 << number, title, sentence)
    for number, (code, title, sentence) in enumerate(
        (
            (
                "outside_gas_table",
                "outside the gas table",
                "Part of the flow lay at the edge of the property table and was held there: "
                "narrow the inputs or"
                " rebuild the table with the study's own ranges.",
            ),
            (
                "constricted",
                "constricted",
                "The discharge constricts into arcs: expect spots, erosion and unsteady current; "
                "lower the voltage"
                " or the current limit, or heat the electrodes.",
            ),
            (
                "current_density",
                "current density above the diffuse limit",
                "More than 1 A/cm² on cold metal tends to run as arcs (common practice, no "
                "source): enlarge the"
                " electrodes, limit the current, or use hot or emitting electrodes.",
            ),
            (
                "overheating",
                "discharge tends to constrict",
                "The current heats the gas that carries it faster than the flow takes it away "
                "(overheating number"
                " above 0.5): lower the current density or shorten the pair.",
            ),
            (
                "hall_field",
                "axial Hall field above 4 kV/m",
                "Above 40 V per cm along the wall, segments break down to their neighbours "
                "(Stanford HTGL, DTIC"
                " ADA025949, 1975): lower the current or the field, or make segments and insulators finer.",
            ),
            (
                "neighbouring_pairs",
                "voltage between neighbouring pairs above 4 kV/m",
                "The voltage between two pairs over the wall between them exceeds 40 V per cm "
                "(same source as the"
                " Hall field): move the pairs apart or bring their voltages together.",
            ),
            (
                "hot_electrons",
                "electrons hotter than the gas: current underestimated",
                "The electrons see more than 5 Td (|E − uB| over gas number density) and run "
                "hotter than the gas:"
                " the real current is larger; lower the voltage or raise the pressure to come "
                "back into the model.",
            ),
            (
                "separation",
                "flow likely separated at the exit",
                "The exit pressure is under 0.4 of ambient (common practice, no source): the flow "
                "leaves the wall"
                " and thrust is wrong; shorten the exit or raise the chamber pressure.",
            ),
            (
                "magnet_temperature",
                "magnet above its grade's limit",
                "The blocks lose field for good above their grade's limit: cool or shield them, "
                "or take a grade for"
                " higher temperature.",
            ),
            (
                "cold_gas",
                "gas below 1500 K",
                "The seed condenses in gas this cold (assumed limit) and conducts less than "
                "computed: shorten the"
                " channel, raise the efficiency or expand less.",
            ),
            (
                "seed_not_soluble",
                "seed not soluble in the water given",
                "The seed's carrier water cannot hold this much salt at 20 °C: raise "
                "gas.seed_water or heat the"
                " feed.",
            ),
        )
    )
)
