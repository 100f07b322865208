"""Studies without uncertain values, as texts: an invented bench stage and variants that use every key."""

import re

from explorer.studyfile import parse_study

PLAIN = """
title = "Invented, for tests"
mode = "acceleration"

[gas]
fuel = "ethanol"
oxidizer = "oxygen"
mixture_ratio = 1.95
seed = "potassium carbonate"
seed_fraction = "1.0 %"
seed_water = 1.1
seed_vaporized = 0.85
chamber_pressure = "12 bar"
combustion_efficiency = 0.96
conductivity_factor = 1.0
nozzle_lag = 0.8

[nozzle]
throat_diameter = "9 mm"
discharge_coefficient = 0.965

[channel]
length = "90 mm"
gap_in = "11 mm"
gap_out = "12.5 mm"
width_in = "10 mm"
width_out = "10.5 mm"
wall_temperature = "800 K"
friction_coefficient = 0.0045
heat_transfer_factor = 1.1

[magnet]
field = "0.48 T"

[electrodes.main]
start = "15 mm"
length = "60 mm"
voltage_drop = "8 V"
drop_resistance = "0.005 ohm m^2"
arc_voltage = "100 V"
leak_conductance = "0.01 S"
source = { kind = "supply", voltage = "150 V", current_limit = "50 A", resistance = "0.1 ohm" }

[exit]
area_ratio = 1.3

[ambient]
pressure = "1.013 bar"

[target]
quantity = "thrust_gain"
"""

_SOURCE = 'source = { kind = "supply", voltage = "150 V", current_limit = "50 A", resistance = "0.1 ohm" }'
_BLOCKS = """[magnet.blocks]
remanence = "1.3 T"
length = "70 mm"
height = "40 mm"
thickness = "30 mm"
spacing = "24 mm"
position = "45 mm"
temperature = "40 °C"
yoke_factor = 1.1
"""
_MASSES = """
[mass]
yoke_thickness = "12 mm"
"""
_CUSTOM_FUEL = """fuel = "custom"
custom_fuel = { formula = "C2H6O", enthalpy_of_formation = "-277.6 kJ/mol", density = "789 kg/m^3" }"""
_CUSTOM_OXIDIZER = """oxidizer = "custom"
custom_oxidizer = { formula = "O2", phase = "gas", enthalpy_of_formation = "0 kJ/mol", density = "1.3 kg/m^3" }"""

_MADE = """mixture_ratio = 1.95
seed = "potassium carbonate"
seed_fraction = "1.0 %"
seed_water = 1.1
seed_vaporized = 0.85
chamber_pressure = "12 bar"
combustion_efficiency = 0.96
conductivity_factor = 1.0
nozzle_lag = 0.8
"""
_SET = """seed = "potassium carbonate"
seed_water = 1.1
seed_vaporized = 0.85
combustion_efficiency = 0.96
conductivity_factor = 1.0
nozzle_lag = 0.8
"""
_FLOWS = """
[gas.flows]
fuel = "15 g/s"
oxidizer = "30 g/s"
seed_solution = "1.7 g/s"
"""
_ORIFICES = """
[gas.flows.fuel_orifice]
diameter = "2.1 mm"
discharge_coefficient = 0.8
upstream_pressure = "30 bar"
upstream_temperature = "20 °C"

[gas.flows.oxidizer_orifice]
diameter = "2.5 mm"
discharge_coefficient = 0.8
upstream_pressure = "32 bar"
upstream_temperature = "20 °C"

[gas.flows.seed_solution_orifice]
diameter = "0.32 mm"
discharge_coefficient = 0.7
upstream_pressure = "18 bar"
density = "1500 kg/m^3"
"""
_LIQUIDS = """
[gas.flows]
seed_solution = "1.7 g/s"

[gas.flows.fuel_orifice]
diameter = "0.8 mm"
discharge_coefficient = 0.7
upstream_pressure = "20 bar"
density = "790 kg/m^3"

[gas.flows.oxidizer_orifice]
diameter = "1.3 mm"
discharge_coefficient = 0.75
upstream_pressure = "22 bar"
density = "1410 kg/m^3"
"""
_HEATED = """components = { N2 = 1 }
components_by = "mole"
stagnation_temperature = "3500 K"
chamber_pressure = "8 bar"
seed = "cesium"
seed_fraction = "2 %"
seed_vaporized = 0.9
nozzle_lag = 0.8
"""

_UNSEEDED = [
    (
        'seed = "potassium carbonate"\nseed_fraction = "1.0 %"\nseed_water = 1.1\nseed_vaporized = 0.85\n',
        'seed = "none"\n',
    ),
    ('leak_conductance = "0.01 S"\n', ""),
]
_COIL = """source = { kind = "coil", peak_voltage = "42 kV", energy = "60 mJ", rate = "100 Hz", inductance = "40 H", \
resistance = "8 kohm" }"""
_CAPACITOR = """struck = "yes"
source = { kind = "capacitor", voltage = "400 V", capacitance = "100 uF", rate = "20 Hz", inductance = "20 uH", \
resistance = "0.5 ohm", charger_power = "1 kW", pulse_length = "1 ms" }"""

_LAYERS_STATED = 'voltage_drop = "8 V"\ndrop_resistance = "0.005 ohm m^2"\n'
_LAYERS_COMPUTED = (
    'voltage_drop = "2 V"\nlayer = "computed"\nwork_function = "2.4 eV"\nwall_temperature = "1500 K"\n'
)

