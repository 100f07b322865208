"""The solver on a table of a perfect gas, against closed forms and printed gas tables.

Rows are those of the project's list of check values; the closed forms themselves are checked in tests/physics.
"""

import tomllib
from pathlib import Path

import numpy as np
import pytest
from physics import perfect_gas
from stage.perfect_table import PerfectGas, marched, operated

from explorer.stage import columns
from explorer.stage.columns import CHOKED, OK
from explorer.stage.pair_current import HEATER, OPEN, POWERED

FOLDER = Path(__file__).parents[1] / "reference"
TABLES = tomllib.loads((FOLDER / "perfect_gas.toml").read_text(encoding="utf-8"))
CLOSED_FORMS = tomllib.loads((FOLDER / "ideal_channel.toml").read_text(encoding="utf-8"))

AIR = PerfectGas(1.4, 287.0, temperatures=(500.0, 6500.0))
GAMMA = AIR.gamma


def at_mach(mach, *, total_temperature=3000.0, total_pressure=2e6):
    """A state of the perfect gas with this Mach number."""
    temperature = total_temperature * perfect_gas.temperature_ratio(mach, GAMMA)
    return {
        "velocity": mach * AIR.sound_speed(temperature),
        "pressure": total_pressure * perfect_gas.pressure_ratio(mach, GAMMA),
        "temperature": temperature,
    }


def mach_of(end):
    return end.velocity / AIR.sound_speed(end.temperature)


def test_a_converging_channel_follows_the_isentropic_table():
    """Row 16: NACA Report 1135 for γ 1.4 and Mach 2 (from memory), marched from Mach 3 down the area ratio."""
    row = TABLES["isentropic"]
    growth = row["area"] / perfect_gas.area_ratio(3.0, GAMMA) - 1.0
    end = marched(AIR, **at_mach(3.0), length=1.0, area_growth=growth, mode=OPEN)
    assert end.outcome == OK
    assert mach_of(end) == pytest.approx(row["mach"], rel=1e-4)
    assert end.temperature / 3000.0 == pytest.approx(row["temperature"], rel=1e-4, abs=5e-5)
    assert end.pressure / 2e6 == pytest.approx(row["pressure"], rel=1e-4, abs=5e-5)


def test_a_rough_channel_follows_the_fanno_line():
    """Row 16: gas tables for γ 1.4 and Mach 2 (from memory), marched from Mach 3 by friction alone."""
    row = TABLES["fanno"]
    start = at_mach(3.0)
    length = perfect_gas.fanno_length(3.0, GAMMA) - row["length"]
    end = marched(AIR, **start, length=1.0, friction_coefficient=length * 0.1 / 4.0, mode=OPEN)
    assert end.outcome == OK
    assert mach_of(end) == pytest.approx(row["mach"], rel=1e-4)
    sonic = start["pressure"] / perfect_gas.fanno_pressure(3.0, GAMMA)
    assert end.pressure / sonic == pytest.approx(row["pressure"], rel=1e-4)
    sonic = start["temperature"] / perfect_gas.fanno_temperature(3.0, GAMMA)
    assert end.temperature / sonic == pytest.approx(row["temperature"], rel=1e-4)


def test_a_heated_channel_follows_the_rayleigh_line():
    """Row 16: gas tables for γ 1.4 and Mach 2 (from memory), marched from Mach 3 by heat alone."""
    row = TABLES["rayleigh"]
    start = at_mach(3.0, total_temperature=2000.0)
    rise = row["total_temperature"] / perfect_gas.rayleigh_total_temperature(3.0, GAMMA)
    mass_flow = start["pressure"] / (AIR.gas_constant * start["temperature"]) * start["velocity"] * 0.01
    power = mass_flow * AIR.heat_capacity * 2000.0 * (rise - 1.0)
    end = marched(AIR, **start, length=1.0, power=power, mode=HEATER)
    assert end.outcome == OK
    assert mach_of(end) == pytest.approx(row["mach"], rel=1e-4)
    sonic = start["pressure"] / perfect_gas.rayleigh_pressure(3.0, GAMMA)
    assert end.pressure / sonic == pytest.approx(row["pressure"], rel=1e-4)
    sonic = start["temperature"] / perfect_gas.rayleigh_temperature(3.0, GAMMA)
    assert end.temperature / sonic == pytest.approx(row["temperature"], rel=1e-4)


