"""Proposals against designs known in closed form: ideal extraction, limits with a chance, a winner's luck."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
from physics import perfect_gas
from scipy.special import ndtri
from scipy.stats import norm
from stage.perfect_table import STATED, PerfectGas

from explorer import optimize
from explorer.questions.optimize.search.searching import FRESH_POINTS, SCENARIOS
from explorer.stage import columns
from explorer.stage.columns import OK
from explorer.stage.kernel import operating_points
from explorer.stage.segments import Setting

REFERENCE = Path(__file__).parents[2] / "reference/optimisation.toml"
CASES = tomllib.loads(REFERENCE.read_text(encoding="utf-8"))

GAS = PerfectGas(1.4, 50.0, conductivity=20.0, mobility=0.5, pressures=(1e8, 1e11))
FIELD, VELOCITY, GAP, LENGTH = 2.0, 800.0, 0.1, 0.4
#: Hall parameter µB = 1; gap over σ and the electrodes' area [ohm].
RESISTANCE = GAP / (GAS.conductivity * GAP * LENGTH)


def extraction(*, segmented=True, voltage_drop=0.0):
    """A generator with a load, in a gas so dense that the current hardly changes it: what it delivers, and of what."""
    temperature = 2500.0
    mach = VELOCITY / GAS.sound_speed(temperature)
    pressure = 10.0 * GAS.pressures[0]
    point = dict.fromkeys(columns.INPUTS, 0.0) | {
        "reactant_enthalpy": GAS.heat_capacity * temperature / perfect_gas.temperature_ratio(mach, GAS.gamma),
        "chamber_pressure": pressure / perfect_gas.pressure_ratio(mach, GAS.gamma),
        "combustion_efficiency": 1.0,
        "heat_loss_share": 1.0,
        "conductivity_factor": 1.0,
        "nozzle_lag": 1.0,
        "throat_flow_area": GAP**2 / perfect_gas.area_ratio(mach, GAS.gamma),
        "length": 1.2 * LENGTH,
        "gap_in": GAP,
        "gap_out": GAP,
        "width_in": GAP,
        "width_out": GAP,
        "wall_temperature": 1000.0,
        "area_ratio": 1.0,
    }
    pair = dict.fromkeys(columns.PAIR_INPUTS, 0.0) | {
        "start": 0.1 * LENGTH,
        "length": LENGTH,
        "voltage_drop": voltage_drop,
        "arc_voltage": np.inf,
        "source_current_limit": np.inf,
    }
    table = GAS.table()
    setting = Setting(np.array([segmented]), np.array([False]), *STATED, 1, 8, True)

    def model(values):
        loads = np.atleast_1d(values["load"])
        n = loads.size
        pairs = np.tile([pair[name] for name in columns.PAIR_INPUTS], (n, 1, 1))
        pairs[:, 0, columns.PAIR_INPUTS.index("source_resistance")] = loads
        results, pair_results = (
            np.empty((n, len(columns.OUTPUTS))),
            np.empty((n, 1, len(columns.PAIR_OUTPUTS))),
        )
        outcomes = np.empty(n, dtype=np.int8)
        operating_points(
            table.coefficients,
            table.axes,
            np.tile([point[name] for name in columns.INPUTS], (n, 1)),
            pairs,
            np.array([[FIELD]]),
            setting,
            results,
            pair_results,
            outcomes,
        )
        assert (outcomes == OK).all()
        found = dict(zip(columns.OUTPUTS, results.T, strict=True))
        found |= dict(zip(columns.PAIR_OUTPUTS, pair_results[:, 0].T, strict=True))
        power = -found["terminal_voltage"] * found["plasma_current"]
        return {
            "power": power,
            "load_factor": found["terminal_voltage"] / found["mean_back_emf"],
            "efficiency": power / (-found["lorentz_force"] * found["inlet_velocity"]),
            "slowed": 1.0 - found["outlet_velocity"] / found["inlet_velocity"],
        }

    return model


def best_load(model):
    found = optimize(
        model, {"load": "0.02 .. 2 ohm"}, wanted=("power", "largest"), central=True, budget=50, rng=1
    )
    assert found.best.verdict == "met"
    load = found.best.setting["load"]
    return load, {name: float(value[0]) for name, value in model({"load": [load]}).items()}


@pytest.mark.parametrize("segmented, resistance", [(True, RESISTANCE), (False, 2.0 * RESISTANCE)])
def test_most_power_is_extracted_at_half_of_the_open_voltage_and_half_of_the_work_is_delivered(
    segmented, resistance
):
    """R. J. Rosa, Magnetohydrodynamic Energy Conversion (1968), from memory: power density σu²B²K(1 − K) is largest at
    load factor K = 1/2, and K is the electrical efficiency. With continuous electrodes σ/(1 + β²) takes σ's place.

    The power is flat there: the search's last 1e-7 of it, and the four digits of a load, are 3e-4 of K.
    """
    load, found = best_load(extraction(segmented=segmented))
    assert found["slowed"] < 1e-3
    assert found["load_factor"] == pytest.approx(0.5, abs=1e-3)
    assert found["efficiency"] == pytest.approx(found["load_factor"], abs=1e-3)
    assert load == pytest.approx(resistance, rel=5e-3)
    assert found["power"] == pytest.approx((VELOCITY * FIELD * GAP) ** 2 / (4.0 * resistance), rel=2e-3)


def test_a_voltage_drop_at_the_electrodes_moves_the_best_load_factor_below_a_half():
    """Must differ: what drives the current is the back EMF less the drop, and half of that is best: (1 − 0.2)/2."""
    drop = 0.2 * VELOCITY * FIELD * GAP
    _, found = best_load(extraction(voltage_drop=drop))
    assert found["load_factor"] == pytest.approx(0.4, abs=1e-3)
    assert found["efficiency"] == pytest.approx(0.4, abs=1e-3)


def in_errors(chance, slope):
    """What one standard error of a chance, from the fresh points, is in a design along which it changes so fast."""
    return np.sqrt(chance * (1.0 - chance) / FRESH_POINTS) / slope


#: Standard errors between closed form and proposal: 1.96 to the lower end of the interval, half of one to spare, one or
#: two of each of the fresh samples that send a design back, and as many of the scenarios of the refinement.
APART = 8.0


@pytest.mark.parametrize("number", [1, 2, 3])
def test_the_least_value_that_holds_in_99_of_100_is_the_normal_quantile(number):
    case = CASES["chance_of_one"]
    chance, exact = case["chance"], case["optimum"]
    found = optimize(
        lambda v: {"x": v["x"], "left": v["x"] - v["xi"]},
        {"x": "0 .. 5"},
        wanted=("x", "smallest"),
        limits=[{"quantity": "left", "at_least": 0.0, "chance": chance}],
        inputs={"xi": "0 ± 1"},
        rng=number,
        budget=100,
    )
    (limit, _), x = found.best.limits, found.best.setting["x"]
    assert limit.verdict == "met"
    assert limit.chance.low >= chance
    assert exact <= x <= exact + APART * in_errors(chance, norm.pdf(exact))
    assert limit.chance.share == pytest.approx(norm.cdf(x), abs=4.0 * in_errors(chance, 1.0))
    # Must fail: what the search took for the best on its own few scenarios, without fresh points.
    taken = found.tried.loc[found.tried["met"], "x"].min()
    assert norm.cdf(taken) < chance


@pytest.mark.parametrize("number", [1, 2, 3])
def test_the_most_of_two_that_hold_in_95_of_100_is_that_of_the_closed_form(number):
    case = CASES["chance_of_two"]
    chance, exact, spread = case["chance"], case["optimum"], case["standard_deviation"]
    problem = {
        "vary": {"x1": "0 .. 1", "x2": "0 .. 1"},
        "wanted": ("sum", "largest"),
        "limits": [{"quantity": "load", "at_most": 1.0, "chance": chance}],
        "inputs": {"xi1": f"1 ± {spread}", "xi2": f"1 ± {spread}"},
    }

    def model(v):
        return {"sum": v["x1"] + v["x2"], "load": v["xi1"] * v["x1"] + v["xi2"] * v["x2"]}

    found = optimize(model, **problem, rng=number, budget=100)
    (limit, _), x = found.best.limits, np.array([found.best.setting[name] for name in ("x1", "x2")])
    assert limit.verdict == "met"
    assert limit.chance.low >= chance
    holds = norm.cdf((1.0 - x.sum()) / (spread * np.linalg.norm(x)))
    assert holds >= chance
    assert limit.chance.share == pytest.approx(holds, abs=4.0 * in_errors(chance, 1.0))
    # With both alike the chance falls by φ(z) √2/(0.3 s²) a unit of the sum s.
    slope = norm.pdf(norm.ppf(chance)) * np.sqrt(2.0) / (spread * exact**2)
    assert exact - APART * in_errors(chance, slope) <= x.sum() <= exact
    # Must differ: at central values the sum is 1.
    central = optimize(model, **problem, rng=number, budget=100, central=True)
    assert sum(central.best.setting.values()) == pytest.approx(1.0, abs=1e-3)


def test_the_best_of_many_equal_designs_is_lucky_in_the_search_and_not_on_fresh_points():
    """H. L. Harter, Biometrika 48 (1961) 151 (from memory): the largest of 100 standard normal values is 2.508 on
    average, with a standard deviation of 0.43 (from memory too). All designs gain nothing but noise of variance 1.
    """
    case = CASES["best_of_normals"]

    def noise(v):
        # Digits far behind the point, so that designs and scenarios have nothing to do with one another.
        digits = v["u"] * 1e6 * np.sqrt(v["design"] + 0.5) % 1.0
        return {"gain": ndtri(np.clip(digits, 1e-12, 1.0 - 1e-12))}

    numbers = range(25)
    found = [
        optimize(
            noise,
            {"design": list(range(case["count"]))},
            wanted=("gain", "largest"),
            inputs={"u": "0 .. 1"},
            rng=number,
            budget=case["count"],
        ).best.wishes[0]
        for number in numbers
    ]
    seen = np.sqrt(SCENARIOS) * np.array([wish.by_search for wish in found])
    assert seen.mean() == pytest.approx(case["mean"], abs=4.0 * 0.43 / np.sqrt(len(numbers)))
    fresh = np.array([float(wish.expected) / wish.expected.error for wish in found])
    assert abs(fresh.mean()) < 4.0 / np.sqrt(len(numbers))
    assert np.abs(fresh).max() < 4.0
    # Must differ: over the same error, what the search saw is far off.
    assert min(wish.by_search / wish.expected.error for wish in found) > 8.0


@pytest.mark.parametrize("chance, verdict", [(0.89, "met"), (0.899, "not decided")])
def test_a_chance_that_every_design_has_with_next_to_nothing_to_spare_leaves_a_curve(chance, verdict):
    """It is 0.9 whatever the design; mass times loss is 1, and the curve bends most in its middle, at √(0.5 · 4)."""
    found = optimize(
        lambda v: {"mass": v["x"] + 0.0 * v["u"], "loss": 1.0 / v["x"], "left": 0.9 - v["u"]},
        {"x": "0.5 .. 4"},
        wanted=[("mass", "smallest"), ("loss", "smallest")],
        limits=[{"quantity": "left", "at_least": 0.0, "chance": chance}],
        inputs={"u": "0 .. 1"},
        rng=1,
        budget=50,
    )
    assert len(found.trade_off) == 9
    assert {design.verdict for design in found.trade_off} == {verdict}
    assert found.best.setting["x"] == pytest.approx(np.sqrt(0.5 * 4.0), rel=0.1)
