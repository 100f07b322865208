"""Every input and every choice of the registry changes some output, in the direction that physics says."""

import numpy as np
import pytest
from study.texts import study_named

from explorer import registry
from explorer.physics.streams import stream_flows
from explorer.questions.solve.point import solve, solve_many
from explorer.study.engine import design_of
from explorer.studyfile import fuel_of, oxidizer_of, seed_of

UP, DOWN, EITHER = 1, -1, 0

#: Study, value to put in its place, output that must change, and which way.
CASES = {
    "gas.oxidizer_concentration": ("peroxide", "85 %", "flame_temperature", DOWN),
    "gas.custom_fuel.enthalpy_of_formation": ("custom", "-250 kJ/mol", "flame_temperature", UP),
    "gas.custom_fuel.density": ("custom", "700 kg/m^3", "fuel volume", UP),
    "gas.custom_oxidizer.enthalpy_of_formation": ("custom", "10 kJ/mol", "flame_temperature", UP),
    "gas.custom_oxidizer.density": ("custom", "1.2 kg/m^3", "oxidizer volume", UP),
    "gas.mixture_ratio": ("plain", "2.05", "oxidizer_flow", UP),
    "gas.seed_fraction": ("plain", "1.2 %", "inlet_electron_density", UP),
    "gas.seed_water": ("plain", "1.3", "flame_temperature", DOWN),
    "gas.seed_vaporized": ("plain", "0.95", "condensed_flow", DOWN),
    "gas.trace_alkali": ("traced", "4 ppm", "inlet_conductivity", UP),
    "gas.chamber_pressure": ("plain", "13 bar", "mass_flow", UP),
    "gas.combustion_efficiency": ("plain", "0.97", "characteristic_velocity", UP),
    "gas.stagnation_temperature": ("heated", "3600 K", "chamber_temperature", UP),
    "gas.flows.fuel": ("flows", "16 g/s", "mixture_ratio", DOWN),
    "gas.flows.oxidizer": ("flows", "31 g/s", "mixture_ratio", UP),
    "gas.flows.seed_solution": ("flows", "1.8 g/s", "seed_fraction", UP),
    "gas.flows.fuel_orifice.diameter": ("orifices", "2.15 mm", "mixture_ratio", DOWN),
    "gas.flows.fuel_orifice.discharge_coefficient": ("orifices", "0.82", "mixture_ratio", DOWN),
    "gas.flows.fuel_orifice.upstream_pressure": ("orifices", "31 bar", "mixture_ratio", DOWN),
    "gas.flows.fuel_orifice.upstream_temperature": ("orifices", "40 °C", "mixture_ratio", UP),
    "gas.flows.fuel_orifice.density": ("liquids", "800 kg/m^3", "mixture_ratio", DOWN),
    "gas.flows.oxidizer_orifice.diameter": ("orifices", "2.55 mm", "chamber_pressure", UP),
    "gas.flows.oxidizer_orifice.discharge_coefficient": ("orifices", "0.82", "chamber_pressure", UP),
    "gas.flows.oxidizer_orifice.upstream_pressure": ("orifices", "33 bar", "chamber_pressure", UP),
    "gas.flows.oxidizer_orifice.upstream_temperature": ("orifices", "40 °C", "mixture_ratio", DOWN),
    "gas.flows.oxidizer_orifice.density": ("liquids", "1450 kg/m^3", "mixture_ratio", UP),
    "gas.flows.seed_solution_orifice.diameter": ("orifices", "0.33 mm", "seed_fraction", UP),
    "gas.flows.seed_solution_orifice.discharge_coefficient": ("orifices", "0.72", "seed_fraction", UP),
    "gas.flows.seed_solution_orifice.upstream_pressure": ("orifices", "19 bar", "seed_fraction", UP),
    "gas.flows.seed_solution_orifice.density": ("orifices", "1550 kg/m^3", "seed_fraction", UP),
    "gas.heat_loss_share": ("plain", "0.5", "inlet_conductivity", UP),
    "gas.conductivity_factor": ("plain", "1.1", "plasma_current", UP),
    "gas.burn_time": ("arc", "3 s", "electrode_temperature", UP),
    "gas.recombination_factor": ("layers", "2", "layer_resistance", UP),
    "gas.nozzle_lag": ("plain", "0.9", "plasma_current", UP),
    "nozzle.throat_diameter": ("plain", "9.1 mm", "mass_flow", UP),
    "nozzle.length": ("preionized", "60 mm", "freezing", DOWN),
    "preionizer.power": ("preionized", "3 kW", "preionizer_electron_density", UP),
    "preionizer.coupling": ("preionized", "0.6", "preionizer_conductivity", UP),
    "preionizer.pair_energy": ("preionized", "60 eV", "preionizer_electron_density", DOWN),
    "preionizer.start": ("preionized", "4 mm", "start_electron_density", UP),
    "preionizer.length": ("preionized", "12 mm", "preionizer_electron_density", DOWN),
    "nozzle.discharge_coefficient": ("plain", "0.97", "mass_flow", UP),
    "channel.length": ("plain", "95 mm", "wall_heat", UP),
    "channel.gap_in": ("plain", "11.2 mm", "inlet_mach", UP),
    "channel.gap_out": ("plain", "12.7 mm", "outlet_mach", UP),
    "channel.width_in": ("plain", "10.2 mm", "inlet_mach", UP),
    "channel.width_out": ("plain", "10.7 mm", "outlet_mach", UP),
    "channel.wall_temperature": ("plain", "1000 K", "wall_heat", DOWN),
    "channel.friction_coefficient": ("plain", "0.005", "friction_force", UP),
    "channel.heat_transfer_factor": ("plain", "1.2", "wall_heat", UP),
    "magnet.field": ("plain", "0.5 T", "back_emf", UP),
    "magnet.blocks.remanence": ("blocks", "1.35 T", "field", UP),
    "magnet.blocks.length": ("blocks", "80 mm", "field", UP),
    "magnet.blocks.height": ("blocks", "45 mm", "field", UP),
    "magnet.blocks.thickness": ("blocks", "35 mm", "field", UP),
    "magnet.blocks.spacing": ("blocks", "26 mm", "field", DOWN),
    "magnet.blocks.position": ("blocks", "60 mm", "field", DOWN),
    "magnet.blocks.temperature": ("blocks", "70 °C", "field", DOWN),
    "magnet.blocks.heat_leak": ("warming", "2 kW", "final_magnet_temperature", UP),
    "magnet.blocks.heat_capacity": ("warming", "400 J/(kg K)", "field", DOWN),
    "magnet.blocks.yoke_factor": ("blocks", "1.2", "field", UP),
    "magnet.profile.scale": ("profile", "1.05", "field", UP),
    "exit.area_ratio": ("plain", "1.4", "exit_mach", UP),
    "ambient.pressure": ("plain", "0.9 bar", "thrust", UP),
    "ambient.altitude": ("altitude", "1 km", "thrust", UP),
    "electrodes.*.start": ("plain", "18 mm", "back_emf", EITHER),
    "electrodes.*.length": ("plain", "63 mm", "plasma_current", UP),
    "electrodes.*.voltage_drop": ("plain", "10 V", "threshold_voltage", UP),
    "electrodes.*.drop_resistance": ("plain", "0.006 ohm m^2", "plasma_current", DOWN),
    "electrodes.*.arc_voltage": ("plain", "40 V", "plasma_current", UP),
    "electrodes.*.wall_temperature": ("layers", "1400 K", "layer_resistance", UP),
    "electrodes.*.work_function": ("layers", "3.2 eV", "plasma_current", DOWN),
    "electrodes.*.layer_factor": ("layers", "2", "layer_thickness", UP),
    "electrodes.*.electron_lag": ("layers", "0.5", "layer_resistance", UP),
    "electrodes.*.ion_factor": ("cold", "2", "plasma_current", UP),
    "electrodes.*.cathode_share": ("cold", "0.7", "plasma_current", UP),
    "electrodes.*.contact_current": ("cold", "30 mA", "threshold_voltage", UP),
    "electrodes.*.strike_voltage": ("cold", "90 V", "striking_voltage", DOWN),
    "electrodes.*.strike_share": ("layers", "0.1", "striking_voltage", DOWN),
    "electrodes.*.dielectric_factor": ("cold", "0.8", "striking_voltage", DOWN),
    "electrodes.*.arc_fall": ("arc", "60 V", "terminal_voltage", UP),
    "electrodes.*.arc_field": ("arc", "3 kV/m", "terminal_voltage", UP),
    "electrodes.*.erosion": ("arc", "20 µg/C", "erosion_depth", UP),
    "electrodes.*.root_share": ("arc", "0.8", "erosion_depth", DOWN),
    "electrodes.*.allowed_depth": ("arc", "1 mm", "firings_lasted", UP),
    "electrodes.*.shape_factor": ("coil", "0.5", "striking_voltage", DOWN),
    "electrodes.*.glow_fall": ("coil", "250 V", "pulse_electrode_energy", DOWN),
    "electrodes.*.glow_field": ("coil", "20 kV/m", "pulse_charge", UP),
    "electrodes.*.discharge_carried": ("coil", "0.1", "pulse_charge", UP),
    "electrodes.*.source.peak_voltage": ("coil", "30 kV", "pulse_peak_current", DOWN),
    "electrodes.*.source.energy": ("coil", "80 mJ", "pulse_charge", UP),
    "electrodes.*.source.inductance": ("coil", "30 H", "pulse_peak_current", UP),
    "electrodes.*.source.rate": ("coil", "200 Hz", "current", UP),
    "electrodes.*.source.capacitance": ("capacitor", "150 uF", "pulse_charge", UP),
    "electrodes.*.source.pulse_length": ("capacitor", "0.1 ms", "pulse_charge", DOWN),
    "electrodes.*.source.charger_power": ("capacitor", "2 kW", "charger_use", DOWN),
    "electrodes.*.pair_energy": ("discharges", "200 eV", "electrodes.rear.start_electron_density", DOWN),
    "electrodes.*.leak_conductance": ("plain", "0.02 S", "current", UP),
    "electrodes.*.end_spread": ("plain", "0.5", "plasma_current", UP),
    "electrodes.*.source.voltage": ("plain", "160 V", "current", UP),
    "electrodes.*.source.current_limit": ("plain", "4 A", "current", DOWN),
    "electrodes.*.source.resistance": ("extraction", "6 ohm", "terminal_voltage", UP),
    "mass.magnet": ("weighed", "7 kg", "magnet_mass", UP),
    "mass.magnet_density": ("yoked", "7600 kg/m^3", "magnet_mass", UP),
    "mass.yoke_thickness": ("yoked", "15 mm", "yoke_mass", UP),
    "mass.yoke_density": ("yoked", "7700 kg/m^3", "yoke_mass", DOWN),
    "mass.electrode_thickness": ("plain", "6 mm", "electrode_mass", UP),
    "mass.electrode_density": ("plain", "1.8 g/cm^3", "electrode_mass", DOWN),
    "mass.wall_thickness": ("plain", "8 mm", "channel_mass", DOWN),
    "mass.wall_density": ("plain", "2 g/cm^3", "channel_mass", DOWN),
    "mass.supply_specific_power": ("plain", "2 kW/kg", "supply_mass", DOWN),
    "mass.store_specific_energy": ("plain", "20 Wh/kg", "store_mass", DOWN),
    "mass.powered_time": ("plain", "20 s", "store_mass", UP),
}