@pytest.mark.parametrize(("share", "outcome"), [(0.98, OK), (1.02, CHOKED)])
def test_friction_chokes_the_channel_at_the_printed_length(share, outcome):
    """Gas tables, Fanno line, γ 1.4, Mach 2: 4 C_f L*/D 0.30500 (from memory)."""
    friction = share * TABLES["fanno"]["length"] * 0.1 / 4.0
    assert (
        marched(AIR, **at_mach(2.0), length=1.0, friction_coefficient=friction, mode=OPEN).outcome == outcome
    )


@pytest.mark.parametrize(("share", "outcome"), [(0.98, OK), (1.02, CHOKED)])
def test_heat_chokes_the_channel_at_the_printed_temperature_rise(share, outcome):
    """Gas tables, Rayleigh line, γ 1.4, Mach 2: T0/T0* 0.79339 (from memory)."""
    start = at_mach(2.0)
    mass_flow = start["pressure"] / (AIR.gas_constant * start["temperature"]) * start["velocity"] * 0.01
    rise = share * (1.0 / TABLES["rayleigh"]["total_temperature"] - 1.0)
    power = mass_flow * AIR.heat_capacity * 3000.0 * rise
    assert marched(AIR, **start, length=1.0, power=power, mode=HEATER).outcome == outcome


@pytest.mark.parametrize(("share", "outcome"), [(1.02, OK), (0.98, CHOKED)])
def test_a_throat_in_the_channel_chokes_it_at_the_printed_area_ratio(share, outcome):
    """NACA Report 1135: A/A* 1.6875 at Mach 2 and γ 1.4 (from memory)."""
    growth = share / TABLES["isentropic"]["area"] - 1.0
    assert marched(AIR, **at_mach(2.0), length=1.0, area_growth=growth, mode=OPEN).outcome == outcome


@pytest.mark.parametrize("case", [0, 1])
def test_the_march_has_the_published_slopes_in_crossed_fields(case):
    """Row 13: Resler and Sears 1958; Wood and Carter (read second-hand, re-derived); the supersonic cases."""
    row = CLOSED_FORMS["slopes"]
    gas = PerfectGas(
        row["heat_capacity_ratio"],
        row["gas_constant"],
        conductivity=row["conductivity"],
        temperatures=(2000.0, 3000.0),
        pressures=(5e4, 2e5),
    )
    short = 1e-3

    def beyond(length):
        end = marched(
            gas,
            velocity=row["velocity"][case],
            pressure=row["pressure"],
            temperature=row["temperature"],
            length=length,
            area_growth=row["area_slope"][case] * length,
            mode=POWERED,
            electric_field=row["electric_field"][case],
            field=row["field"],
            steps=1,
        )
        assert end.outcome == OK
        mach = end.velocity / gas.sound_speed(end.temperature)
        log_total = np.log(end.pressure / perfect_gas.pressure_ratio(mach, gas.gamma))
        return np.array([end.velocity, mach, log_total])

    slopes = (beyond(short) - beyond(-short)) / (2 * short)
    expected = [row[key][case] for key in ("velocity_slope", "mach_slope", "log_total_pressure_slope")]
    assert slopes == pytest.approx(expected, rel=row["tolerance"])


def test_the_momentum_kernel_follows_the_constant_pressure_accelerator():
    """Row 14 (derived): a gas so cold and of so large a heat capacity that pressure forces vanish."""
    row = CLOSED_FORMS["constant_pressure"]
    gas = PerfectGas(
        1.0001, 0.04, conductivity=row["conductivity"], temperatures=(800.0, 6500.0), pressures=(0.2, 10.0)
    )
    for x, expected in zip(row["x"], row["velocity"], strict=True):
        end = marched(
            gas,
            velocity=row["inlet_velocity"],
            pressure=row["mass_flux"] * gas.gas_constant * 1000.0 / row["inlet_velocity"],
            temperature=1000.0,
            length=x,
            mode=POWERED,
            electric_field=row["electric_field"],
            field=row["field"],
        )
        assert end.outcome == OK
        assert end.velocity == pytest.approx(expected, rel=row["tolerance"])


