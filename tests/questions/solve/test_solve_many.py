"""`solve_many`: shapes, refusals, statuses, and that neither order, jobs nor selection changes a number."""

import math

import numpy as np
import pandas as pd
import pytest
from study.texts import study_named

from explorer import registry, run
from explorer.questions.solve.point import solve, solve_many
from explorer.studyfile import StudyError, read_study

SOME = ("thrust", "thrust_gain", "thrust_gain_heating", "current", "terminal_voltage")


@pytest.fixture(scope="module")
def bench():
    return read_study("tests/studies/bench.toml")


@pytest.fixture
def plain(tmp_path):
    """A study of exact values: its table is as wide as the samples and no wider."""
    return study_named("plain", tmp_path)


@pytest.fixture(scope="module")
def samples(bench):
    cube = np.random.default_rng(11).uniform(size=(300, bench.space.dimension))
    return bench.space.values(cube)


@pytest.fixture(scope="module")
def everything(bench, samples):
    return solve_many(bench, samples)


def test_all_outputs_come_with_status_warnings_and_units(bench, everything):
    outputs = registry.outputs_of(())  # a single pair's stand at the top level alone
    assert tuple(everything.columns) == (*outputs, "status", "warnings")
    assert len(everything) == 300
    assert everything.attrs["units"] == {address: registry.quantity(address).unit for address in outputs}
    assert set(everything["status"].cat.categories) == {status.name for status in registry.STATUSES}


def test_a_point_of_many_is_the_point_alone(bench, samples, everything):
    """The study's table is wide, the point's own is not: what separates them is the tables' interpolation."""
    for n in (0, 17, 250):
        alone = solve(bench, {address: float(column[n]) for address, column in samples.items()})
        assert alone.status == everything["status"][n]
        assert everything["thrust"][n] == pytest.approx(alone.quantities["thrust"], rel=3e-4)
        assert everything["current"][n] == pytest.approx(alone.quantities["current"], rel=3e-3)


def test_what_is_not_given_stays_at_its_central_value(bench):
    found = solve_many(
        bench, {"magnet.field": [bench.central()["magnet.field"]]}, quantities=["thrust", "back_emf"]
    )
    point = solve(bench)
    assert found["thrust"][0] == pytest.approx(point.quantities["thrust"], rel=3e-4)
    assert found["back_emf"][0] == pytest.approx(point.quantities["back_emf"], rel=3e-4)


def test_scalars_hold_for_all_points(bench):
    field = np.array([0.44, 0.48, 0.52])
    broadcast = solve_many(bench, {"magnet.field": field, "gas.seed_fraction": 0.011}, quantities=SOME)
    written = solve_many(
        bench, {"magnet.field": field, "gas.seed_fraction": np.full(3, 0.011)}, quantities=SOME
    )
    pd.testing.assert_frame_equal(broadcast, written)
    assert len(solve_many(bench, {"magnet.field": 0.5}, quantities=SOME)) == 1
    assert len(solve_many(bench, {}, quantities=SOME)) == 1


def test_a_data_frame_is_as_good_as_a_mapping(bench, samples):
    few = {address: column[:5] for address, column in samples.items()}
    pd.testing.assert_frame_equal(
        solve_many(bench, few, quantities=SOME), solve_many(bench, pd.DataFrame(few), quantities=SOME)
    )


def test_asking_for_less_gives_the_same_numbers(bench, samples, everything):
    for wanted in (["thrust_gain"], ["current", "thrust"], SOME):
        found = solve_many(bench, samples, quantities=wanted)
        assert tuple(found.columns) == (*wanted, "status", "warnings")
        for address in wanted:
            assert np.array_equal(found[address], everything[address], equal_nan=True), address
        assert (found["warnings"] == everything["warnings"]).all()


def test_the_order_of_points_and_columns_does_not_matter(bench, samples, everything):
    order = np.random.default_rng(0).permutation(300)
    moved = {address: samples[address][order] for address in reversed(samples)}
    found = solve_many(bench, moved, quantities=SOME)
    for address in SOME:
        assert np.array_equal(found[address], everything[address][order]), address


