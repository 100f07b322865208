"""The fast path against the slow reference, an independent implementation in tests/slow_reference.

The points and their ranges stand in tests/slow_reference/points.py: bench to sounding-rocket size, both modes,
both layouts, eight gases. The reference's own values are converged to a tenth of the tolerances used here.
"""

import math
from collections import Counter

import numpy as np
import pytest
from stage.stages import (
    BENCH,
    frozen_points,
    solved,
    tables_over,
)

from explorer import registry, run
from explorer.study.engine import Stage
from explorer.studyfile import read_study

#: Relative tolerances.
TOLERANCE = {
    **dict.fromkeys(("thrust", "mass_flow", "exit_velocity", "exit_temperature"), 3e-3),
    **dict.fromkeys(
        ("current", "electrical_power", "lorentz_force", "electrode_drop_power", "wall_heat"), 0.02
    ),
    **dict.fromkeys(("thrust_gain", "thrust_gain_heating"), 0.02),
}

#: Of thrust: gains smaller than this need not agree to 2 %.
SMALL_GAIN = 1e-5

#: Statuses may differ where a change this large, relative, of one input brings the other status about.
BOUNDARY = 0.002
BOUNDARY_INPUTS = (
    "magnet.field",
    "nozzle.throat_diameter",
    "channel.gap_in",
    "channel.gap_out",
    "voltage_drop",
    "source.voltage",
)


def off(quantity, value, expected, thrust):
    """How far a value is off, in units of its tolerance."""
    allowed = TOLERANCE[quantity] * abs(expected)
    if "gain" in quantity:
        allowed = max(allowed, SMALL_GAIN * abs(thrust))
    if value == expected:
        return 0.0
    return abs(value - expected) / allowed if allowed else math.inf


def errors_of(found, expected):
    """Errors of one point by quantity, in units of the tolerance; a missing number counts as infinite."""
    errors = {}
    for address, number in expected.items():
        quantity = address.rpartition(".")[2]
        if quantity in TOLERANCE and number is not None:
            error = off(quantity, found[address], number, expected["thrust"])
            errors[quantity] = max(errors.get(quantity, 0.0), math.inf if math.isnan(error) else error)
    return errors


def near_boundary(inputs, status):
    """Whether 0.2 % more or less of one input brings the status about."""
    for address in inputs:
        key = address.split(".", 2)[2] if address.startswith("electrodes.") else address
        if key in BOUNDARY_INPUTS:
            for factor in (1 - BOUNDARY, 1 + BOUNDARY):
                if solved({**inputs, address: inputs[address] * factor})["status"] == status:
                    return True
    return False


def worst_of(named_errors):
    """The largest error of each quantity with the point that has it."""
    worst = {}
    for name, errors in named_errors.items():
        for quantity, error in errors.items():
            if error >= worst.get(quantity, (-1.0, None))[0]:
                worst[quantity] = (error, name)
    return worst


def told(capsys, title, worst):
    """Print the worst cases as relative differences."""
    with capsys.disabled():
        print(f"\n{title}; worst case of each quantity (share of its tolerance, at point):")
        for quantity, (error, name) in worst.items():
            print(
                f"  {quantity:<22}{TOLERANCE[quantity] * error:9.2e} ({error:.3f} of {TOLERANCE[quantity]:g}, {name})"
            )


def test_two_hundred_random_points_agree_with_the_slow_reference(capsys):
    errors, statuses, boundary = {}, Counter(), []
    for number, (inputs, expected) in enumerate(frozen_points()):
        found = solved(inputs)
        statuses[found["status"]] += 1
        if found["status"] != expected["status"]:
            assert near_boundary(inputs, expected["status"]), (number, found["status"], expected["status"])
            boundary.append(number)
        elif expected["status"] in ("ok", "no_contact"):
            errors[number] = errors_of(found, expected)
    worst = worst_of(errors)
    told(
        capsys,
        f"200 random points against the slow reference, {dict(statuses)}, {len(boundary)} at a boundary",
        worst,
    )
    assert set(worst) == set(TOLERANCE)
    assert {quantity: case for quantity, case in worst.items() if case[0] > 1.0} == {}