def thin(gas, *, velocity, gap, width, length, source_resistance, field, segmented, voltage_drop=0.0):
    """A generator in a flow too dense for the current to change it, through the whole kernel."""
    temperature = 2500.0
    mach = velocity / gas.sound_speed(temperature)
    pressure = gas.pressures[0] * 10
    total_temperature = temperature / perfect_gas.temperature_ratio(mach, gas.gamma)
    total_pressure = pressure / perfect_gas.pressure_ratio(mach, gas.gamma)
    point = dict.fromkeys(columns.INPUTS, 0.0) | {
        "reactant_enthalpy": gas.heat_capacity * total_temperature,
        "chamber_pressure": total_pressure,
        "combustion_efficiency": 1.0,
        "heat_loss_share": 1.0,
        "conductivity_factor": 1.0,
        "nozzle_lag": 1.0,
        "throat_flow_area": gap * width / perfect_gas.area_ratio(mach, gas.gamma),
        "length": 1.2 * length,
        "gap_in": gap,
        "gap_out": gap,
        "width_in": width,
        "width_out": width,
        "wall_temperature": 1000.0,
        "area_ratio": 1.0,
    }
    pair = dict.fromkeys(columns.PAIR_INPUTS, 0.0) | {
        "start": 0.1 * length,
        "length": length,
        "voltage_drop": voltage_drop,
        "arc_voltage": np.inf,
        "source_resistance": source_resistance,
        "source_current_limit": np.inf,
    }
    found, outcome = operated(gas, point, pair, field=field, segmented=segmented, supplies=False)
    assert outcome == OK
    assert found["inlet_velocity"] == pytest.approx(velocity, rel=1e-5)
    assert found["inlet_mach"] == pytest.approx(mach, rel=1e-5)
    return found


@pytest.mark.parametrize("load", [0.2, 0.05, 4.0])
def test_the_textbook_generator_comes_out_of_the_channel_solver(load):
    """Row 11: G. D. Rai, Non-conventional Energy Sources, example 12.6.1 (read); thin limit, 1 %."""
    row = CLOSED_FORMS["textbook_generator"]
    gas = PerfectGas(1.4, 50.0, conductivity=row["conductivity"], pressures=(1e8, 1e11))
    side = row["electrode_area"] ** 0.5
    found = thin(
        gas,
        velocity=row["velocity"],
        gap=row["gap"],
        width=side,
        length=side,
        source_resistance=load,
        field=row["field"],
        segmented=True,
    )
    assert found["back_emf"] == pytest.approx(row["open_circuit_voltage"], rel=0.01)
    inside = (found["back_emf"] - found["terminal_voltage"]) / -found["plasma_current"]
    assert inside == pytest.approx(row["resistance"], rel=0.01)
    delivered = -found["terminal_voltage"] * found["plasma_current"]
    if load == row["resistance"]:
        assert delivered == pytest.approx(row["maximum_power"], rel=0.01)
    else:
        assert delivered < 0.75 * row["maximum_power"]


@pytest.mark.parametrize("layout", ["continuous", "segmented"])
def test_the_power_density_of_a_generator_comes_out_of_the_channel_solver(layout):
    """Row 12: O. A. Marzouk, arXiv:2510.01289 (read); thin limit, 1 %."""
    row = CLOSED_FORMS["power_density"]
    gas = PerfectGas(
        1.4,
        200.0,
        conductivity=row["conductivity"],
        mobility=row["hall_parameter"] / row["field"],
        pressures=(1e9, 1e12),
    )
    gap, width, length = 0.4, 0.3, 0.5
    effective = row["conductivity"] / (1.0 if layout == "segmented" else 1.0 + row["hall_parameter"] ** 2)
    inside = gap / (effective * width * length)
    found = thin(
        gas,
        velocity=row["velocity"],
        gap=gap,
        width=width,
        length=length,
        source_resistance=inside * row["load_factor"] / (1 - row["load_factor"]),
        field=row["field"],
        segmented=layout == "segmented",
    )
    assert found["terminal_voltage"] / gap == pytest.approx(row["electric_field"], rel=0.01)
    delivered = -found["terminal_voltage"] * found["plasma_current"] / (gap * width * length)
    assert delivered == pytest.approx(row[layout], rel=0.01)
    if layout == "continuous":
        assert -found["plasma_current"] / (width * length) == pytest.approx(row["current_density"], rel=0.01)


