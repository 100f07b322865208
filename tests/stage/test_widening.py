"""A point that leaves a gas table is solved on a wider one; unseeded points have their own beside seeded ones."""

from pathlib import Path

import numpy as np
import pytest
from stage.stages import BENCH, design_and_values, ranges_over

from explorer import run
from explorer.questions.solve.point import solve, solve_many
from explorer.stage.columns import NO_CONTACT, OK, OUTSIDE_TABLE
from explorer.stage.gas.extent import Room
from explorer.studyfile import StudyError, read_study

DEMO = Path(__file__).parents[1] / "studies"

SUPPLY = "electrodes.main.source"

#: Everything large, so that the gas in the channel reaches 3500 K.
HARD = {
    **BENCH,
    "magnet.field": 1.5,
    "gas.conductivity_factor": 3.0,
    "gas.heat_loss_share": 0.75,
    "electrodes.main.drop_resistance": 0.0,
    "electrodes.main.arc_voltage": 40.0,
    f"{SUPPLY}.current_limit": 5000.0,
}
OUTPUTS = ("thrust_gain", "thrust_gain_heating", "current", "outlet_temperature")
VOLTAGES = np.linspace(150.0, 680.0, 24)


@pytest.fixture(scope="module")
def hard():
    design, values = design_and_values(HARD)
    return design, values, run.Tables(design, ranges_over([HARD]))


def found(design, values, tables, **changes):
    return run.chunk(design, {**values, **changes}, tables, OUTPUTS, None)


def test_no_point_is_lost_to_the_table_s_width(hard):
    design, values, tables = hard
    voltages = {f"{SUPPLY}.voltage": VOLTAGES}
    tight = run.table_for(design, ranges_over([HARD]), room=Room(0.05, 0.24, 0.45))
    wide = found(design, values, lambda room, seeded: tables(room, seeded) if room else tight, **voltages)
    narrow = found(design, values, lambda room, _: None if room else tight, **voltages)
    assert (wide.outcomes == OK).all()
    assert wide.quantities["outlet_temperature"].max() > 3300.0
    assert np.isfinite(wide.quantities["thrust_gain_heating"][:12]).all()
    lost = narrow.outcomes == OUTSIDE_TABLE
    assert 0 < lost.sum() < VOLTAGES.size  # the must-fail twin: one table alone loses some
    for name in OUTPUTS:
        kept = ~lost & np.isfinite(narrow.quantities[name])
        np.testing.assert_array_equal(wide.quantities[name][kept], narrow.quantities[name][kept])


def test_a_point_has_the_number_that_it_has_alone(hard):
    design, values, tables = hard
    together = found(design, values, tables, **{f"{SUPPLY}.voltage": VOLTAGES})
    for n in (0, 12, 23):
        alone = found(design, values, tables, **{f"{SUPPLY}.voltage": VOLTAGES[n : n + 1]})
        assert alone.quantities["thrust_gain"][0] == together.quantities["thrust_gain"][n]


def test_neighbouring_tables_agree_where_both_serve(hard):
    design, values, tables = hard
    three = [found(design, values, lambda *_, r=room: tables(r, True)) for room in range(3)]
    for name in ("thrust_gain", "current"):
        first, second, third = (point.quantities[name][0] for point in three)
        assert first == pytest.approx(second, rel=1e-4)
        assert first == pytest.approx(third, rel=1e-4)


def test_unseeded_points_stand_beside_seeded_ones():
    low = {**BENCH, "gas.seed_fraction": 0.005}
    design, values = design_and_values(BENCH)
    tables = run.Tables(design, ranges_over([BENCH, low]))
    points = found(design, values, tables, **{"gas.seed_fraction": np.array([0.0, 0.01, 5e-8, 0.005])})
    assert (points.outcomes <= NO_CONTACT).all()
    assert (points.quantities["current"][[1, 3]] > 1.0).all()
    leak = 0.01 * 150.0
    assert points.quantities["current"][[0, 2]] == pytest.approx(leak, rel=0.01)


STRONG = {
    "magnet.field": "1.5 ± 0.03 T",
    "gas.conductivity_factor": "5 .. 7",
    "electrodes.main.drop_resistance": "0.0002 .. 0.001 ohm m^2",
    "electrodes.main.arc_voltage": "40 .. 80 V",
    f"{SUPPLY}.current_limit": "50000 A",
}


@pytest.mark.slow
def test_samples_that_reach_3300_kelvin_all_have_numbers():
    """A trial voltage at which no flow is found only bounds the search: some points were not converged otherwise."""
    study = read_study(DEMO / "sounding.toml", {**STRONG, f"{SUPPLY}.voltage": "2600 .. 2700 V"})
    rng = np.random.default_rng(1)
    samples = study.space.values(rng.random((256, study.space.dimension)))
    found = solve_many(study, samples, quantities=["outlet_temperature"])
    hottest = found["outlet_temperature"].to_numpy()
    lost = ~np.isfinite(hottest)
    assert set(found["status"][lost]) <= {"choked"}
    assert lost.mean() < 0.05
    assert np.mean(hottest[~lost] > 3300.0) > 0.5


def test_many_points_are_refused_as_one_is():
    study = read_study(DEMO / "bench.toml")
    for columns in (
        {"electrodes.main.arc_voltage": [90.0, 5.0]},
        {"electrodes.main.arc_voltage": 100.0, "electrodes.main.voltage_drop": [8.0, 120.0]},
    ):
        with pytest.raises(StudyError, match=r"arc_voltage .* lies below .*voltage_drop .* at point 1"):
            solve_many(study, columns, quantities=["current"])
        with pytest.raises(StudyError, match=r"arc_voltage .* lies below .*voltage_drop"):
            solve(
                study,
                {
                    name: float(np.max(values) if "drop" in name else np.min(values))
                    for name, values in columns.items()
                },
            )