def test_two_threads_give_the_numbers_of_one_bit_for_bit(bench):
    """Several chunks, the last one not full."""
    n = 2 * run.CHUNK_POINTS + 777
    cube = np.random.default_rng(12).uniform(size=(n, bench.space.dimension))
    columns = bench.space.values(cube)
    told = []
    one = solve_many(bench, columns, quantities=SOME, progress=lambda done, total: told.append((done, total)))
    two = solve_many(bench, columns, quantities=SOME, jobs=2)
    pd.testing.assert_frame_equal(one, two, check_exact=True)
    assert told == [(1, 3), (2, 3), (3, 3)]


@pytest.mark.slow
def test_samples_beyond_the_study_s_own_ranges_widen_the_table(plain):
    columns = {"gas.mixture_ratio": [1.6, 2.4], "gas.seed_fraction": [0.004, 0.02]}
    found = solve_many(plain, columns, quantities=["thrust"])
    assert (found["status"] == "ok").all()


@pytest.mark.parametrize(
    ("column", "nearest"),
    [("magnet.feild", "magnet.field"), ("electrodes.main.voltage_drops", "electrodes.main.voltage_drop")],
)
def test_an_unknown_column_is_refused_with_the_nearest(bench, column, nearest):
    with pytest.raises(StudyError, match=f'"{nearest}"'):
        solve_many(bench, {column: [1.0]})


def test_an_output_is_no_column(bench):
    with pytest.raises(StudyError, match="not an input of this study"):
        solve_many(bench, {"thrust": [1.0]})


def test_an_unknown_quantity_is_refused_with_the_nearest(bench):
    with pytest.raises(StudyError, match='"thrust_gain"'):
        solve_many(bench, {}, quantities=["thrust_gian"])


@pytest.mark.parametrize(
    ("address", "value"),
    [
        ("magnet.field", -0.1),
        ("gas.combustion_efficiency", 1.01),
        ("channel.length", 0.0),
        ("gas.seed_vaporized", 1.5),
        ("magnet.field", math.nan),
        ("gas.chamber_pressure", math.inf),
        ("exit.area_ratio", 0.9),
    ],
)
def test_values_outside_the_physical_bounds_are_refused(bench, address, value):
    good = bench.central()[address]
    with pytest.raises(StudyError, match=address.replace(".", r"\.")):
        solve_many(bench, {address: [good, value]})


def test_columns_of_different_lengths_are_refused(bench):
    with pytest.raises(ValueError):
        solve_many(bench, {"magnet.field": [0.4, 0.5], "gas.mixture_ratio": [1.8, 1.9, 2.0]})


@pytest.mark.parametrize(
    "columns",
    [
        {"electrodes.main.length": [0.06, 0.2]},
        {"electrodes.main.start": [0.015, 0.05]},
        {"channel.length": [0.09, 0.07]},
    ],
)
def test_a_pair_that_reaches_out_of_the_channel_gets_no_number(plain, columns):
    """As a study it would be refused; as a sample it must not come back as a solved point."""
    try:
        found = solve_many(plain, columns, quantities=["thrust", "current"])
    except StudyError:
        return
    assert found["status"][0] == "ok"
    assert found["status"][1] not in ("ok", "no_contact")
    assert np.isnan(found["thrust"][1])


def test_pairs_that_overlap_get_no_number():
    study = read_study("tests/studies/two-pair.toml")
    try:
        found = solve_many(study, {"electrodes.rear.start": [0.05, 0.02]}, quantities=["thrust"])
    except StudyError:
        return
    assert found["status"][1] not in ("ok", "no_contact")
    assert np.isnan(found["thrust"][1])