def outputs_of(study):
    """All outputs, and the volume flows that the reports print."""
    point = solve(study)
    assert point.status == "ok"
    values = study.central()
    if not design_of(study).propellants.burns:
        return point.quantities
    streams = stream_flows(
        point.quantities["mass_flow"],
        mixture_ratio=point.quantities["mixture_ratio"],
        seed_fraction=point.quantities["seed_fraction"],
        seed_water=values["gas.seed_water"],
        fuel=fuel_of(study.choices, values),
        oxidizer=oxidizer_of(study.choices, values),
        seed=seed_of(study.choices),
    )
    volumes = {
        f"{name} volume": stream.volume_flow
        for name, stream in zip(("fuel", "oxidizer"), streams, strict=False)
    }
    return {**point.quantities, **volumes}


def test_every_input_of_the_registry_has_a_case():
    assert set(CASES) == {quantity.address for quantity in registry.INPUTS}


@pytest.mark.parametrize("address", CASES)
def test_an_input_changes_an_output(address, tmp_path):
    name, value, witness, direction = CASES[address]
    study = study_named(name, tmp_path)
    here = address.replace("*", "main")
    before, after = outputs_of(study), outputs_of(study.replaced({here: value}))
    change = after[witness] / before[witness] - 1.0
    assert abs(change) > 1e-4
    if direction != EITHER:
        assert np.sign(change) == direction


