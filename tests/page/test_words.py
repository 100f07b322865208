"""Figures in words: sampling errors, ends of intervals and requirements, to the digits that stand."""

from explorer import registry
from explorer.page.words import (
    between,
    figure_with_sampling,
    number_with_sampling,
    plus_minus,
    requirement,
    share_with_sampling,
)

GAIN = registry.quantity("thrust_gain")


# The contract's own example of how a sampling error is printed: "0.83 (sampling ± 0.004)".
def test_sampling_errors_are_printed_as_the_contract_says() -> None:
    assert share_with_sampling(0.834, 0.0041) == "0.834 (sampling ± 0.004)"
    assert share_with_sampling(1.0, 0.0) == "1"
    assert figure_with_sampling(GAIN, 0.0491, 0.0002, 0.0186) == "0.0491 N (sampling ± 0.0002 N)"
    assert figure_with_sampling(GAIN, 0.0491, 0.003, 0.0186) == "0.049 N (sampling ± 0.003 N)"
    pressure = registry.quantity("exit_pressure")
    assert pressure.shown_unit == "bar"
    assert figure_with_sampling(pressure, 123_400.0, 200.0, 5_000.0) == "1.234 bar (sampling ± 0.002 bar)"


def test_an_error_far_below_the_last_digit_is_rounded_up_not_to_nothing() -> None:
    assert figure_with_sampling(GAIN, 0.0491, 1e-9, 0.0186) == "0.0491 N (sampling ± 0.00001 N)"
    assert figure_with_sampling(GAIN, 0.0491, 0.0, 0.0186) == "0.0491 N"


def test_ends_and_spreads_keep_to_the_uncertaintys_second_digit() -> None:
    assert between(GAIN, 0.02336, 0.09481, 0.0186) == "0.023 and 0.095 N"
    assert plus_minus(GAIN, 0.000035) == "± 0.000035 N"
    assert plus_minus(GAIN, 0.0) == "± 0 N"
    assert requirement(GAIN, at_least=0.04, at_most=None) == "at least 0.04 N"
    assert requirement(GAIN, at_least=0.04, at_most=0.2) == "at least 0.04 N and at most 0.2 N"


def test_a_figure_that_only_rounding_moves_has_no_sampling_error() -> None:
    assert number_with_sampling(110.0, 1.4e-10) == "110"
    assert number_with_sampling(110.0, 1.4) == "110 (±1)"
