"""A gas stated by its flows: orifices against closed forms, the chamber's closure, tables that no sample leaves."""

from math import pi
from pathlib import Path

import numpy as np
import pytest
from study.texts import study_named

from explorer import registry
from explorer.physics.feed import orifices
from explorer.questions.solve.point import solve, solve_many
from explorer.study.engine import Stage
from explorer.studyfile import StudyError, read_study

DEMO = Path(__file__).parents[1] / "studies"


def test_nitrogen_and_air_choke_as_in_handbooks():
    """Fliegner's formula for air, 0.0404 p A/√T in SI (γ 1.4, 287 J/(kg K); from memory), and NACA report 1135.

    The report's perfect-gas table has p*/p_t = 0.5283 for γ = 1.4.
    """
    area, p, T = pi / 4 * 2e-3**2, 20e5, 293.15
    ratio = orifices.heat_capacity_ratio("air", T)
    found = orifices.critical_flow(
        area=area, pressure=p, temperature=T, molar_mass=28.96e-3, heat_capacity_ratio=ratio
    )
    assert found == pytest.approx(0.0404 * p * area / np.sqrt(T), rel=2e-3)
    assert orifices.critical_pressure_ratio(1.4) == pytest.approx(0.5283, abs=5e-5)
    by_hand = area * p * np.sqrt(1.4 / (8.314462618 / 28.014e-3 * T)) * (2 / 2.4) ** 3
    exact = orifices.critical_flow(
        area=area, pressure=p, temperature=T, molar_mass=28.014e-3, heat_capacity_ratio=1.4
    )
    assert exact == pytest.approx(by_hand, rel=1e-12)


def test_heat_capacity_ratios_are_those_of_tables():
    """At 20 °C: air 1.400, oxygen 1.395, methane 1.305, nitrous oxide 1.277, hydrogen 1.407 (from memory, ± 0.01)."""
    for gas, ratio in {
        "air": 1.400,
        "oxygen": 1.395,
        "methane": 1.305,
        "nitrous oxide": 1.277,
        "hydrogen": 1.407,
    }.items():
        assert float(orifices.heat_capacity_ratio(gas, 293.15)) == pytest.approx(ratio, abs=0.01), gas


def test_water_through_a_liquid_orifice():
    """1 mm², C_d 1, 1 bar: √(2 · 998.2 · 1e5) · 1e-6 = 14.13 g/s (Bernoulli)."""
    factor = orifices.liquid_flow_factor(area=1e-6, density=998.2)
    assert factor * np.sqrt(1e5) == pytest.approx(14.13e-3, rel=1e-3)


@pytest.mark.parametrize("name", ["flows", "orifices", "liquids"])
def test_what_flows_in_leaves_through_the_throat(name, tmp_path):
    """p_c C_d A_t = gas flow · c*, and each stream has the flow that its orifice gives at that pressure."""
    study = study_named(name, tmp_path)
    found, values = solve(study).quantities, study.central()
    area = pi / 4 * values["nozzle.throat_diameter"] ** 2 * values["nozzle.discharge_coefficient"]
    leaving = found["gas_flow"] * found["characteristic_velocity"]
    assert found["chamber_pressure"] * area == pytest.approx(leaving, rel=1e-9)
    streams = {"fuel": "fuel_flow", "oxidizer": "oxidizer_flow", "seed_solution": "seed_solution_flow"}
    for stream, output in streams.items():
        assert found[output] == pytest.approx(
            _by_hand(values, stream, found["chamber_pressure"], name), rel=1e-8
        )
    assert found["mixture_ratio"] == pytest.approx(found["oxidizer_flow"] / found["fuel_flow"], rel=1e-12)


