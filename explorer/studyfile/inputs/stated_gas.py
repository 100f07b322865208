"""How a study states its gas: propellants in a mixture ratio, what is set at the stand, or a gas only heated."""

from collections.abc import Mapping
from typing import Any, Final

from explorer.physics.compounds import FUELS, METAL_SEEDS, OXIDIZERS, Phase, formula_atoms
from explorer.physics.feed.heated_gas import (
    check_shares,
    metal_mass_fraction,
    seed_metal,
    shares_of_text,
    shares_text,
)
from explorer.physics.feed.orifices import GASES
from explorer.studyfile.document import Document, at
from explorer.studyfile.error import StudyError, refusal
from explorer.studyfile.inputs.needs import Need

COMPONENTS: Final = "gas.components"
FLOWS: Final = "gas.flows"

#: What follows from the flows at the stand, and so can't be stated beside them.
FED: Final = ("gas.mixture_ratio", "gas.seed_fraction", "gas.chamber_pressure")

#: What only propellants that burn have.
_BURNT: Final = ("gas.fuel", "gas.oxidizer", "gas.custom_", "gas.mixture_ratio", "gas.combustion_efficiency")

_OF_SEED: Final = ("gas.seed_fraction", "gas.seed_water", "gas.seed_vaporized")

_STREAMS: Final = {"fuel": FUELS, "oxidizer": OXIDIZERS, "seed_solution": {}}


def is_heated(choices: Mapping[str, str]) -> bool:
    """Return whether the study's gas is heated without a flame."""
    return COMPONENTS in choices


def is_fed(choices: Mapping[str, str]) -> bool:
    """Return whether the study states flows, and not the mixture that they make."""
    return choices.get("gas.kind") == "fed"


def components_text(written: object) -> str:
    """Return stated components as a word of the study; a text of the same kind is read as well."""
    shares: Mapping[str, Any] = (
        written if isinstance(written, Mapping) else shares_of_text(str(written).replace("=", " "))
    )
    if not shares:
        raise refusal(COMPONENTS, "expected shares by species, such as { N2 = 0.98, Cs = 0.02 }")
    try:
        check_shares(shares)
    except ValueError as error:
        raise refusal(COMPONENTS, error) from error
    return shares_text({name: float(share) for name, share in shares.items()})


def gas_words(document: Document) -> dict[str, str]:
    """Return the words that follow from how the gas is stated: its components, their metal as the seed, its kind."""
    gas = document.get("gas") or {}
    if gas.get("flows") is not None:
        for other in (COMPONENTS, "gas.stagnation_temperature"):
            if at(document, other) is not None:
                raise refusal(FLOWS, f"flows are those of propellants that burn: leave out them or {other}")
        return {"gas.kind": "fed"}
    if gas.get("components") is None:
        if gas.get("stagnation_temperature") is not None:
            raise StudyError(
                f'missing key "{COMPONENTS}": a gas of stated gas.stagnation_temperature has components',
                COMPONENTS,
            )
        return {}
    text = components_text(gas["components"])
    metal = seed_metal(shares_of_text(text))
    return {COMPONENTS: text} | ({} if metal is None else {"gas.seed": METAL_SEEDS[metal]})


def need_of_gas(address: str, choices: Mapping[str, str], document: Document) -> Need | None:
    """Return whether a gas so stated must, may or must not state something; None where the way changes nothing."""
    if is_heated(choices):
        return _need_if_heated(address, choices)
    if address == "gas.components_by":
        return Need(False, misfit="the study has no gas.components")
    if not is_fed(choices):
        return Need(False) if address.startswith((f"{FLOWS}.", "gas.stagnation", COMPONENTS)) else None
    if address in FED:
        three = "gas.mixture_ratio, gas.seed_fraction and gas.chamber_pressure"
        return Need(
            False, misfit=f"it follows from [{FLOWS}]; leave it out, or state {three} without the flows"
        )
    if address == "gas.seed_water":
        return Need(True, reason=": it is the concentration of the seed solution that flows")
    if address.startswith(f"{FLOWS}."):
        return _need_of_flow(address.removeprefix(f"{FLOWS}."), choices, document)
    return Need(False) if address.startswith(("gas.stagnation", COMPONENTS)) else None


def settled_by(choices: Mapping[str, str]) -> dict[str, float]:
    """Return the numbers that words settle: the seed's, where it is among a heated gas's components."""
    if not is_heated(choices):
        return {}
    shares = shares_of_text(choices[COMPONENTS])
    if seed_metal(shares) is None:
        return {}
    return dict(
        zip(_OF_SEED, (metal_mass_fraction(shares, choices["gas.components_by"]), 0.0, 1.0), strict=True)
    )


