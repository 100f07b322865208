"""The slow reference against Cantera's own solvers, NACA 1135, another integrator, and closures."""

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy import constants
from scipy.integrate import solve_ivp
from scipy.optimize import minimize_scalar

from .channel import Discharge, Duct, march, open_circuit, station
from .circuit import Plasma, pairs_from, powered
from .gas import EquilibriumGas, State, _collision_quadrature
from .mixture import mixture_from
from .model import costed_point, reference_point
from .nozzle import nozzle

# An invented bench stage.
BENCH: dict[str, Any] = {
    "mode": "acceleration",
    "gas.fuel": "ethanol",
    "gas.oxidizer": "oxygen",
    "gas.mixture_ratio": 1.95,
    "gas.seed": "potassium carbonate",
    "gas.seed_fraction": 0.01,
    "gas.seed_water": 1.075,
    "gas.seed_vaporized": 0.8,
    "gas.chamber_pressure": 12e5,
    "gas.combustion_efficiency": 0.96,
    "gas.conductivity_factor": 1.0,
    "gas.nozzle_lag": 0.8,
    "nozzle.throat_diameter": 9e-3,
    "nozzle.discharge_coefficient": 0.965,
    "channel.length": 0.09,
    "channel.gap_in": 11e-3,
    "channel.gap_out": 12.5e-3,
    "channel.width_in": 10e-3,
    "channel.width_out": 10.5e-3,
    "channel.wall_temperature": 800.0,
    "channel.friction_coefficient": 0.0045,
    "channel.heat_transfer_factor": 1.1,
    "magnet.field": 0.48,
    "electrodes.main.start": 0.015,
    "electrodes.main.length": 0.06,
    "electrodes.main.layout": "continuous",
    "electrodes.main.voltage_drop": 8.0,
    "electrodes.main.drop_resistance": 0.005,
    "electrodes.main.arc_voltage": 100.0,
    "electrodes.main.leak_conductance": 0.01,
    "electrodes.main.source.kind": "supply",
    "electrodes.main.source.voltage": 150.0,
    "electrodes.main.source.current_limit": 50.0,
    "electrodes.main.source.resistance": 0.1,
    "exit.area_ratio": 1.3,
    "ambient.pressure": 101325.0,
}
STRONG = BENCH | {  # everything large: kilowatts into a hundred newtons
    "magnet.field": 1.2,
    "gas.conductivity_factor": 2.0,
    "electrodes.main.drop_resistance": 0.001,
    "electrodes.main.layout": "segmented",
    "electrodes.main.source.voltage": 200.0,
}
LOAD = {key: value for key, value in BENCH.items() if not key.startswith("electrodes.main.source")} | {
    "mode": "extraction",
    "magnet.field": 1.0,
    "electrodes.main.source.kind": "load",
    "electrodes.main.source.resistance": 5.0,
}


class PerfectGas:
    """A stand-in for the equilibrium gas: constant γ and R."""

    gamma, R = 1.4, 287.0

    def state(self, T: float, p: float) -> State:
        cp = self.R * self.gamma / (self.gamma - 1.0)
        s = cp * math.log(T) - self.R * math.log(p)
        return State(T, p, p / (self.R * T), cp * T, s, cp, 1.0, -1.0, np.empty(0))


def bench_gas() -> EquilibriumGas:
    return EquilibriumGas(mixture_from(BENCH))


def number(outputs: dict[str, Any], key: str) -> float:
    return float(outputs[key])


@pytest.mark.parametrize(("T", "p"), [(3000.0, 12e5), (2500.0, 1e5), (1800.0, 5e4), (900.0, 2e5)])
def test_equilibrium_derivatives_agree_with_differences(T: float, p: float) -> None:
    gas, d = bench_gas(), 1e-4
    here = gas.state(T, p)
    hot, cold = gas.state(T * (1 + d), p), gas.state(T * (1 - d), p)
    high, low = gas.state(T, p * (1 + d)), gas.state(T, p * (1 - d))
    assert here.cp == pytest.approx((hot.h - cold.h) / (2 * d * T), rel=1e-6)
    assert here.volume_T == pytest.approx(-math.log(hot.rho / cold.rho) / (2 * d), rel=1e-6)
    assert here.volume_p == pytest.approx(-math.log(high.rho / low.rho) / (2 * d), rel=1e-6)


