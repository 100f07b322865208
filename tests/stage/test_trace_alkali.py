"""A trace of alkali in a gas without seed: what it does to the conductivity, and that nothing is fed for it."""

import pytest
from study.texts import study_named

from explorer import propagate, solve


def test_one_part_per_million_makes_the_gas_conduct_hundreds_of_times_better(tmp_path):
    """contact.md, section 3 (an estimate): 600 times, 0.03 S/m; here within a factor 1.5 of both."""
    traced = study_named("traced", tmp_path)
    with_trace, without = solve(traced), solve(traced.replaced({"gas.seed": "none"}))
    conductivity = with_trace.quantities["inlet_conductivity"]
    assert 0.03 / 1.5 < conductivity < 0.03 * 1.5
    assert 600 / 1.5 < conductivity / without.quantities["inlet_conductivity"] < 600 * 1.5
    assert with_trace.quantities["seed_solution_flow"] == 0.0
    assert with_trace.quantities["flame_temperature"] == pytest.approx(
        without.quantities["flame_temperature"], abs=0.1
    )


def test_scarce_atoms_that_hardly_ionise_give_electrons_as_their_square_root(tmp_path):
    """Saha: n_e² ~ n_K where few of them are ionised; at 10 and 100 ppm a tenth and a thirtieth, by n_e/n_K."""
    traced = study_named("traced", tmp_path)
    found = [
        solve(traced.replaced({"gas.trace_alkali": f"{ppm} ppm"})).quantities["inlet_electron_density"]
        for ppm in (10, 100)
    ]
    assert found[1] / found[0] == pytest.approx(10**0.5, rel=0.1)


def test_the_same_potassium_as_a_seed_conducts_as_much(tmp_path):
    """Second road: 100 ppm of alkali from the carbonate, all of it vaporised and no water."""
    traced = study_named("traced", tmp_path).replaced({"gas.trace_alkali": "100 ppm"})
    seeded = study_named("plain", tmp_path).replaced(
        {"gas.seed_fraction": "0.01 %", "gas.seed_water": "0", "gas.seed_vaporized": "1"}
    )
    one, other = (solve(study).quantities["inlet_conductivity"] for study in (traced, seeded))
    assert one == pytest.approx(other, rel=5e-3)


@pytest.mark.slow
def test_an_uncertain_trace_is_one_of_the_inputs(tmp_path):
    traced = study_named("traced", tmp_path).replaced(
        {"gas.trace_alkali": "{ median = '1 ppm', factor = 5 }"}
    )
    found = propagate(traced, samples=1024, quantities=["inlet_conductivity"])
    spread = found.quantities.loc["inlet_conductivity"]
    assert spread["standard_uncertainty"] > 0.3 * spread["mean"]
