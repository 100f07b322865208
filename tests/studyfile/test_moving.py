"""What is moved is read again by the grammar; expectations of cut and skewed forms are those of scipy.stats."""

import math
from contextlib import suppress

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from explorer import registry
from explorer.space import Cut, Lognormal, Normal, Rectangular, StudentT, Triangular, Uncertain
from explorer.studyfile import StudyError, moved
from explorer.studyfile.values import value

FIELD, VOLTAGE, PRESSURE = "magnet.field", "electrodes.main.source.voltage", "gas.chamber_pressure"
READINGS = ["0.470 T", "0.480 T", "0.481 T", "0.477 T", "0.479 T", "0.478 T"]


def at(address: str, written: object, to: float) -> object:
    return moved(address, written, to, registry.quantity(address))


def read(address: str, written: object) -> float | Uncertain:
    return value(address, written, registry.quantity(address))


def uncertain(address: str, written: object) -> Uncertain:
    found = read(address, written)
    assert isinstance(found, Uncertain)
    return found


def there(address: str, written: object, to: float) -> tuple[Uncertain, Uncertain]:
    """Return how a value is read before and after; the expectation is where it should be."""
    before, after = uncertain(address, written), uncertain(address, at(address, written, to))
    assert after.centre == pytest.approx(to, rel=1e-9)
    assert (after.shared, after.parts) == (before.shared, before.parts)
    return before, after


@pytest.mark.parametrize(
    ("address", "written", "to", "expected"),
    [
        (FIELD, "0.48 T", 0.6, "0.6 T"),
        (FIELD, "480 mT", 0.6, "0.6 T"),
        ("gas.mixture_ratio", 1.95, 2.1, 2.1),
        ("gas.mixture_ratio", 2, 2.1, 2.1),
        ("gas.mixture_ratio", "1.95", 2.1, 2.1),
        ("gas.seed_fraction", 0.01, 0.012, "1.2 %"),
        ("channel.gap_in", "11 mm", 0.0123, "12.3 mm"),
        ("magnet.blocks.temperature", "20 °C", 313.15, "40 °C"),
        ("ambient.altitude", "10 km", 0.0, "0 km"),
        (FIELD, {"value": "0.48 T", "shared": "gaussmeter"}, 0.6, {"value": "0.6 T", "shared": "gaussmeter"}),
        (FIELD, "0.48 ± 0.02 T", 0.6, "0.6 ± 0.02 T"),
        (FIELD, "0.48 +/- 0.02 T", 0.6, "0.6 ± 0.02 T"),
        (FIELD, "480 ± 20 mT", 0.6, "0.6 T ± 20 mT"),
        (FIELD, "0.48 T ± 4 %", 0.6, "0.6 T ± 4 %"),
        (FIELD, "0.48 ± 0.04 T (k=2)", 0.6, "0.6 ± 0.04 T (k=2)"),
        (FIELD, "0.48 T limits 0.02 T", 0.6, "0.6 T limits 0.02 T"),
        (FIELD, "0.48 T limits 4 %", 0.6, "0.6 T limits 4 %"),
        (VOLTAGE, "20 .. 60 V", 100.0, "80 .. 120 V"),
        (VOLTAGE, "20 V .. 0.06 kV", 100.0, "80 .. 120 V"),
        ("gas.seed_fraction", "1.0 ± 0.1 %", 0.012, "1.2 ± 0.1 %"),
        ("gas.seed_fraction", "0.01 ± 0.001", 0.012, "1.2 ± 0.1 %"),
        ("gas.seed_fraction", "1.0 limits 0.1 %", 0.012, "1.2 limits 0.1 %"),
        ("gas.combustion_efficiency", "90 ± 1 %", 0.8, "0.8 ± 0.01"),
        ("gas.mixture_ratio", "1.95 ± 0.06", 2.1, "2.1 ± 0.06"),
        ("magnet.blocks.temperature", "20 ± 2 °C", 313.15, "40 ± 2 °C"),
        ("magnet.blocks.temperature", "20 °C ± 2 K", 313.15, "40 °C ± 2 K"),
        ("magnet.blocks.temperature", "300 K ± 2 %", 320.0, "320 K ± 2 %"),
        ("channel.wall_temperature", "500 ± 20 °C", 800.0, "800 K ± 20 °C"),
        ("channel.wall_temperature", "800 K ± 10 %", 900.0, "900 K ± 10 %"),
        (
            PRESSURE,
            {"value": "12 bar", "unknown": "1 %", "scatter": "0.15 bar"},
            1.5e6,
            {"value": "15 bar", "unknown": "1 %", "scatter": "0.15 bar"},
        ),
        (
            PRESSURE,
            {"value": "12 ± 0.1 bar", "scatter": "0.15 bar", "shared": "gauge"},
            1.5e6,
            {"value": "15 ± 0.1 bar", "scatter": "0.15 bar", "shared": "gauge"},
        ),
        (
            PRESSURE,
            {"value": "11 .. 13 bar", "part": "scatter"},
            1.5e6,
            {"value": "14 .. 16 bar", "part": "scatter"},
        ),
        (
            "gas.mixture_ratio",
            {"low": 1.8, "peak": 1.9, "high": 2.3},
            2.1,
            {"low": 1.9, "peak": 2.0, "high": 2.4},
        ),
        (
            FIELD,
            {"mean": "0.48 T", "sd": "20 mT", "low": "0.44 T", "high": "0.52 T"},
            0.6,
            {"mean": "0.6 T", "sd": "20 mT", "low": "0.56 T", "high": "0.64 T"},
        ),
        (
            FIELD,
            {"values": ["0.470 T", "480 mT", "0.481 T", "0.477 T", "0.479 T", "0.478 T"], "part": "scatter"},
            0.5775,
            {"values": ["0.57 T", "0.58 T", "0.581 T", "0.577 T", "0.579 T", "0.578 T"], "part": "scatter"},
        ),
        (
            FIELD,
            {"value": "0.48 T", "scatter": {"values": READINGS}},
            0.6,
            {"value": "0.6 T", "scatter": {"values": READINGS}},
        ),
    ],
)
def test_a_moved_value_is_written_as_it_was(
    address: str, written: object, to: float, expected: object
) -> None:
    assert at(address, written, to) == expected