def seed_oxides_note(choices: Mapping[str, str]) -> tuple[str, ...]:
    """Return what a reader must know where the seed's oxides are not scarce: in oxygen without hydrogen."""
    if not is_heated(choices) or choices["gas.seed"] == "none":
        return ()
    shares = shares_of_text(choices[COMPONENTS])
    if "O2" not in shares or {"H2", "H2O"} & set(shares) or "hydroxide" in choices["gas.seed"]:
        return ()
    return (
        "the seed's oxides count as transparent to electrons, for nobody knows their cross section: in dry oxygen"
        " the conductivity may come out too high, in air by a quarter at 2000 K and a tenth at 3000 K; let"
        " gas.conductivity_factor reach as far down",
    )


def _need_if_heated(address: str, choices: Mapping[str, str]) -> Need | None:
    if address in ("gas.stagnation_temperature", COMPONENTS):
        return Need(True, reason=f": the study states {COMPONENTS}")
    if address.startswith((*_BURNT, "gas.oxidizer_concentration")):
        return Need(False, misfit=f"nothing burns in a gas of stated {COMPONENTS}; leave out one of the two")
    metal = seed_metal(shares_of_text(choices[COMPONENTS]))
    if metal is not None and address in ("gas.seed", *_OF_SEED):
        return Need(False, misfit=f"{metal} among {COMPONENTS} is the seed; leave out one of the two")
    return Need(False) if address.startswith(f"{FLOWS}.") else None


def _need_of_flow(key: str, choices: Mapping[str, str], document: Document) -> Need:
    """Return the need for a stream's flow, or for a key of its orifice."""
    stream, _, of_orifice = key.partition("_orifice.")
    flow, orifice = f"{FLOWS}.{stream}", f"{FLOWS}.{stream}_orifice"
    if stream == "seed_solution" and choices["gas.seed"] == "none":
        return Need(False, misfit='gas.seed is "none"')
    stated, has_orifice = at(document, flow) is not None, at(document, orifice) is not None
    if stated and has_orifice:
        raise refusal(flow, f"give one of {flow} and [{orifice}], not both")
    if not of_orifice:
        return Need(not has_orifice, reason=f" (or a table [{orifice}])")
    if not has_orifice:
        return Need(False)
    return _need_of_orifice(orifice, of_orifice, stream, choices, document)


def _need_of_orifice(
    orifice: str, key: str, stream: str, choices: Mapping[str, str], document: Document
) -> Need:
    phase, name = phase_of(stream, choices), choices.get(f"gas.{stream}", "the seed solution")
    if phase == "solid":
        raise refusal(orifice, f'"{name}" is solid and flows through no orifice: state {FLOWS}.{stream}')
    if phase == "gas" and name not in GASES:
        raise refusal(orifice, f'the heat capacity of a "{name}" gas is not known: state {FLOWS}.{stream}')
    if phase == "liquid" and name == "custom":
        _check_flashing(orifice, choices[f"gas.custom_{stream}.formula"], f"{FLOWS}.{stream}")
    told = f"gas.custom_{stream}" if name == "custom" else name
    if key == "upstream_temperature":
        if phase == "gas":
            return Need(True, reason=f": {told} is a gas")
        return Need(False, misfit=f"{told} is a liquid, whose flow follows from its density")
    if key == "density":
        if phase == "gas":
            return Need(False, misfit=f"{told} is a gas, whose flow follows from its temperature")
        return Need(
            not _density_is_known(stream, name, document), reason=": the density of this liquid is not known"
        )
    return Need(True)


def phase_of(stream: str, choices: Mapping[str, str]) -> Phase:
    """Return in which phase a stream comes through its orifice."""
    if stream == "seed_solution":
        return "liquid"
    name = choices[f"gas.{stream}"]
    if name == "custom":
        return choices[f"gas.custom_{stream}.phase"]  # type: ignore[return-value]  # one of the options
    return _STREAMS[stream][name].phase


def _density_is_known(stream: str, name: str, document: Document) -> bool:
    if stream == "seed_solution":
        return False
    if name == "custom":
        return at(document, f"gas.custom_{stream}.density") is not None
    return _STREAMS[stream][name].density is not None


def _check_flashing(orifice: str, formula: str, flow: str) -> None:
    """Refuse nitrous oxide as a liquid: it boils in the orifice."""
    try:
        atoms = formula_atoms(formula)
    except ValueError:
        return  # said where the formula is read
    if atoms == {"N": 2.0, "O": 1.0}:
        raise refusal(orifice, f"liquid nitrous oxide boils on its way through an orifice: state {flow}")
