"""A gas that cannot be as stated is refused in one sentence that names the key, or the nearest one that is known."""

import re
from pathlib import Path

import pytest
from study import texts

from explorer.cli import main

FLOWS, ORIFICES, LIQUIDS, HEATED = "flows", "orifices", "liquids", "heated"
LIQUID_NITROUS_OXIDE = (
    'custom_oxidizer = { formula = "N2O", phase = "liquid", enthalpy_of_formation = "81.6 kJ/mol", '
    'density = "745 kg/m^3" }'
)

#: The study, what is changed in it, and what must be said.
SLIPS = {
    "soot by flows": (FLOWS, '"30 g/s"', '"3 g/s"', "gas.flows.oxidizer: the flows' mixture ratio of 0.2"),
    "soot by orifice": (
        ORIFICES,
        '"2.5 mm"',
        '"0.9 mm"',
        "gas.flows.oxidizer_orifice: the flows' mixture ratio of 0.28",
    ),
    "mixture ratio beside flows": (
        FLOWS,
        "seed_water",
        "mixture_ratio = 2\nseed_water",
        '"gas.mixture_ratio" does not fit: it follows from [gas.flows]; leave it out, or state',
    ),
    "chamber pressure beside flows": (
        FLOWS,
        "seed_water",
        'chamber_pressure = "12 bar"\nseed_water',
        '"gas.chamber_pressure" does not fit: it follows from [gas.flows]; leave it out, or state',
    ),
    "no oxidizer": (
        FLOWS,
        'oxidizer = "30 g/s"\n',
        "",
        'missing key "gas.flows.oxidizer" (or a table [gas.flows.oxidizer_orifice])',
    ),
    "flow and orifice": (
        ORIFICES,
        "[gas.flows.fuel",
        '[gas.flows]\nfuel = "15 g/s"\n[gas.flows.fuel',
        "give one of gas.flows.fuel and [gas.flows.fuel_orifice], not both",
    ),
    "solution without concentration": (
        FLOWS,
        "seed_water = 1.1\n",
        "",
        'missing key "gas.seed_water": it is the concentration',
    ),
    "dry seed through an orifice": (
        ORIFICES,
        "seed_water = 1.1",
        "seed_water = 0",
        "gas.flows.seed_solution_orifice: potassium carbonate without water is solid",
    ),
    "volume flow": (FLOWS, '"15 g/s"', '"15 mL/min"', "gas.flows.fuel: expected a mass flow"),
    "slip in a flow": (
        FLOWS,
        'fuel = "15',
        'feul = "15',
        'unknown key "gas.flows.feul": did you mean "fuel"?',
    ),
    "part of a flow": (
        FLOWS,
        "seed_solution",
        "seed",
        'unknown key "gas.flows.seed": did you mean "seed_solution"?',
    ),
    "slip in an orifice": (
        ORIFICES,
        'diameter = "2.1',
        'diametre = "2.1',
        'unknown key "gas.flows.fuel_orifice.diametre": did you mean "diameter"?',
    ),
    "solution's orifice without density": (
        ORIFICES,
        'density = "1500 kg/m^3"',
        "",
        'missing key "gas.flows.seed_solution_orifice.density"',
    ),
    "gas orifice without temperature": (
        ORIFICES,
        '"30 bar"\nupstream_temperature = "20 °C"',
        '"30 bar"',
        'missing key "gas.flows.fuel_orifice.upstream_temperature": methane is a gas',
    ),
    "density of a gas": (
        ORIFICES,
        'pressure = "32 bar"',
        'pressure = "32 bar"\ndensity = "1 kg/m^3"',
        '"gas.flows.oxidizer_orifice.density" does not fit: oxygen is a gas',
    ),
    "phase in an orifice": (
        ORIFICES,
        'pressure = "32 bar"',
        'pressure = "32 bar"\nphase = "gas"',
        'unknown key "gas.flows.oxidizer_orifice.phase": known here: diameter, discharge_coefficient',
    ),
    "gas orifice not choked": (
        ORIFICES,
        '"2.5 mm"\ndischarge_coefficient = 0.8\nupstream_pressure = "32 bar"',
        '"3.8 mm"\ndischarge_coefficient = 0.8\nupstream_pressure = "14 bar"',
        "gas.flows.oxidizer_orifice.upstream_pressure: at 14 bar the orifice is not choked",
    ),
    "flashing liquid": (
        LIQUIDS,
        'oxidizer = "hydrogen peroxide"\noxidizer_concentration = "95 %"',
        f'oxidizer = "custom"\n{LIQUID_NITROUS_OXIDE}',
        "gas.flows.oxidizer_orifice: liquid nitrous oxide boils",
    ),
    "unknown component": (HEATED, "N2 = 1 ", "Rn = 1 ", 'gas.components: "Rn": not known; known: N2,'),
    "component by name": (HEATED, "N2 = 1 ", "argon = 1 ", '"argon": not known; did you mean "Ar"?'),
    "shares short of one": (HEATED, "N2 = 1 ", "N2 = 0.9 ", "gas.components: the shares add up to 0.9"),
    "share below zero": (HEATED, "N2 = 1 ", "N2 = 1.1, Ar = -0.1 ", "the share of N2 must lie above 0"),
    "no component": (HEATED, "{ N2 = 1 }", "{ }", "gas.components: expected plain numbers by species"),
    "two metals": (HEATED, "N2 = 1 ", "N2 = 0.98, Cs = 0.01, K = 0.01 ", "one alkali metal can be the seed"),
    "metal and seed": (
        HEATED,
        "N2 = 1 ",
        "N2 = 0.98, Cs = 0.02 ",
        '"gas.seed" does not fit: Cs among gas.components',
    ),
    "too hot": (HEATED, "3500 K", "7000 K", "gas.stagnation_temperature: must be between 300 K and 6000 K"),
    "too cold": (HEATED, "3500 K", "250 K", "gas.stagnation_temperature: must be between 300 K and 6000 K"),
    "no temperature": (
        HEATED,
        'stagnation_temperature = "3500 K"\n',
        "",
        'missing key "gas.stagnation_temperature"',
    ),
    "stagnation pressure": (
        HEATED,
        "chamber_pressure",
        "stagnation_pressure",
        'unknown key "gas.stagnation_pressure": did you mean "chamber_pressure"?',
    ),
    "fuel in a heated gas": (
        HEATED,
        "seed_vap",
        'fuel = "ethanol"\nseed_vap',
        '"gas.fuel" does not fit: nothing burns',
    ),
    "flows of a heated gas": (
        FLOWS,
        "seed_water",
        "components = { N2 = 1 }\nseed_water",
        "gas.flows: flows are those of propellants that burn",
    ),
    "slip in the lag": (
        "plain",
        "nozzle_lag",
        "nozzle_leg",
        'unknown key "gas.nozzle_leg": did you mean "nozzle_lag"?',
    ),
}


@pytest.mark.parametrize(("name", "old", "new", "message"), SLIPS.values(), ids=SLIPS.keys())
def test_a_gas_that_cannot_be_is_refused_in_one_sentence(
    name: str, old: str, new: str, message: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = texts.text_named(name)
    assert old in text
    study = tmp_path / "study.toml"
    study.write_text(text.replace(old, new, 1), encoding="utf-8")
    assert main(["solve", str(study), "--out", str(tmp_path / "out")]) == 2
    said = capsys.readouterr().err.strip()
    assert message in said
    assert said.count("\n") == 0
    assert not re.search(r"Traceback|unexpected", said)