BAR = {"bar": 1e5, "Pa": 1.0, "kPa": 1e3, "MPa": 1e6}


@given(
    centre=st.floats(1e5, 1e7),
    share=st.floats(0.001, 0.075),  # so small that no tail below zero is cut silently
    unit=st.sampled_from(list(BAR)),
    word=st.sampled_from(["±", "limits"]),
    to=st.floats(0.5, 2.0),
)
def test_an_absolute_uncertainty_stays_and_a_relative_one_grows(
    centre: float, share: float, unit: str, word: str, to: float
) -> None:
    shown = f"{centre / BAR[unit]!r} {unit} {word}"
    before, after = there(PRESSURE, f"{shown} {share * centre / BAR[unit]!r} {unit}", to * centre)
    assert after.standard_uncertainty == pytest.approx(before.standard_uncertainty, rel=1e-8)
    before, after = there(PRESSURE, f"{shown} {100 * share!r} %", to * centre)
    assert after.standard_uncertainty == pytest.approx(to * before.standard_uncertainty, rel=1e-8)
    assert type(after.unknown) is (Normal if word == "±" else Rectangular)


@given(
    low=st.floats(-1.0, 1.0).map(lambda x: round(x, 9)),
    width=st.floats(1e-4, 1.0),
    to=st.floats(-2.0, 2.0).map(lambda x: round(x, 9)),
    peak=st.floats(0.01, 1.0),
)
def test_ranges_and_triangles_shift_across_zero_too(low: float, width: float, to: float, peak: float) -> None:
    address = "magnet.blocks.position"
    before = uncertain(address, f"{low!r} .. {low + width!r} m")
    after = uncertain(address, at(address, f"{low!r} .. {low + width!r} m", to))
    assert after.centre == pytest.approx(to, rel=1e-9, abs=1e-9 * width)
    assert after.standard_uncertainty == pytest.approx(before.standard_uncertainty, rel=1e-6)
    table = {"low": f"{low!r} m", "peak": f"{low + peak * width!r} m", "high": f"{low + width!r} m"}
    triangle = uncertain(address, at(address, table, to)).unknown
    assert isinstance(triangle, Triangular)
    assert triangle.mean == pytest.approx(to, rel=1e-9, abs=1e-9 * width)
    assert triangle.high - triangle.low == pytest.approx(width, rel=1e-6)
    assert triangle.peak - triangle.low == pytest.approx(peak * width, abs=1e-6 * width)