_PREIONIZER = """
[preionizer]
power = "2 kW"
coupling = 0.5
pair_energy = "35 eV"
start = "3 mm"
length = "10 mm"
"""
_PAIR = PLAIN[PLAIN.index("[electrodes.main]") : PLAIN.index("[exit]")]
_TWO_PAIRS = _PAIR.replace('"60 mm"', '"30 mm"\npair_energy = "100 eV"') + _PAIR.replace(
    "main", "rear"
).replace('"15 mm"', '"45.5 mm"').replace('"60 mm"', '"30 mm"')

#: (what to replace, with what) in `PLAIN`.
_CHANGES = {
    "plain": [],
    "extraction": [
        ('mode = "acceleration"', 'mode = "extraction"'),
        ('field = "0.48 T"', 'field = "1 T"'),
        (_SOURCE, 'source = { kind = "load", resistance = "5 ohm" }'),
    ],
    "blocks": [('[magnet]\nfield = "0.48 T"\n', _BLOCKS)],
    "warming": [
        ('[magnet]\nfield = "0.48 T"\n', _BLOCKS + 'heat_leak = "1 kW"\n'),
        ("nozzle_lag = 0.8\n", 'nozzle_lag = 0.8\nburn_time = "5 s"\n'),
    ],
    "yoked": [('[magnet]\nfield = "0.48 T"\n', _BLOCKS + _MASSES)],
    "weighed": [('[magnet]\nfield = "0.48 T"\n', '[magnet]\nfield = "0.48 T"\n\n[mass]\nmagnet = "6 kg"\n')],
    "profile": [('[magnet]\nfield = "0.48 T"\n', '[magnet.profile]\nfile = "field.csv"\nscale = 1.0\n')],
    "peroxide": [
        ('oxidizer = "oxygen"', 'oxidizer = "hydrogen peroxide"\noxidizer_concentration = "95 %"'),
        ("mixture_ratio = 1.95", "mixture_ratio = 4.0"),
    ],
    "custom": [('fuel = "ethanol"', _CUSTOM_FUEL), ('oxidizer = "oxygen"', _CUSTOM_OXIDIZER)],
    "flows": [(_MADE, _SET + _FLOWS)],
    "orifices": [('fuel = "ethanol"', 'fuel = "methane"'), (_MADE, _SET + _ORIFICES)],
    "liquids": [
        ('oxidizer = "oxygen"', 'oxidizer = "hydrogen peroxide"\noxidizer_concentration = "95 %"'),
        (_MADE, _SET + _LIQUIDS),
    ],
    "heated": [('fuel = "ethanol"\noxidizer = "oxygen"\n' + _MADE, _HEATED)],
    "layers": [(_LAYERS_STATED, _LAYERS_COMPUTED)],
    "cold": [(_LAYERS_STATED, _LAYERS_COMPUTED.replace("2.4", "4.6").replace("1500", "800"))],
    "arc": [
        (_LAYERS_STATED, _LAYERS_COMPUTED + 'struck = "yes"\nmaterial = "copper"\n'),
        ('"100 V"', '"149 V"'),
        ("nozzle_lag = 0.8\n", 'nozzle_lag = 0.8\nburn_time = "2 s"\n'),
    ],
    "traced": [
        (_UNSEEDED[0][0], 'seed = "none"\ntrace_alkali = "1 ppm"\n'),
        _UNSEEDED[1],
    ],
    "coil": [*_UNSEEDED, (_SOURCE, _COIL)],
    "capacitor": [*_UNSEEDED, (_SOURCE, _CAPACITOR)],
    "preionized": [
        ('throat_diameter = "9 mm"', 'throat_diameter = "9 mm"\nlength = "25 mm"'),
        ("[exit]", _PREIONIZER + "\n[exit]"),
    ],
    "discharges": [
        ("nozzle_lag = 0.8\n", 'nozzle_lag = 0.8\nionization = "relaxing"\n'),
        (_PAIR, _TWO_PAIRS),
    ],
    "two pairs": [(_PAIR, _TWO_PAIRS.replace('pair_energy = "100 eV"\n', ""))],
    "altitude": [('pressure = "1.013 bar"', 'altitude = "0 km"')],
}

FIELD_MAP = "x [mm], field [T]\n" + "\n".join(
    f"{x}, {0.5 - 1e-4 * (x - 45) ** 2:.5f}" for x in range(-5, 100, 5)
)


def text_named(name):
    """The text of one of the variants."""
    text = PLAIN
    for old, new in _CHANGES[name]:
        if old not in text:
            raise AssertionError(f"the text has changed: {old}")
        text = text.replace(old, new)
    return text


def study_named(name, folder):
    """One of the variants; `folder` receives the field map that one of them names."""
    text = text_named(name)
    (folder / "field.csv").write_text(FIELD_MAP, encoding="utf-8")
    return parse_study(text, folder)


def of_one_mixture_ratio(bench: str) -> str:
    """Return the demo's bench with a mixture ratio that is known, whose gas table is built in a tenth of the time."""
    text, found = re.subn(r"(?m)^mixture_ratio = .*$", "mixture_ratio = 1.95", bench)
    assert found == 1
    return text