def _by_hand(values, stream, pressure, name):
    if f"gas.flows.{stream}" in values:
        return values[f"gas.flows.{stream}"]
    head = f"gas.flows.{stream}_orifice"
    area = pi / 4 * values[f"{head}.diameter"] ** 2 * values[f"{head}.discharge_coefficient"]
    upstream = values[f"{head}.upstream_pressure"]
    if f"{head}.density" in values:
        return area * np.sqrt(2 * values[f"{head}.density"] * (upstream - pressure))
    T, gas, M = (
        values[f"{head}.upstream_temperature"],
        *{
            "fuel": ("methane", 16.043e-3),
            "oxidizer": ("oxygen", 31.998e-3),
        }[stream],
    )
    g = float(orifices.heat_capacity_ratio(gas, T))
    return area * upstream * np.sqrt(g * M / (8.314462618 * T)) * (2 / (g + 1)) ** ((g + 1) / (2 * (g - 1)))


@pytest.mark.parametrize("name", ["flows", "orifices", "liquids"])
def test_a_study_of_the_mixture_that_flows_make_is_the_same_stage(name, tmp_path):
    found = solve(study_named(name, tmp_path)).quantities
    mixture = "peroxide" if name == "liquids" else "plain"
    words = {
        "gas.mixture_ratio": found["mixture_ratio"],
        "gas.seed_fraction": found["seed_fraction"],
        "gas.chamber_pressure": f"{found['chamber_pressure']!r} Pa",
    }
    fuel = {"gas.fuel": "methane"} if name == "orifices" else {}
    stated = solve(study_named(mixture, tmp_path).replaced({**fuel, **words})).quantities
    for output in ("mass_flow", "thrust", "thrust_gain", "inlet_conductivity", "fuel_flow"):
        assert found[output] == pytest.approx(stated[output], rel=2e-3), output


def test_the_torch_s_orifices_give_the_bench_s_operating_point():
    bench, torch = (solve(read_study(DEMO / f"{name}.toml")) for name in ("bench", "torch-flows"))
    for output in (
        "thrust",
        "thrust_gain",
        "mixture_ratio",
        "seed_fraction",
        "chamber_pressure",
        "mass_flow",
    ):
        one, other = (point.quantities[output] for point in (torch, bench))
        assert one == pytest.approx(other, rel=5e-4), output
        assert registry.quantity(output).shown(one, 3) == registry.quantity(output).shown(other, 3)


def test_no_sample_of_the_torch_leaves_its_table():
    study = read_study(DEMO / "torch-flows.toml")
    rng = np.random.default_rng(7)
    samples = study.space.values(rng.random((8192, study.space.dimension)))
    stage = Stage(study, ("thrust", "chamber_pressure", "mixture_ratio"))
    found = stage.points(samples)
    assert np.all(found.outcomes <= 1)
    pressure = found.quantities["chamber_pressure"]
    assert 0.01 < np.std(pressure) / np.mean(pressure) < 0.03


def test_an_orifice_that_does_not_feed_is_refused_with_the_pressure_needed(tmp_path):
    study = study_named("orifices", tmp_path)
    oxidizer = "gas.flows.oxidizer_orifice.upstream_pressure"
    seed = "gas.flows.seed_solution_orifice.upstream_pressure"
    with pytest.raises(StudyError, match=r"not choked.*needs more than"):
        solve(study.replaced({oxidizer: "14 bar", "gas.flows.oxidizer_orifice.diameter": "3.8 mm"}))
    with pytest.raises(StudyError, match=r"feeds next to nothing.*needs more than"):
        solve(study.replaced({seed: "9 bar"}))


def test_sampled_points_that_do_not_feed_have_no_numbers(tmp_path):
    study = study_named("orifices", tmp_path)
    pressure = solve(study).quantities["chamber_pressure"]
    columns = {"gas.flows.seed_solution_orifice.upstream_pressure": [0.8 * pressure, 18e5]}
    found = solve_many(study, columns, quantities=["thrust", "chamber_pressure"])
    assert list(found["status"]) == ["not_fed", "ok"]
    assert np.isnan(found["thrust"][0])
    assert found["chamber_pressure"][1] == pytest.approx(pressure, rel=1e-4)