def test_statuses_differ_by_a_boundary_only_within_two_per_mille_of_it():
    """The decision of the test above, with a point inside and one outside that distance from contact."""
    edge = solved(BENCH)["threshold_voltage"] * (1 + 0.1 * 0.01)  # the leak sags the supply
    inside = {**BENCH, "electrodes.main.source.voltage": edge * 1.001}
    outside = {**BENCH, "electrodes.main.source.voltage": edge * 1.006}
    assert solved(inside)["status"] == solved(outside)["status"] == "ok"
    assert near_boundary(inside, "no_contact")
    assert not near_boundary(outside, "no_contact")


def test_an_error_beyond_the_tolerance_is_seen():
    """Must fail: the comparison applied to spoilt values."""
    inputs, expected = next(p for p in frozen_points() if p[1]["status"] == "ok" and "current" in p[1])
    found = solved(inputs)
    assert max(errors_of(found, expected).values()) < 1.0
    for quantity, tolerance in TOLERANCE.items():
        spoilt = {
            **found,
            quantity: found[quantity] + max(3 * tolerance * abs(found[quantity]), 3e-5 * found["thrust"]),
        }
        assert errors_of(spoilt, expected)[quantity] > 1.0
    assert errors_of({**found, "thrust": math.nan}, expected)["thrust"] == math.inf


def scaled(inputs):
    """The stage with a throat of 1 m² and the same area ratios: a table for points of all sizes needs only these."""
    throat = np.pi / 4 * inputs["nozzle.throat_diameter"] ** 2
    areas = {
        f"channel.gap_{end}": inputs[f"channel.gap_{end}"] * inputs[f"channel.width_{end}"] / throat
        for end in ("in", "out")
    }
    unit = {"nozzle.throat_diameter": 2 / np.sqrt(np.pi), "channel.width_in": 1.0, "channel.width_out": 1.0}
    return {**inputs, **areas, **unit}


@pytest.mark.slow
def test_points_through_one_wide_table_agree_with_the_slow_reference(capsys):
    """All ethanol, oxygen and potassium carbonate points with one pair: mixture, seed and water vary in the table."""
    gas = {"gas.fuel": "ethanol", "gas.oxidizer": "oxygen", "gas.seed": "potassium carbonate"}
    chosen = {
        number: (inputs, expected)
        for number, (inputs, expected) in enumerate(frozen_points())
        if gas.items() <= inputs.items() and "electrodes.main.start" in inputs
    }
    assert len(chosen) > 90
    tables = tables_over([scaled(inputs) for inputs, _ in chosen.values()], jobs=2)
    table = tables(0, True)
    assert min(table.axes[:, 2]) >= 4  # no coordinate has collapsed
    errors, differing = {}, []
    for number, (inputs, expected) in chosen.items():
        found = solved(inputs, tables=tables)
        if found["status"] != expected["status"]:
            differing.append((number, found["status"], expected["status"]))
        elif expected["status"] in ("ok", "no_contact"):
            errors[number] = errors_of(found, expected)
    worst = worst_of(errors)
    told(capsys, f"{len(chosen)} points through one table of {table.coefficients.shape}", worst)
    assert [case for case in differing if not near_boundary(chosen[case[0]][0], case[2])] == []
    assert {quantity: case for quantity, case in worst.items() if case[0] > 1.0} == {}


def test_the_table_of_a_study_s_ranges_agrees_with_tables_at_single_points(capsys):
    """Twenty points of the bench study: its wide table against tables of a single mixture each."""
    study = read_study("tests/studies/bench.toml")
    outputs = registry.outputs_of(study.pairs)
    wide = Stage(study, outputs)
    assert wide.tables(0, True).coefficients.shape[:3] > (4, 4, 4)
    cube = np.random.default_rng(3).uniform(0.02, 0.98, size=(20, study.space.dimension))
    samples = study.space.values(cube)
    found = wide.points(samples)
    errors = {}
    for n in range(20):
        values = {**study.central(), **{address: float(column[n]) for address, column in samples.items()}}
        tables = run.Tables(wide.design, {address: (value, value) for address, value in values.items()})
        single = run.points(wide.design, values, tables, outputs)
        assert single.outcomes[0] == found.outcomes[n]
        expected = {address: float(column[0]) for address, column in single.quantities.items()}
        errors[n] = errors_of({a: float(column[n]) for a, column in found.quantities.items()}, expected)
    worst = worst_of(errors)
    told(capsys, "20 points of the bench study, its table against tables of single mixtures", worst)
    assert max(case[0] for case in worst.values()) < 0.5
