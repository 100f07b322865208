import subprocess
import sys
import tomllib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from explorer import units
from explorer.units import Scale, UnitError
from explorer.units.conversion import OFTEN_WRITTEN, in_si_by_pint

REFERENCE = tomllib.loads((Path(__file__).parent / "reference/units.toml").read_text(encoding="utf-8"))


@pytest.mark.parametrize("row", REFERENCE["conversion"], ids=lambda row: row["text"])
def test_conversions_are_those_of_the_published_tables(row: dict) -> None:
    tolerance = row.get("tolerance", 1e-14 * abs(row["value"]))
    assert units.si_text(row["text"], row["si_unit"]) == pytest.approx(row["value"], rel=0, abs=tolerance)


def test_what_is_typed_comes_back_without_binary_dust() -> None:
    assert units.si_text("9 mm", "m") == 0.009
    assert units.si_text("1.013 bar", "Pa") == 101300.0
    assert units.si_text("20.1 °C", "K") == 293.25


def test_a_difference_in_celsius_is_one_in_kelvin() -> None:
    assert units.si_difference(2.0, "°C", "K") == 2.0
    assert units.si_value(2.0, "°C", "K") == 275.15


@pytest.mark.parametrize(
    ("text", "expected", "message"),
    [
        ("12 mm", "Pa", "expected a pressure, got 12 mm"),
        ("3 C", "K", "expected a temperature, got 3 C"),
        ("12", "Pa", "expected a pressure, got 12 without a unit"),
        ("12 bar", "1", "expected a plain number, got 12 bar"),
        ("5 S/m", "S", "expected a conductance, got 5 S/m"),
        ("10 Wh/kg", "W/kg", "expected a power per mass, got 10 Wh/kg"),
        ("2 kW/kg", "J/kg", "expected an energy per mass, got 2 kW/kg"),
        ("2 bar", "Pa m", "expected a pressure times length, got 2 bar"),
        ("12 foo", "Pa", '"foo" is no unit'),
        ("12 bar; import os", "Pa", "no unit"),
        ("20 °F", "K", "write °C or K"),
        ("0,48 T", "T", 'write "0.48 T"'),
        ("bar", "Pa", "does not begin with a number"),
        ("1e999 bar", "Pa", "not a finite number"),
        ("nan bar", "Pa", "does not begin with a number"),
        ("", "Pa", "does not begin with a number"),
    ],
)
def test_what_cannot_be_read_is_refused_with_what_would_be_right(
    text: str, expected: str, message: str
) -> None:
    with pytest.raises(UnitError) as caught:
        units.si_text(text, expected)
    assert message in str(caught.value)
    assert "\n" not in str(caught.value)


def test_minus_signs_and_narrow_spaces_of_typeset_text_are_read() -> None:
    assert units.number_and_unit("\u22121.5\u202fkJ/mol") == (-1.5, "kJ/mol")


@given(st.floats(1e-12, 1e12) | st.floats(-1e12, -1e-12) | st.just(0.0))
def test_any_number_survives_its_way_to_a_text_and_back(number: float) -> None:
    assert units.number_and_unit(f"{number!r} m") == (number, "m")


@given(st.floats(1e-3, 1e6), st.sampled_from([("Pa", "bar"), ("m", "mm"), ("K", "°C"), ("1", "%")]))
def test_showing_a_value_is_the_inverse_of_reading_it(value: float, scale: tuple[str, str]) -> None:
    unit, shown_unit = scale
    back = units.si_value(units.from_si(value, unit, shown_unit), shown_unit, unit)
    assert back == pytest.approx(value, rel=1e-12, abs=1e-12)


def test_values_are_written_with_their_shown_unit_and_no_needless_digits() -> None:
    assert Scale("Pa", "bar").text(1.2e6) == "12 bar"
    assert Scale("K", "°C").text(293.15) == "20 °C"
    assert Scale("K", "°C").difference(2.0) == "2 K"
    assert Scale("1", "%").text(0.01) == "1 %"
    assert Scale("1", "1").text(1.95) == "1.95"
    assert Scale("T", "T").span(0.44, 0.52) == "0.44 and 0.52 T"
    assert Scale("A", "A").text(float("inf")) == "no limit"
    assert Scale("A", "A").text(float("nan")) == "none"
    assert Scale("1/m^3", "1/m^3").text(1.2419e20) == "1.242e+20 1/m^3"
    assert [units.number_text(x) for x in (0.0, 9.99996, 123456.7, 0.00012346)] == [
        "0",
        "10",
        "123500",
        "0.0001235",
    ]


def test_arrays_are_shown_elementwise() -> None:
    assert np.array_equal(units.from_si(np.array([1e5, 2e5]), "Pa", "bar"), [1.0, 2.0])


def test_the_si_unit_of_an_unregistered_input_is_that_of_its_dimension() -> None:
    assert [units.si_unit(unit) for unit in ("mA", "%", "°C", "kN", "mg", "mm")] == [
        "A",
        "1",
        "K",
        "N",
        "kg",
        "m",
    ]
    assert [units.si_unit(unit) for unit in ("kW/kg", "Wh/kg", "bar mm")] == ["W/kg", "J/kg", "Pa m"]


SPELLED_OTHERWISE = {"Ohm": "ohm", "mOhm": "milliohm", "kOhm": "kiloohm", "sec": "second"}
OF_ANOTHER_SYSTEM = {
    "mG",
    "G",
    "gauss",
    "kG",
}  # Pint's gauss is no tesla; tests/reference/units.toml has ours


@pytest.mark.parametrize(
    ("unit", "si", "size"),
    [
        (unit, si, size)
        for si, units_of in OFTEN_WRITTEN.items()
        for unit, size in units_of.items()
        if unit not in OF_ANOTHER_SYSTEM
    ],
)
def test_units_written_often_are_as_large_as_pint_has_them(unit: str, si: str, size: float) -> None:
    assert in_si_by_pint(SPELLED_OTHERWISE.get(unit, unit)) == (si, pytest.approx(size, rel=1e-15))


def test_importing_the_units_and_reading_the_studies_of_the_program_does_not_import_pint() -> None:
    code = """
import pathlib, sys, explorer.studyfile
for path in pathlib.Path("studies").glob("*.toml"):
    explorer.studyfile.read_study(path).words()
sys.exit("pint" in sys.modules)
"""
    folder = Path(__file__).parents[1]
    assert subprocess.run([sys.executable, "-c", code], check=False, cwd=folder).returncode == 0


@pytest.mark.parametrize("text", ["14 ± 1 mm", "14 1 mm", "14 +1 mm", "14 2.0mm"])
def test_a_second_number_is_no_part_of_a_unit(text: str) -> None:
    """Common practice, no source: Pint reads "1 mm" as a unit, and so would swallow a ± of 1."""
    with pytest.raises(units.UnitError, match="more than a number and its unit"):
        units.number_and_unit(text)


def test_a_unit_may_begin_with_one_over() -> None:
    assert units.number_and_unit("5 1/m^3") == (5.0, "1/m^3")