@pytest.mark.parametrize("columns", [{"gas.seed_fraction": [0.01, 0.3]}, {"gas.mixture_ratio": [1.9, 0.3]}])
def test_samples_without_a_gas_of_the_species_data_are_refused_with_a_sentence(plain, columns):
    """No room for propellants; less oxygen than carbon."""
    with pytest.raises(StudyError) as caught:
        solve_many(plain, columns, quantities=["thrust"])
    assert len(str(caught.value)) < 300


def test_choked_points_are_missing_and_their_neighbours_are_not(plain):
    columns = {"channel.friction_coefficient": [0.0045, 0.2, 0.0045]}
    found = solve_many(plain, columns)
    assert list(found["status"]) == ["ok", "choked", "ok"]
    numbers = found.drop(columns=["status", "warnings"])
    assert numbers.iloc[1].isna().all()
    assert found["warnings"][1] == 0
    pd.testing.assert_series_equal(found.iloc[0], found.iloc[2], check_names=False)


def test_points_out_of_contact_have_no_current_and_no_gain(plain):
    found = solve_many(
        plain,
        {"electrodes.main.source.voltage": [150.0, 8.0], "electrodes.main.leak_conductance": [0.01, 0.0]},
    )
    assert list(found["status"]) == ["ok", "no_contact"]
    for name in ("current", "electrical_power", "thrust_gain", "thrust_gain_heating", "lorentz_force"):
        assert found[name][1] == 0.0, name
    assert found["thrust"][1] == found["thrust_open_circuit"][1]


def bit(code):
    return registry.WARNING_BITS[code]


HARD = {  # nothing but the gas between the electrodes
    "electrodes.main.drop_resistance": 0.0,
    "electrodes.main.arc_voltage": math.inf,
    "electrodes.main.source.current_limit": math.inf,
    "electrodes.main.leak_conductance": 0.0,
}


@pytest.mark.parametrize(
    ("code", "columns"),
    [
        ("constricted", {"electrodes.main.arc_voltage": [200.0, 20.0]}),
        ("current_density", {"electrodes.main.source.voltage": [60.0, 400.0]}),
        ("cold_gas", {"gas.combustion_efficiency": [0.96, 0.5]}),
        ("separation", {"exit.area_ratio": [1.3, 4.0]}),
        ("seed_not_soluble", {"gas.seed_water": [1.1, 0.6]}),
        (
            "hot_electrons",
            {**HARD, "electrodes.main.source.voltage": [150.0, 600.0]},
        ),
        ("overheating", {**HARD, "electrodes.main.source.voltage": [100.0, 600.0]}),
    ],
)
def test_a_warning_is_a_bit_of_its_point_alone(plain, code, columns):
    found = solve_many(plain, columns, quantities=["thrust"])
    assert list(found["status"]) == ["ok", "ok"]
    assert [bool(bits & bit(code)) for bits in found["warnings"]] == [False, True]


def test_the_hall_field_of_segments_is_warned_of(plain):
    study = plain.replaced({"electrodes.main.layout": "segmented"})
    columns = {
        "magnet.field": [0.3, 3.0],
        "electrodes.main.drop_resistance": 0.0,
        "electrodes.main.source.voltage": 600.0,
        "electrodes.main.source.current_limit": math.inf,
    }
    found = solve_many(study, columns, quantities=["max_hall_field"])
    assert [bool(bits & bit("hall_field")) for bits in found["warnings"]] == (
        found["max_hall_field"] > 4e3
    ).tolist()
    assert found["max_hall_field"][0] < 4e3 < found["max_hall_field"][1]


def test_neighbouring_pairs_far_apart_in_voltage_are_warned_of():
    study = read_study("tests/studies/two-pair.toml")
    found = solve_many(study, {"electrodes.rear.source.voltage": [150.0, 40.0]}, quantities=["thrust"])
    assert [bool(bits & bit("neighbouring_pairs")) for bits in found["warnings"]] == [False, True]