def test_nozzle_agrees_with_cantera_s_own_entropy_solver() -> None:
    """Second method: bounded minimisation of −ρu over Cantera's SP equilibrium, and its HP temperature."""
    mixture = mixture_from(BENCH)
    gas = EquilibriumGas(mixture)
    found = nozzle(
        gas,
        mixture,
        chamber_pressure=12e5,
        efficiency=0.96,
        throat_area=math.pi / 4 * 9e-3**2,
        discharge_coefficient=0.965,
        inlet_area=110e-6,
    )
    cantera_gas = gas._gas

    def largest_flux(T: float) -> float:
        cantera_gas.TP = T, 12e5
        cantera_gas.equilibrate("TP")
        s, h = cantera_gas.s, cantera_gas.h

        def negative(ln_p: float) -> float:
            cantera_gas.SP = s, math.exp(ln_p)
            cantera_gas.equilibrate("SP")
            return float(-cantera_gas.density * math.sqrt(2 * (h - cantera_gas.h)))

        bounds = (math.log(0.4 * 12e5), math.log(0.8 * 12e5))
        return -float(minimize_scalar(negative, bounds=bounds, method="bounded", options={"xatol": 1e-6}).fun)

    cantera_gas.TP = 3200.0, 12e5
    cantera_gas.equilibrate("TP")
    cantera_gas.HP = mixture.enthalpy, 12e5
    cantera_gas.equilibrate("HP")
    T_adiabatic = cantera_gas.T
    ideal, real = 12e5 / largest_flux(T_adiabatic), 12e5 / largest_flux(found.chamber.T)
    assert found.T_adiabatic == pytest.approx(T_adiabatic, rel=1e-8)
    assert real / ideal == pytest.approx(0.96, rel=1e-7)
    assert found.characteristic_velocity == pytest.approx(real, rel=1e-8)
    cantera_gas.SP = found.chamber.s, found.inlet.p
    cantera_gas.equilibrate("SP")
    u = math.sqrt(2 * (found.chamber.h - cantera_gas.h))
    assert cantera_gas.density * u * 110e-6 == pytest.approx(found.gas_flow, rel=1e-7)
    assert found.inlet_velocity > found.inlet.sound_speed


@pytest.mark.parametrize(
    ("name", "expected"),  # µN at 2000, 2500, 3000 K, 1e24 /(V m s)
    [
        ("N2", (6.92, 5.82, 5.07)),
        ("H2", (4.25, 3.62, 3.18)),
        ("CO", (5.00, 4.07, 3.43)),
        ("CO2", (2.56, 2.76, 2.91)),
        ("H2O", (0.436, 0.519, 0.613)),
    ],
)
def test_mobility_of_pure_gases_is_that_of_the_published_cross_sections(name: str, expected: Any) -> None:
    """Source: worked out beforehand from the LXCat sets named in the table; 3 %."""
    energy, weights, Q = _collision_quadrature([name])
    for T, value in zip((2000.0, 2500.0, 3000.0), expected, strict=True):
        x = energy * constants.e / (constants.k * T)
        collisions = np.sqrt(2 * energy * constants.e / constants.m_e) * Q[0]
        spread = np.sum(weights * constants.e / (constants.k * T) * x**1.5 * np.exp(-x) / collisions)
        mobility = 4 / (3 * math.sqrt(math.pi)) * constants.e / constants.m_e * spread
        assert mobility == pytest.approx(value * 1e24, rel=0.03)


def perfect_duct(mach: float, **changes: float) -> tuple[Duct, State, float]:
    state = PerfectGas().state(600.0, 1e5)
    u = mach * state.sound_speed
    duct = Duct(
        length=1.0,
        gap_in=0.1,
        gap_out=0.1,
        width_in=0.1,
        width_out=0.1,
        friction_coefficient=0.0,
        heat_transfer_factor=0.0,
        wall_enthalpy=0.0,
        gas_flow=state.rho * u * 0.01,
        field=0.0,
    )
    return replace(duct, **changes), state, u


def final_mach(duct: Duct, state: State, u: float, driver: Callable[..., Any] = open_circuit) -> float:
    places = np.linspace(0.0, duct.length, 401).tolist()
    last = march(PerfectGas(), duct, state, u, places, driver)[-1]  # type: ignore[arg-type]
    return last.u / last.state.sound_speed


def test_channel_reproduces_isentropic_fanno_and_rayleigh_flow() -> None:
    """NACA Report 1135 and the usual gas tables, γ 1.4 (from memory): A/A* 1.6875 at M 2 and 4.2346 at M 3;
    4 f L*/D 0.30500 at M 2 and 0.52216 at M 3; T0/T0* 0.79339 at M 2 and 0.65398 at M 3."""
    wide, state, u = perfect_duct(2.0, gap_out=0.1 * 4.2346 / 1.6875)
    assert final_mach(wide, state, u) == pytest.approx(3.0, rel=1e-4)
    # the hydraulic diameter of a square duct is its side
    fanno, state, u = perfect_duct(3.0, friction_coefficient=(0.52216 - 0.30500) / 4 * 0.1)
    assert final_mach(fanno, state, u) == pytest.approx(2.0, rel=1e-4)
    rayleigh, state, u = perfect_duct(3.0)
    power = rayleigh.gas_flow * (state.h + 0.5 * u**2) * (0.79339 / 0.65398 - 1.0)

    def heated(*_: Any) -> tuple[Discharge, float, float]:
        return Discharge(), 0.0, power

    assert final_mach(rayleigh, state, u, heated) == pytest.approx(2.0, rel=1e-4)