@given(median=st.floats(0.1, 10.0), factor=st.floats(1.05, 5.0), to=st.floats(0.1, 10.0))
def test_what_is_known_up_to_a_factor_keeps_it(median: float, factor: float, to: float) -> None:
    before, after = there("gas.conductivity_factor", {"median": median, "factor": factor, "shared": "x"}, to)
    assert isinstance(after.unknown, Lognormal)
    assert after.unknown.factor == pytest.approx(factor, rel=1e-14)
    spread = math.log(factor) / stats.norm.ppf(0.975)
    assert after.unknown.median == pytest.approx(to / stats.lognorm(spread).mean(), rel=1e-9)
    assert after.standard_uncertainty / to == pytest.approx(
        before.standard_uncertainty / before.centre, rel=1e-9
    )


@given(
    mean=st.floats(1.0, 2.0),
    sd=st.floats(0.05, 0.3),
    down=st.floats(0.1, 3.0),
    up=st.floats(0.1, 3.0),
    to=st.floats(4.0, 8.0),
)
def test_a_cut_normal_shifts_with_its_limits(
    mean: float, sd: float, down: float, up: float, to: float
) -> None:
    table = {"mean": mean, "sd": sd, "low": mean - down * sd, "high": mean + up * sd}
    cut = uncertain("gas.conductivity_factor", at("gas.conductivity_factor", table, to)).unknown
    assert isinstance(cut, Cut)
    assert isinstance(cut.base, Normal)
    shift = cut.base.centre - mean
    assert (cut.low, cut.high) == pytest.approx((table["low"] + shift, table["high"] + shift), rel=1e-9)
    truncated = stats.truncnorm(-down, up, loc=cut.base.centre, scale=sd)
    assert truncated.mean() == pytest.approx(to, rel=1e-6)  # quadrature over 1601 nodes against closed form
    assert cut.mean == pytest.approx(to, rel=1e-9)


@given(percent=st.floats(2.0, 20.0), to=st.floats(0.2, 2.0))
def test_a_relative_deviation_inside_a_cut_stays_relative(percent: float, to: float) -> None:
    table = {"mean": "0.48 T", "sd": f"{percent!r} %", "low": "0.45 T", "high": "0.6 T"}
    result = at(FIELD, table, to)
    assert isinstance(result, dict)
    assert result["sd"] == table["sd"]
    cut = uncertain(FIELD, result).unknown
    assert isinstance(cut, Cut)
    assert isinstance(cut.base, Normal)
    assert cut.base.standard_deviation == pytest.approx(cut.base.centre * percent / 100, rel=1e-12)
    assert cut.high - cut.low == pytest.approx(0.15, rel=1e-9)
    assert cut.mean == pytest.approx(to, rel=1e-9)


@given(to=st.floats(0.3, 2.0), scatter=st.floats(0.001, 0.02))
def test_both_parts_of_a_value_move_as_they_are_written(to: float, scatter: float) -> None:
    before, after = there(
        FIELD, {"value": "0.48 T", "unknown": "4 %", "scatter": f"{scatter!r} T", "shared": "map"}, to
    )
    assert isinstance(before.scatter, Normal)
    assert after.unknown == Normal(pytest.approx(to, rel=1e-11), pytest.approx(0.04 * to, rel=1e-11))
    assert after.scatter == Normal(pytest.approx(to, rel=1e-11), pytest.approx(scatter, rel=1e-11))


def test_readings_keep_their_deviation() -> None:
    before, after = there(FIELD, {"values": READINGS, "low": "0.1 T"}, 0.6)
    assert isinstance(before.unknown, Cut)
    assert isinstance(after.unknown, Cut)
    assert isinstance(before.unknown.base, StudentT)
    assert isinstance(after.unknown.base, StudentT)
    assert after.unknown.base.scale == pytest.approx(before.unknown.base.scale, rel=1e-9)
    assert after.unknown.base.degrees_of_freedom == 5


def test_a_factor_inside_a_value_with_scatter_scales() -> None:
    written = {"value": {"median": "0.4 T", "factor": 1.5}, "scatter": "0.01 T"}
    result = at(FIELD, written, 0.8)
    assert isinstance(result, dict)
    assert result["value"]["factor"] == 1.5
    assert result["scatter"] == "0.01 T"
    assert uncertain(FIELD, result).centre == pytest.approx(0.8, rel=1e-9)


def test_limits_around_both_parts_move_too() -> None:
    written = {"value": "0.48 T", "unknown": "0.02 T", "scatter": "0.01 T", "low": "0.47 T"}
    before, after = uncertain(FIELD, written), uncertain(FIELD, at(FIELD, written, 0.6))
    assert before.centre > 0.49  # the cut counts: the expectation is not the value written
    assert after.centre == pytest.approx(0.6, rel=1e-9)
    assert after.low == pytest.approx(0.47 + 0.6 - before.centre, rel=1e-9)