@pytest.mark.parametrize("address", [a for a in CASES if a.startswith("mass.")])
def test_a_mass_input_moves_its_mass_and_what_it_sums_up_to_and_nothing_else(address, tmp_path):
    name, value, witness, _ = CASES[address]
    study = study_named(name, tmp_path)
    if "mass.magnet" in study.central() or study.choices["magnet.kind"] == "blocks":
        moved = {witness, "stage_mass", "thrust_gain_per_mass"}
    else:
        moved = {witness}  # a stage whose magnet nobody weighed has no mass, before and after
    before, after = (solve(it).quantities for it in (study, study.replaced({address: value})))
    assert {
        quantity
        for quantity in before
        if not np.array_equal(before[quantity], after[quantity], equal_nan=True)
    } == moved


@pytest.mark.parametrize("address", [a for a in CASES if registry.quantity(a).may_be_uncertain])
def test_a_column_of_samples_does_what_the_setting_does(address, tmp_path):
    """One table for both values against a table for each: what separates them is the tables' interpolation."""
    name, value, witness, _ = CASES[address]
    study = study_named(name, tmp_path)
    here = address.replace("*", "main")
    changed = study.replaced({here: value})
    columns = {here: [study.central()[here], changed.central()[here]]}
    found = solve_many(study, columns, quantities=[witness])
    for row, expected in zip(found[witness], (solve(study), solve(changed)), strict=True):
        assert row == pytest.approx(expected.quantities[witness], rel=2e-3)


