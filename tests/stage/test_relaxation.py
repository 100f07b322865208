"""Electrons that relax along the channel and in the nozzle: SciPy's solution of the equation, limits, balances."""

from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicSpline
from study.texts import study_named

from explorer import constants as c
from explorer.physics.contact.recombination import recombination_rate
from explorer.questions.solve.point import solve
from explorer.stage import columns, kernel
from explorer.stage.columns import rows
from explorer.stage.design import kernel_inputs
from explorer.stage.evaluate import evaluate
from explorer.stage.gas.expansion import supersonic, throat
from explorer.stage.gas.freezing import STEPS, electrons_at_inlet
from explorer.stage.gas.lookup import contract, electrical, entropy, gas_space, temperature, thermo
from explorer.stage.gas.relaxation import Relaxation
from explorer.stage.gas.table import SHEAR
from explorer.stage.outputs.points import Points
from explorer.stage.outputs.quantities import output
from explorer.study.engine import Stage

LAG = 0.8  # nozzle_lag of the studies here
EXPONENT = 0.95


@pytest.fixture(scope="module")
def preionized(tmp_path_factory):
    return study_named("preionized", tmp_path_factory.mktemp("studies"))


@pytest.fixture(scope="module")
def discharges(tmp_path_factory):
    return study_named("discharges", tmp_path_factory.mktemp("studies"))


def gas_of(study):
    """The gas of a study at central values, its point and its inlet."""
    central = study.central()
    stage = Stage(study, (), samples=central, at_samples_only=True)
    seeded = study.choices["gas.seed"] != "none"
    table = stage.tables(0, seeded)
    gas = gas_space(table.axes, table.coefficients.shape[3])
    point = rows(kernel_inputs(stage.design, central).points, columns.INPUTS)[0]
    assert contract(table.coefficients, table.axes, kernel.mixture_of(point), gas)
    return gas, kernel.inlet_of(gas, point)


def surroundings(gas, xi, z, *, seeded):
    """Equilibrium density, rate and gas density at a state."""
    p, T = np.exp(z), temperature(xi, z)
    sigma, mobility = electrical(gas, xi, z, p)
    rate = recombination_rate(T, p / (c.k * T), float(seeded), 1.0, EXPONENT)
    return LAG * sigma / (c.e * mobility), rate, p / thermo(gas, xi, z)[3]


def along_channel(study):
    """The profile, and SciPy's electrons at its places, in the flow that was marched."""
    along = solve(study).along
    gas, _ = gas_of(study)
    seeded = study.choices["gas.seed"] != "none"
    z = np.log(along["pressure"])
    xi = np.log(along["temperature"]) - SHEAR * z
    found = np.array([surroundings(gas, *state, seeded=seeded) for state in zip(xi, z, strict=True)])
    x, keep = np.unique(along["x"], return_index=True)
    settled, rate, density = (CubicSpline(x, values) for values in found[keep].T)
    velocity = CubicSpline(x, along["velocity"][keep])
    values = study.central()
    start = values.get("preionizer.start", 0.0)
    end = start + values.get("preionizer.length", 0.0)
    inside = np.linspace(start, end, 2001)
    volume = np.trapezoid(np.interp(inside, x, (along["gap"] * along["width"])[keep]), inside)
    power = values.get("preionizer.power", 0.0) * values.get("preionizer.coupling", 0.0)
    source = power / (values.get("preionizer.pair_energy", 1.0) * volume)

    def slope(at, per_mass):
        n, rho = per_mass * density(at), density(at)
        made = source if start <= at < end else 0.0
        return (rate(at) * (settled(at) ** 2 - n**2) + made) / (rho * velocity(at))

    per_mass, places = along["electron_density"][0] / found[0, 2], [0.0, start, end, x[-1]]
    expected = np.full(x.size, np.nan)
    for low, high in pairwise(places):
        if high <= low:
            continue
        here = (x >= low) & (x <= high)
        solved = solve_ivp(
            slope,
            (low, np.nextafter(high, low)),
            [float(per_mass)],
            "LSODA",
            rtol=1e-9,
            atol=1e6,
            dense_output=True,
        )
        expected[here] = solved.sol(np.minimum(x[here], solved.t[-1]))[0] * density(x[here])
        per_mass = solved.y[0, -1]
    return x, along["electron_density"][keep], expected, settled(x)


@pytest.mark.parametrize("seed", ["potassium carbonate", "none"])
def test_the_march_follows_scipy_s_solution_of_the_same_equation(preionized, seed):
    _, marched, expected, settled = along_channel(preionized.replaced({"gas.seed": seed}))
    assert marched == pytest.approx(expected, rel=5e-4)
    assert np.max(np.abs(marched / settled - 1.0)) > 0.2  # what is compared is not equilibrium


def test_without_a_pre_ioniser_electrons_lag_behind_a_cooling_gas(preionized):
    study = preionized.replaced({"preionizer.power": "0 W", "gas.recombination_factor": 0.2})
    along = solve(study).along
    assert np.all(along["electron_density"] == along["unaided_density"])
    before = along["x"] < 0.0149
    assert np.all(np.diff(along["electron_density"][before]) < 0.0)


@pytest.mark.parametrize("pairs", [1, 2])
def test_infinite_recombination_is_equilibrium_all_along(tmp_path, pairs):
    plain = study_named("plain" if pairs == 1 else "two pairs", tmp_path)
    fast = plain.replaced({"gas.ionization": "relaxing", "gas.recombination_factor": 1e12})
    one, other = solve(fast), solve(plain)
    for name in ("thrust_gain", "thrust_gain_heating", "lorentz_force", "plasma_current", "joule_heating"):
        assert one.quantities[name] == pytest.approx(other.quantities[name], rel=1e-5), name
    there = np.interp(one.along["x"], other.along["x"], other.along["electron_density"])
    assert one.along["electron_density"] == pytest.approx(there, rel=1e-3)  # read between places


