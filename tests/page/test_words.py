"""Figures in words: sampling errors, ends of intervals and requirements, to the digits that stand."""

from explorer import registry
from explorer.page.words import (
    between,
    figure_with_sampling,
    number_with_sampling,
    percent_with_sampling,
    plus_minus,
    requirement,
    with_sampling,
    with_uncertainty,
)

GAIN = registry.quantity("thrust_gain")


# The contract's own example of how a sampling error is printed: "0.83 (sampling ± 0.004)".
def test_sampling_errors_are_printed_as_the_contract_says() -> None:
    assert percent_with_sampling(0.834, 0.0041) == "83.4 % (sampling ± 0.4 %)"
    assert percent_with_sampling(1.0, 0.0) == "100 %"
    assert figure_with_sampling(GAIN, 0.0491, 0.0002, 0.0186) == "0.0491 N (sampling ± 0.0002 N)"
    assert figure_with_sampling(GAIN, 0.0491, 0.003, 0.0186) == "0.049 N (sampling ± 0.003 N)"
    pressure = registry.quantity("exit_pressure")
    assert pressure.shown_unit == "bar"
    assert (
        figure_with_sampling(pressure, 123_400.0, 200.0, 5_000.0, full=True)
        == "1.234 bar (sampling ± 0.002 bar)"
    )


# The issue's own rule: three significant digits at most outside a reviewer's part; what is smaller is for a reviewer.
def test_a_sentence_has_three_digits_and_leaves_out_a_sampling_error_below_them() -> None:
    pressure = registry.quantity("exit_pressure")
    assert figure_with_sampling(pressure, 123_400.0, 200.0, 5_000.0) == "1.23 bar"
    assert figure_with_sampling(pressure, 123_400.0, 200.0, 30_000.0) == "1.23 bar"
    assert percent_with_sampling(0.7596, 0.0003) == "76 %"
    assert with_sampling(GAIN, 0.0154, 0.00007) == "± 0.0154 N"
    assert with_sampling(GAIN, 0.0154, 0.00007, full=True) == "± 0.01540 N (sampling ± 0.00007 N)"
    assert with_uncertainty(registry.quantity("ambient.altitude"), 27_760.0, 830.0) == "27.8 ± 0.8 km"
    assert with_uncertainty(pressure, 101_325.0, 20.0) == "1.0132 ± 0.0002 bar"  # never ± 0


def test_a_sentence_has_thousands_and_thousandths_of_a_unit() -> None:
    power = registry.quantity("electrical_power")
    assert power.spoken(1352.0) == "1.35 kW"
    assert power.spoken(999.4) == "999 W"
    assert power.spoken(999.6) == "1 kW"
    assert power.spoken(-2.1e6) == "-2.1 MW"
    assert between(power, 27_500.0, 65_100.0, 9_000.0, last=" to ") == "27.5 to 65.1 kW"
    assert between(power, 830.0, 3_070.0, 600.0, last=" … ", bare=True) == "830 … 3070"
    assert between(power, 830.0, 3_070.0, 600.0) == "0.83 and 3.07 kW"
    assert with_uncertainty(power, 46_000.0, 9_500.0) == "46.0 ± 9.5 kW"
    assert GAIN.spoken(0.000309) == "0.309 mN"
    assert GAIN.spoken(0.0012) == "0.0012 N"
    assert GAIN.spoken(0.0) == "0 N"
    assert GAIN.spoken(float("nan")) == "none"
    assert registry.quantity("channel.wall_temperature").spoken(2690.0) == "2690 K"  # no kK


def test_a_column_has_one_unit_and_a_reviewer_all_digits() -> None:
    assert GAIN.scale.differences([0.0169, -0.000983]) == ["16.9 mN", "-0.983 mN"]
    assert GAIN.scale.differences([0.0169, 0.0, -0.0000344]) == ["16.9 mN", "0 mN", "-0.0344 mN"]
    assert GAIN.scale.differences([1.5, -0.0000344]) == ["1.5 N", "-3.44e-05 N"]  # × 10⁻⁵ on a page
    assert GAIN.scale.differences([0.000983, 0.0000344]) == ["0.983 mN", "0.0344 mN"]
    assert registry.quantity("channel.wall_temperature").scale.differences([12.0]) == ["12 K"]
    assert with_uncertainty(GAIN, 0.01791, 0.00097) == "0.0179 ± 0.0010 N"
    assert with_uncertainty(GAIN, 0.01791, 0.00097, full=True) == "0.01791 ± 0.00097 N"
    assert with_uncertainty(GAIN, 0.0005, 0.0001, full=True) == "0.00050 ± 0.00010 N"


def test_an_error_far_below_the_last_digit_is_rounded_up_not_to_nothing() -> None:
    assert figure_with_sampling(GAIN, 0.0491, 1e-9, 0.0186, full=True) == "0.0491 N (sampling ± 0.00001 N)"
    assert figure_with_sampling(GAIN, 0.0491, 0.0, 0.0186) == "0.0491 N"


def test_ends_and_spreads_keep_to_the_uncertaintys_second_digit() -> None:
    assert between(GAIN, 0.02336, 0.09481, 0.0186) == "0.023 and 0.095 N"
    assert plus_minus(GAIN, 0.000035) == "± 0.035 mN"
    assert plus_minus(GAIN, 0.0) == "± 0 N"
    assert requirement(GAIN, at_least=0.04, at_most=None) == "at least 0.04 N"
    assert requirement(GAIN, at_least=0.04, at_most=0.2) == "at least 0.04 N and at most 0.2 N"


def test_a_figure_that_only_rounding_moves_has_no_sampling_error() -> None:
    assert number_with_sampling(110.0, 1.4e-10) == "110"
    assert number_with_sampling(110.0, 1.4) == "110 (±1)"