def test_powered_march_agrees_with_another_integrator_in_primitive_variables() -> None:
    """Second method: SciPy's DOP853 on dT/dx and dp/dx at a fixed voltage; second order in the step."""
    mixture = mixture_from(STRONG)
    gas = EquilibriumGas(mixture)
    state = gas.state(2650.0, 1.9e5)
    u = 1850.0
    duct = Duct(0.09, 11e-3, 12.5e-3, 10e-3, 10.5e-3, 0.0045, 1.1, -9.7e6, state.rho * u * 110e-6, 1.2)
    driver = powered(pairs_from(STRONG)[0], 150.0, duct, Plasma(gas, 1.6, 1.0, 1.2))

    def slope(x: float, y: Any) -> Any:
        T, p = y
        here = gas.state(T, p)
        area = duct.area(x)
        u = duct.gas_flow / (here.rho * area)
        sources = station(duct, x, here, u, driver)
        force = sources.momentum_source - p * duct.area_slope(x)
        du_dT, du_dp = u * here.volume_T / T, u * here.volume_p / p
        du_dx = -u * duct.area_slope(x) / area
        dh_dp = (1 - here.volume_T) / here.rho
        flow = duct.gas_flow
        matrix = [
            [flow * du_dT, flow * du_dp + area],
            [flow * (here.cp + u * du_dT), flow * (dh_dp + u * du_dp)],
        ]
        return np.linalg.solve(matrix, [force - flow * du_dx, sources.energy_source - flow * u * du_dx])

    exact = solve_ivp(slope, (0.0, 0.09), [2650.0, 1.9e5], method="DOP853", rtol=1e-9, atol=1e-6).y[:, -1]
    errors = []
    for steps in (24, 48):
        last = march(gas, duct, state, u, np.linspace(0.0, 0.09, steps + 1).tolist(), driver)[-1].state
        errors.append(max(abs(last.T / exact[0] - 1), abs(last.p / exact[1] - 1)))
    assert errors[1] < 1e-4
    assert errors[0] / errors[1] == pytest.approx(4.0, rel=0.1)


@pytest.mark.parametrize("inputs", [BENCH, STRONG, LOAD])
def test_electrical_balance_and_circuit_close(inputs: dict[str, Any]) -> None:
    found = reference_point(inputs)
    voltage, current = number(found, "terminal_voltage"), number(found, "current")
    push = number(found, "plasma_current") * voltage - number(found, "electrode_drop_power")
    push -= number(found, "joule_heating")  # ∫ j u B A dx
    assert found["status"] == "ok"
    assert current == pytest.approx(number(found, "plasma_current") + 0.01 * voltage, rel=1e-12)
    # the work on the moving gas lies between force times the slowest and the fastest velocity
    assert 1500.0 < push / number(found, "lorentz_force") < 2500.0
    if inputs["mode"] == "extraction":
        assert voltage == pytest.approx(-5.0 * current, rel=1e-7)
    else:
        by_source = inputs["electrodes.main.source.voltage"] - 0.1 * current
        limited = current == pytest.approx(50.0, rel=1e-7)
        assert voltage == pytest.approx(by_source, rel=1e-7) or (limited and voltage < by_source)


@pytest.mark.parametrize("inputs", [BENCH, STRONG, LOAD])
def test_halving_the_step_hardly_changes_the_answer(inputs: dict[str, Any]) -> None:
    coarse, fine = reference_point(inputs), reference_point(inputs, steps=96)
    for key in ("thrust", "exit_velocity", "exit_temperature", "current", "electrical_power", "wall_heat"):
        assert number(coarse, key) == pytest.approx(number(fine, key), rel=1e-3), key
    gain = abs(number(coarse, "thrust_gain") - number(fine, "thrust_gain"))
    assert gain < 1e-3 * abs(number(fine, "thrust_gain")) + 1e-7 * number(fine, "thrust")


def test_supply_below_the_threshold_drives_only_the_leak() -> None:
    found = reference_point(BENCH | {"electrodes.main.source.voltage": 17.0})
    assert found["status"] == "no_contact"
    assert number(found, "threshold_voltage") > 17.0
    assert number(found, "current") == pytest.approx(0.01 * 17.0 / 1.001, rel=1e-12)
    assert number(found, "plasma_current") == 0.0
    assert number(found, "thrust_gain") == pytest.approx(0.0, abs=1e-9 * number(found, "thrust"))


def test_heater_twin_equals_the_on_case_without_a_field() -> None:
    found = reference_point(BENCH | {"magnet.field": 0.0})
    assert number(found, "current") > 1.0
    gain = number(found, "thrust_gain")
    assert gain > 1e-5 * number(found, "thrust")
    assert number(found, "thrust_gain_heating") == pytest.approx(gain, abs=2e-9 * number(found, "thrust"))


def test_too_much_friction_chokes_and_gives_no_numbers() -> None:
    found = reference_point(BENCH | {"channel.gap_out": 10e-3, "channel.friction_coefficient": 0.03})
    assert found == {"status": "choked"}


def test_a_step_costs_at_most_twenty_five_equilibria() -> None:
    for inputs in (BENCH, STRONG, LOAD):
        assert costed_point(inputs)[1].per_step < 25.0