def test_without_recombination_as_many_electrons_leave_as_enter(tmp_path):
    frozen = study_named("two pairs", tmp_path).replaced(
        {"gas.ionization": "relaxing", "gas.recombination_factor": 0}
    )
    assert per_mass(frozen) == pytest.approx(per_mass(frozen)[0], rel=1e-9)


def test_what_a_pre_ioniser_makes_leaves_if_nothing_recombines(preionized):
    """Electrons per mass: coupled power over pair energy and mass flow."""
    frozen = preionized.replaced({"gas.recombination_factor": 0})
    found, values = per_mass(frozen), frozen.central()
    power = values["preionizer.power"] * values["preionizer.coupling"]
    made = power / values["preionizer.pair_energy"] / solve(frozen).quantities["channel_flow"]
    assert found[-1] - found[0] == pytest.approx(made, rel=1e-9)


def test_what_a_discharge_makes_leaves_its_pair_if_nothing_recombines(discharges):
    frozen = discharges.replaced({"gas.recombination_factor": 0})
    point, found = solve(frozen), per_mass(frozen)
    heat = point.quantities["electrodes.main.joule_heating"]
    made = heat / frozen.central()["electrodes.main.pair_energy"] / point.quantities["channel_flow"]
    assert made > 0.01 * found[0]
    assert found[-1] - found[0] == pytest.approx(made, rel=1e-6)
    own = point.along["x"] < 0.0449
    assert found[own] == pytest.approx(found[0], rel=1e-7)  # a pair does not feel its own


def per_mass(study):
    """Electrons per mass of gas along the channel [1/kg]."""
    point = solve(study)
    along = point.along
    mass_flux = point.quantities["channel_flow"] / (along["gap"] * along["width"])
    return along["electron_density"] * along["velocity"] / mass_flux


def test_a_pre_ioniser_heats_the_gas_by_all_its_coupled_power(preionized):
    insulated = preionized.replaced({"channel.heat_transfer_factor": 0})
    idle = insulated.replaced({"electrodes.main.source.voltage": "0 V"})
    values, along = idle.central(), solve(idle).along
    power = values["preionizer.power"] * values["preionizer.coupling"]
    rise = along["total_enthalpy"][-1] - along["total_enthalpy"][0]
    assert rise * solve(idle).quantities["channel_flow"] == pytest.approx(power, rel=1e-9)


def test_the_usual_steps_are_near_fine_ones(preionized):
    """A pre-ioniser's excess that falls in front of electrodes is what steps resolve worst."""
    study = preionized.replaced({"preionizer.start": "4.9 mm", "preionizer.power": "20 kW"})
    central = study.central()
    stage = Stage(study, (), samples=central, at_samples_only=True)

    def current(**steps):
        found = evaluate(stage.design, central, stage.tables, heater=False, **steps)
        return output(Points(stage.design, central, found), "plasma_current")[0]

    assert current() == pytest.approx(current(gap_steps=60, pair_steps=160), rel=3e-3)
    assert solve(preionized).quantities["plasma_current"] < 0.95 * current()


@pytest.mark.parametrize(
    ("seed", "lengths"), [("potassium carbonate", (2e-3, 25e-3)), ("none", (25e-3, 0.3))]
)
def test_electrons_leave_the_nozzle_as_scipy_says(preionized, seed, lengths):
    """The same equation along x, its gas from the supersonic root of each area instead of steps in pressure."""
    seeded = seed != "none"
    gas, inlet = gas_of(preionized.replaced({"gas.seed": seed}))
    s, h0 = (
        entropy(gas, inlet.xi_chamber, inlet.z_chamber)[0],
        thermo(gas, inlet.xi_chamber, inlet.z_chamber)[0],
    )
    xi_t, z_t, largest = throat(gas, s, h0, inlet.z_chamber - 0.55, inlet.xi_chamber)
    relaxation = Relaxation(True, float(seeded), 1.0, 0.0, 0.0, 0.0, 0.0)
    smallest = 1.0 + 1e-9
    ratio = largest * np.exp(-inlet.z) * thermo(gas, inlet.xi, inlet.z)[3] / inlet.velocity  # of areas

    def at(place):
        wanted = largest / (smallest + (ratio - smallest) * place)
        xi, z, u = supersonic(gas, s, h0, wanted, z_t - 0.5, xi_t)
        return *surroundings(gas, xi, z, seeded=seeded), u

    for length in lengths:

        def slope(place, y, length=length):
            settled, rate, density, u = at(place)
            return length * rate * (settled**2 - (y * density) ** 2) / (density * u)

        settled, _, density, _ = at(0.0)
        solved = solve_ivp(slope, (0.0, 1.0), [settled / density], "LSODA", rtol=1e-8, atol=1.0)
        settled, _, density, _ = at(1.0)
        expected = solved.y[0, -1] * density / settled
        there, equilibrium = electrons_at_inlet(
            gas, relaxation, inlet.xi_chamber, inlet.z_chamber, inlet.z, length, LAG, STEPS
        )
        assert there / equilibrium == pytest.approx(expected, rel=5e-3)
        assert expected > 1.005


def test_freezing_needs_a_length(preionized, tmp_path):
    assert solve(preionized).quantities["freezing"] > 1.0
    plain = study_named("plain", tmp_path).replaced({"gas.ionization": "relaxing"})
    assert np.isnan(solve(plain).quantities["freezing"])