def test_a_magnet_above_its_grade_s_limit_is_warned_of(tmp_path):
    study = study_named("blocks", tmp_path).replaced({"magnet.blocks.grade": "N42"})
    found = solve_many(study, {"magnet.blocks.temperature": [340.0, 360.0]}, quantities=["field"])
    assert [bool(bits & bit("magnet_temperature")) for bits in found["warnings"]] == [False, True]


def test_what_computed_layers_warn_of_is_carried(tmp_path):
    cold = study_named("cold", tmp_path)
    found = solve_many(cold, {"electrodes.main.ion_factor": [1.0, 1e6]}, quantities=["current"])
    assert [bool(bits & bit("cathode_limited")) for bits in found["warnings"]] == [True, False]
    arc = study_named("arc", tmp_path)
    found = solve_many(arc, {"electrodes.main.source.resistance": [0.1, 1e4]}, quantities=["current"])
    assert [bool(bits & bit("spark")) for bits in found["warnings"]] == [False, True]
    found = solve_many(arc, {"gas.burn_time": [0.05, 20.0]}, quantities=["electrode_temperature"])
    assert [bool(bits & bit("electrodes_too_hot")) for bits in found["warnings"]] == [False, True]


def test_pulses_and_a_charger_that_can_t_keep_their_rate_are_warned_of(tmp_path):
    capacitor = study_named("capacitor", tmp_path)
    columns = {
        "electrodes.main.source.voltage": [20.0, 400.0, 400.0],
        "electrodes.main.source.charger_power": [1e3, 1e3, 10.0],
    }
    found = solve_many(capacitor, columns, quantities=["source_power"])
    assert [bool(bits & bit("pulsed")) for bits in found["warnings"]] == [False, True, True]
    assert [bool(bits & bit("charger_too_weak")) for bits in found["warnings"]] == [False, False, True]


def test_every_warning_of_the_registry_can_be_carried():
    """Those above, and the one of the table's edge, which its status carries."""
    tested = {
        "constricted",
        "current_density",
        "cold_gas",
        "separation",
        "seed_not_soluble",
        "hot_electrons",
        "overheating",
        "hall_field",
        "neighbouring_pairs",
        "magnet_temperature",
        "outside_gas_table",
        "cathode_limited",
        "spark",
        "electrodes_too_hot",
        "pulsed",
        "charger_too_weak",
    }
    assert tested == set(registry.WARNING_BITS)


def test_fields_that_differ_from_point_to_point_are_each_worked_out(tmp_path):
    study = study_named("blocks", tmp_path)
    spacing = np.linspace(0.02, 0.03, 7)
    found = solve_many(study, {"magnet.blocks.spacing": spacing}, quantities=["field", "back_emf"])
    assert (np.diff(found["field"]) < 0.0).all()
    alone = [
        solve_many(study, {"magnet.blocks.spacing": [s]}, quantities=["field"])["field"][0] for s in spacing
    ]
    assert found["field"].to_numpy() == pytest.approx(alone, rel=1e-9)


def test_unseeded_points_cost_no_more_than_a_few_equilibria(plain, tmp_path, monkeypatch):
    """The least seed above zero shapes the axis of seed; zero itself has a table without one."""
    monkeypatch.setenv("MHDSTAGE_CACHE", str(tmp_path))
    built = []
    table = run.gas_table.gas_table

    def counted(axes, *others, **options):
        built.append(axes.equilibria)
        return table(axes, *others, **options)

    monkeypatch.setattr(run.gas_table, "gas_table", counted)
    seeded = solve_many(plain, {"gas.seed_fraction": [0.01, 0.008]}, quantities=SOME)
    assert len(built) == 1
    both = solve_many(plain, {"gas.seed_fraction": [0.01, 0.0, 0.008]}, quantities=SOME)
    assert len(built) == 2
    assert built[1] < 0.5 * built[0]
    for name in SOME:
        assert np.array_equal(both[name][[0, 2]], seeded[name]), name
    assert both["current"][1] == pytest.approx(0.01 * both["terminal_voltage"][1], rel=0.01)  # the leak alone