def test_the_root_of_the_generated_power_is_a_line_in_the_field():
    """Row 15: power ∝ (B − V_d/(u g))², diagonal-wall generator study (read); segmented, thin limit."""
    row = CLOSED_FORMS["voltage_drop"]
    gas = PerfectGas(1.4, 200.0, conductivity=8.0, pressures=(1e11, 1e14))
    drop, velocity, gap, width, length, K = 30.0, 1500.0, 0.04, 0.05, 0.2, 0.6
    inside = gap / (gas.conductivity * width * length)
    field = np.linspace(0.8, 3.0, 5)
    power = []
    for B in field:
        found = thin(
            gas,
            velocity=velocity,
            gap=gap,
            width=width,
            length=length,
            source_resistance=inside * K / (1 - K),
            field=float(B),
            segmented=True,
            voltage_drop=drop,
        )
        power.append(-found["terminal_voltage"] * found["plasma_current"])
        assert found["terminal_voltage"] == pytest.approx(
            K * (found["back_emf"] - drop), rel=row["tolerance"]
        )
    slope, intercept = np.polyfit(field, np.sqrt(power), 1)
    assert np.sqrt(power) == pytest.approx(slope * field + intercept, rel=row["tolerance"])
    exact_velocity = found["back_emf"] / (field[-1] * gap)
    assert -intercept / slope == pytest.approx(drop / (exact_velocity * gap), rel=row["tolerance"])


def test_the_nozzle_follows_the_isentropic_table():
    """Row 16: NACA Report 1135 for γ 1.4 (from memory): area 1.6875 times the throat gives Mach 2."""
    row = TABLES["isentropic"]
    point = dict.fromkeys(columns.INPUTS, 0.0) | {
        "reactant_enthalpy": AIR.heat_capacity * 3000.0,
        "chamber_pressure": 2e6,
        "combustion_efficiency": 1.0,
        "heat_loss_share": 1.0,
        "conductivity_factor": 1.0,
        "nozzle_lag": 1.0,
        "throat_flow_area": 0.01 / row["area"],
        "length": 1.0,
        "gap_in": 0.1,
        "gap_out": 0.1,
        "width_in": 0.1,
        "width_out": 0.1,
        "wall_temperature": 1000.0,
        "area_ratio": perfect_gas.area_ratio(3.0, GAMMA) / row["area"],
    }
    pair = dict.fromkeys(columns.PAIR_INPUTS, 0.0) | {"start": 0.2, "length": 0.5, "arc_voltage": np.inf}
    found, _ = operated(AIR, point, pair, field=0.0, segmented=True, supplies=True)
    for place in ("inlet", "outlet"):
        assert found[f"{place}_mach"] == pytest.approx(row["mach"], rel=1e-4)
        assert found[f"{place}_temperature"] / 3000.0 == pytest.approx(row["temperature"], rel=1e-4, abs=5e-5)
        assert found[f"{place}_pressure"] / 2e6 == pytest.approx(row["pressure"], rel=1e-4, abs=5e-5)
    assert found["exit_mach"] == pytest.approx(3.0, rel=1e-4)
    # c* = √(R T0) √((γ+1)/2)^((γ+1)/(γ−1)) / √γ of a perfect gas, textbook (from memory)
    exponent = (GAMMA + 1.0) / (2.0 * (GAMMA - 1.0))
    c_star = np.sqrt(AIR.gas_constant * 3000.0 / GAMMA) * ((GAMMA + 1.0) / 2.0) ** exponent
    assert found["characteristic_velocity"] == pytest.approx(c_star, rel=1e-5)


@pytest.mark.parametrize("efficiency", [0.9, 0.97])
def test_the_loss_of_characteristic_velocity_of_a_perfect_gas_goes_with_the_root_of_the_temperature(
    efficiency,
):
    """c* ∝ √T of a perfect gas: its chamber is at η² of the flame temperature (MODEL.md, section 1)."""
    point = dict.fromkeys(columns.INPUTS, 0.0) | {
        "reactant_enthalpy": AIR.heat_capacity * 3000.0,
        "chamber_pressure": 2e6,
        "combustion_efficiency": efficiency,
        "heat_loss_share": 1.0,
        "conductivity_factor": 1.0,
        "nozzle_lag": 1.0,
        "throat_flow_area": 0.005,
        "length": 1.0,
        "gap_in": 0.1,
        "gap_out": 0.1,
        "width_in": 0.1,
        "width_out": 0.1,
        "wall_temperature": 1000.0,
        "area_ratio": 1.0,
    }
    pair = dict.fromkeys(columns.PAIR_INPUTS, 0.0) | {"start": 0.2, "length": 0.5, "arc_voltage": np.inf}
    found, _ = operated(AIR, point, pair, field=0.0, segmented=True, supplies=True)
    assert found["flame_temperature"] == pytest.approx(3000.0, rel=1e-6)
    assert found["chamber_temperature"] == pytest.approx(efficiency**2 * 3000.0, rel=1e-6)