def test_a_tail_beyond_the_physical_bounds_does_not_crook_what_is_written() -> None:
    written = "1.0 ± 0.2 %"  # 5 standard uncertainties above zero: 3e-7 of it lies below and is cut
    assert at("gas.seed_fraction", written, 0.012) == "1.2 ± 0.2 %"
    found = uncertain("gas.seed_fraction", at("gas.seed_fraction", "1.5 ± 0.2 %", 0.01))
    assert found.centre != 0.01
    assert found.centre == pytest.approx(0.01, abs=1e-5 * found.standard_uncertainty)


@pytest.mark.parametrize(
    ("address", "written"),
    [
        (FIELD, "0.48 ± 0.02 T"),
        (FIELD, "0.48 T ± 4 %"),
        (FIELD, "0.48 T limits 0.02 T"),
        (FIELD, {"median": "0.4 T", "factor": 1.5}),
        (FIELD, {"mean": "0.48 T", "sd": "5 %", "low": "0.46 T"}),
        (FIELD, {"values": READINGS, "low": "0 T"}),
        (PRESSURE, {"value": "12 bar", "unknown": "0.1 bar", "scatter": "1 %"}),
        ("gas.seed_vaporized", {"low": 0.5, "peak": 0.85, "high": 0.98}),
        ("magnet.blocks.temperature", "20 ± 2 °C"),
        ("gas.combustion_efficiency", {"mean": 0.96, "sd": 0.01, "low": 0.92, "high": 0.985}),
    ],
)
def test_moving_to_where_it_is_changes_nothing_and_moving_there_and_back_neither(
    address: str, written: object
) -> None:
    before = uncertain(address, written)
    size = abs(before.centre)
    away = at(address, written, 0.98 * size)
    for result in (at(address, written, before.centre), at(address, away, before.centre)):
        after = uncertain(address, result)
        assert after.centre == pytest.approx(before.centre, rel=1e-9)
        assert after.standard_uncertainty == pytest.approx(before.standard_uncertainty, rel=1e-7)
    assert uncertain(address, away).centre != pytest.approx(before.centre, rel=1e-3)


@pytest.mark.parametrize(
    ("address", "written", "to", "message"),
    [
        (FIELD, "0.48 ± 0.02 T", 0.01, "lies outside what is possible"),
        (FIELD, "0.48 T", -0.1, "must be 0 T or more; got -0.1 T"),
        (FIELD, "0.48 T ± 4 %", 0.0, "of zero"),
        ("gas.seed_vaporized", {"low": 0.5, "peak": 0.85, "high": 0.98}, 0.95, "outside what is possible"),
        ("gas.conductivity_factor", {"median": 1, "factor": 1.8}, -1.0, "above zero"),
        ("gas.combustion_efficiency", "95 ± 1 %", 1.1, "outside what is possible"),
        (FIELD, "0.48 ± 0.02 V", 0.5, "expected a magnetic flux density"),
        (FIELD, [0.48], 0.5, "expected a value"),
        ("gas.mixture_ratio", 1.95, math.nan, "not a finite number"),
        ("gas.mixture_ratio", 1.95, math.inf, "not a finite number"),
    ],
)
def test_what_cannot_stand_there_is_refused(address: str, written: object, to: float, message: str) -> None:
    with pytest.raises(StudyError) as caught:
        at(address, written, to)
    assert message in str(caught.value)
    assert "\n" not in str(caught.value)
    assert caught.value.address == address


MEMBERS = "value unknown scatter values low peak high median factor mean sd part shared"
ANYTHING = st.one_of(
    st.floats(0.1, 3.0),
    st.sampled_from(["2 ± 0.1", "1 .. 2", "0.3", "scatter", "x", "0.2 (k=2)"]),
    st.lists(st.floats(0.5, 2.0), min_size=4, max_size=5),
)


@given(st.dictionaries(st.sampled_from(MEMBERS.split()), ANYTHING, min_size=1, max_size=5), st.floats(0.5, 5))
def test_any_table_that_can_be_read_is_moved_or_refused(table: dict, to: float) -> None:
    with suppress(StudyError):
        before = read("gas.conductivity_factor", table)
        assume(isinstance(before, Uncertain))
        after = uncertain("gas.conductivity_factor", at("gas.conductivity_factor", table, to))
        assert after.centre == pytest.approx(to, abs=max(1e-9 * to, 1e-5 * after.standard_uncertainty))