@pytest.mark.parametrize("address", [a for a in CASES if not registry.quantity(a).may_be_uncertain])
def test_a_column_that_the_stage_would_not_read_is_refused(address, tmp_path):
    """What shapes the propellants is settled with the study: a column for it must not be ignored."""
    name, value, _, _ = CASES[address]
    study = study_named(name, tmp_path)
    changed = study.replaced({address: value}).central()[address]
    with pytest.raises(ValueError, match=address.replace(".", r"\.")):
        solve_many(study, {address: [study.central()[address], changed]}, quantities=["flame_temperature"])


def names_of(group, *left_out):
    return [named.name for named in group if named.name not in left_out]


RATIOS = {"methanol": "1.3", "isopropanol": "2.2", "propane": "3.2", "methane": "3.4", "hydrogen": "6"}


@pytest.mark.parametrize("fuel", names_of(registry.FUELS, "ethanol", "custom"))
def test_each_fuel_burns_its_own_way(fuel, tmp_path):
    study = study_named("plain", tmp_path)
    other = study.replaced({"gas.fuel": fuel, "gas.mixture_ratio": RATIOS.get(fuel, "2.6")})
    assert abs(outputs_of(other)["flame_temperature"] - outputs_of(study)["flame_temperature"]) > 1.0


@pytest.mark.parametrize(("oxidizer", "ratio"), [("nitrous oxide", "5.3"), ("air", "8.5")])
def test_each_oxidizer_burns_its_own_way(oxidizer, ratio, tmp_path):
    study = study_named("plain", tmp_path)
    other = study.replaced(
        {"gas.oxidizer": oxidizer, "gas.mixture_ratio": ratio, "gas.seed_fraction": "0.5 %"}
    )
    point = solve(other)
    assert point.status in ("ok", "no_contact")
    assert abs(point.quantities["flame_temperature"] - solve(study).quantities["flame_temperature"]) > 50.0


@pytest.mark.parametrize("seed", names_of(registry.SEEDS, "potassium carbonate", "none"))
def test_each_seed_ionises_its_own_way(seed, tmp_path):
    study = study_named("plain", tmp_path)
    one = solve(study).quantities["inlet_electron_density"]
    other = solve(study.replaced({"gas.seed": seed})).quantities["inlet_electron_density"]
    assert abs(other / one - 1.0) > 0.01
    assert (other < 0.5 * one) == seed.startswith("sodium")
    assert other > one or not seed.startswith("cesium")  # at equal mass, with a third of the atoms


def test_without_seed_the_gas_hardly_conducts(tmp_path):
    study = study_named("plain", tmp_path)
    bare = solve(study.replaced({"gas.seed": "none"}))
    assert bare.status in ("ok", "no_contact")
    assert bare.quantities["inlet_conductivity"] < 1e-3
    assert bare.quantities["flame_temperature"] > solve(study).quantities["flame_temperature"]


def test_a_custom_fuel_with_ethanol_s_data_is_ethanol(tmp_path):
    """And so is a custom oxidizer that is oxygen: formula, phase and enthalpy say all."""
    one, other = (solve(study_named(name, tmp_path)).quantities for name in ("plain", "custom"))
    for name in ("flame_temperature", "mass_flow", "thrust_gain", "inlet_conductivity"):
        assert other[name] == pytest.approx(one[name], rel=1e-6), name


def test_segments_carry_more_than_continuous_electrodes(tmp_path):
    study = study_named("plain", tmp_path).replaced({"magnet.field": "1.5 T"})
    segmented = study.replaced({"electrodes.main.layout": "segmented"})
    assert solve(segmented).quantities["plasma_current"] > 1.001 * solve(study).quantities["plasma_current"]
    assert solve(segmented).quantities["max_hall_field"] > 0.0 == solve(study).quantities["max_hall_field"]


def test_a_grade_stands_for_its_remanence(tmp_path):
    """Makers' tables: N42 1.28 to 1.33 T, N52 1.42 to 1.48 T (read)."""
    study = study_named("blocks", tmp_path)
    weak, strong = (
        solve(study.replaced({"magnet.blocks.grade": grade})).quantities["field"] for grade in ("N42", "N52")
    )
    assert strong / weak == pytest.approx(1.45 / 1.305, rel=0.01)


def test_blocks_with_the_field_of_a_uniform_magnet_give_about_the_same_current(tmp_path):
    blocks = solve(study_named("blocks", tmp_path)).quantities
    uniform = solve(
        study_named("plain", tmp_path).replaced({"magnet.field": f"{blocks['field']} T"})
    ).quantities
    assert blocks["plasma_current"] == pytest.approx(uniform["plasma_current"], rel=0.01)
    assert blocks["lorentz_force"] == pytest.approx(uniform["lorentz_force"], rel=0.02)


def test_a_flat_profile_is_a_uniform_field(tmp_path):
    study = study_named("profile", tmp_path)
    (tmp_path / "field.csv").write_text("x [mm], field [T]\n-5, 0.48\n45, 0.48\n95, 0.48\n", encoding="utf-8")
    flat = solve(study).quantities
    uniform = solve(study_named("plain", tmp_path)).quantities
    for name in ("field", "current", "thrust_gain", "lorentz_force"):
        assert flat[name] == pytest.approx(uniform[name], rel=1e-6), name
    assert flat["back_emf"] == pytest.approx(
        uniform["back_emf"], rel=3e-5
    )  # read between nodes, of other steps


def test_a_measured_profile_s_field_is_its_mean_along_the_pair(tmp_path):
    """By hand: 0.5 T − 100 T/m² (x − 45 mm)² over ± 30 mm has the mean 0.5 − 100 · 0.03²/3 = 0.47 T."""
    found = solve(study_named("profile", tmp_path)).quantities
    assert found["field"] == pytest.approx(0.47, rel=1e-3)
