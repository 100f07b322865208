import math
import tomllib
from contextlib import suppress
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from explorer import registry
from explorer.space import Cut, Lognormal, Normal, Rectangular, StudentT, Triangular, Uncertain
from explorer.studyfile import StudyError, read_inputs
from explorer.studyfile.values import as_toml, exact_value, value

REFERENCE = tomllib.loads(
    (Path(__file__).parents[1] / "reference/distributions.toml").read_text(encoding="utf-8")
)


def read(address: str, written: object) -> float | Uncertain:
    return value(address, written, registry.quantity(address))


def unknown(address: str, written: object) -> object:
    found = read(address, written)
    assert isinstance(found, Uncertain)
    assert found.scatter is None
    return found.unknown


def refusal(address: str, written: object) -> str:
    with pytest.raises(StudyError) as caught:
        read(address, written)
    assert caught.value.address == address
    assert str(caught.value).startswith(f"{address}: ")
    assert "\n" not in str(caught.value)
    return str(caught.value)


@pytest.mark.parametrize(
    ("address", "written", "expected"),
    [
        ("magnet.field", "0.48 T", 0.48),
        ("magnet.field", "480mT", 0.48),
        ("magnet.field", "4800 G", 0.48),
        ("gas.mixture_ratio", 1.95, 1.95),
        ("gas.mixture_ratio", 2, 2.0),
        ("gas.mixture_ratio", "1.95", 1.95),
        ("gas.seed_fraction", "1.0 %", 0.01),
        ("gas.seed_fraction", 0.01, 0.01),
        ("magnet.blocks.temperature", "20 °C", 293.15),
        ("electrodes.main.drop_resistance", "0.005 ohm m^2", 0.005),
        ("ambient.altitude", "-100 m", -100.0),
        ("gas.chamber_pressure", {"value": "12 bar"}, 1.2e6),
    ],
)
def test_exact_values(address: str, written: object, expected: float) -> None:
    assert read(address, written) == expected


@pytest.mark.parametrize(
    ("address", "written", "expected"),
    [
        ("magnet.field", "0.48 ± 0.02 T", Normal(0.48, 0.02)),
        ("magnet.field", "0.48 +/- 0.02 T", Normal(0.48, 0.02)),
        ("magnet.field", "0.48 T ± 0.02 T", Normal(0.48, 0.02)),
        ("magnet.field", "0.48 T ± 20 mT", Normal(0.48, 0.02)),
        ("magnet.field", "0.48 T ± 4 %", Normal(0.48, 0.0192)),
        ("magnet.field", "0.48 ± 0.04 T (k=2)", Normal(0.48, 0.02)),
        ("magnet.field", "0.48 ± 0.04 T ( k = 2 )", Normal(0.48, 0.02)),
        ("magnet.field", "0.48 T limits 0.02 T", Rectangular(0.48 - 0.02, 0.5)),
        ("electrodes.main.source.voltage", "20 .. 60 V", Rectangular(20.0, 60.0)),
        ("electrodes.main.source.voltage", "20V..60V", Rectangular(20.0, 60.0)),
        ("electrodes.main.source.voltage", "500 mV .. 2 V", Rectangular(0.5, 2.0)),
        ("gas.seed_fraction", "1.0 ± 0.2 %", Normal(0.01, 0.002)),
        ("gas.seed_fraction", "0.01 ± 0.002", Normal(0.01, 0.002)),
        ("gas.combustion_efficiency", "95 ± 1 %", Normal(0.95, 0.01)),
        ("magnet.blocks.temperature", "20 ± 2 °C", Normal(293.15, 2.0)),
        ("magnet.blocks.temperature", "20 °C ± 2 K", Normal(293.15, 2.0)),
        ("magnet.blocks.temperature", "20 .. 60 °C", Rectangular(293.15, 333.15)),
        ("channel.wall_temperature", "800 K ± 10 %", Normal(800.0, 80.0)),
        ("gas.seed_vaporized", {"low": 0.5, "peak": 0.85, "high": 0.98}, Triangular(0.5, 0.85, 0.98)),
        ("gas.conductivity_factor", {"median": 1, "factor": 1.8}, Lognormal(1.0, 1.8)),
        (
            "gas.combustion_efficiency",
            {"mean": 0.96, "sd": 0.01, "low": 0.92, "high": 0.985},
            Cut(Normal(0.96, 0.01), 0.92, 0.985),
        ),
        (
            "magnet.field",
            {"mean": "0.48 T", "sd": "20 mT", "low": "0 T"},
            Cut(Normal(0.48, 0.02), 0.0, math.inf),
        ),
        ("magnet.field", {"value": "0.48 ± 0.02 T", "shared": "gaussmeter"}, Normal(0.48, 0.02)),
    ],
)
def test_uncertain_values(address: str, written: object, expected: object) -> None:
    if isinstance(expected, Rectangular | Normal):
        found = unknown(address, written)
        assert type(found) is type(expected)
        assert vars(found) == pytest.approx(vars(expected), rel=1e-12)
    else:
        assert unknown(address, written) == expected


def test_unknown_and_scatter_are_read_as_two_parts() -> None:
    found = read("gas.chamber_pressure", {"value": "12 bar", "unknown": "0.1 bar", "scatter": "0.15 bar"})
    assert isinstance(found, Uncertain)
    assert (found.unknown, found.scatter) == (Normal(1.2e6, 1e4), Normal(1.2e6, 1.5e4))
    relative = read("magnet.field", {"value": "0.5 T", "unknown": "4 %", "scatter": "limits 0.01 T"})
    assert isinstance(relative, Uncertain)
    assert (relative.unknown, relative.scatter) == (Normal(0.5, 0.02), Rectangular(0.49, 0.51))
    expanded = read("gas.mixture_ratio", {"value": 1.95, "scatter": "0.06 (k=2)"})
    assert isinstance(expanded, Uncertain)
    assert (expanded.unknown, expanded.scatter) == (None, Normal(1.95, 0.03))


def test_a_value_with_a_form_of_its_own_can_scatter_besides() -> None:
    found = read("gas.mixture_ratio", {"value": "1.9 .. 2.0", "scatter": 0.03})
    assert isinstance(found, Uncertain)
    assert found.unknown == Rectangular(1.9, 2.0)
    assert found.scatter == Normal(1.95, 0.03)
    scattering = read("gas.mixture_ratio", {"value": "1.9 .. 2.0", "part": "scatter"})
    assert isinstance(scattering, Uncertain)
    assert (scattering.unknown, scattering.scatter) == (None, Rectangular(1.9, 2.0))


@pytest.mark.parametrize("name", ["voltage", "current", "phase"])
def test_readings_give_the_mean_and_its_deviation_of_gum_h2(name: str) -> None:
    published = REFERENCE["readings"]
    _, space = read_inputs({"x": {"values": published[name]}})
    t = space.inputs[0].unknown
    assert isinstance(t, StudentT)
    assert t.degrees_of_freedom == 4
    digits = {"voltage": 5e-5, "current": 5e-5, "phase": 5e-6}[name]  # half a unit of the last printed digit
    assert t.centre == pytest.approx(published[f"{name}_mean"], abs=digits)
    assert t.scale == pytest.approx(published[f"{name}_scale"], abs=digits)


def test_readings_as_scatter_say_what_one_more_reading_would_be() -> None:
    readings = ["0.470 T", "0.480 T", "0.481 T", "0.477 T", "0.479 T", "0.478 T"]
    deviation = np.std([0.470, 0.480, 0.481, 0.477, 0.479, 0.478], ddof=1)
    found = read("magnet.field", {"values": readings, "part": "scatter"})
    assert isinstance(found, Uncertain)
    assert isinstance(found.scatter, StudentT)
    assert found.scatter.scale == pytest.approx(deviation * math.sqrt(1 + 1 / 6), rel=1e-12)
    beside = read("magnet.field", {"value": "0.5 T", "scatter": {"values": readings}})
    assert isinstance(beside, Uncertain)
    assert isinstance(beside.scatter, StudentT)
    assert beside.scatter.centre == 0.5


def test_the_central_value_is_the_expectation() -> None:
    lognormal = read("gas.conductivity_factor", {"median": 1, "factor": 1.8})
    assert isinstance(lognormal, Uncertain)
    assert lognormal.centre == pytest.approx(1.0460, abs=5e-5)
    triangular = read("gas.seed_vaporized", {"low": 0.5, "peak": 0.85, "high": 0.98})
    assert isinstance(triangular, Uncertain)
    assert triangular.centre == pytest.approx(2.33 / 3, rel=1e-12)


@pytest.mark.parametrize(
    ("address", "written", "fragments"),
    [
        ("gas.seed_fraction", "1.0 % ± 20 %", ['"1 ± 0.2 %"', '"1 ± 20 %"', "two things"]),
        ("gas.mixture_ratio", "1.95 ± 2 %", ['"1.95 ± 0.039"', "two things"]),
        ("gas.combustion_efficiency", "0.96 ± 1 %", ['"0.96 ± 0.0096"', "two things"]),
        ("gas.seed_fraction", {"value": "1.0 %", "unknown": "20 %"}, ["0.002", "0.2", "two things"]),
        ("magnet.field", "0,48 T", ['"0.48 T"', "decimal comma"]),
        ("magnet.field", "0.48 ± 0,02 T", ['"0.48 ± 0.02 T"']),
        ("magnet.field", 0.48, ["without a unit", '"0.48 T"']),
        ("magnet.field", "0.48", ["without a unit", '"0.48 T"']),
        ("magnet.field", "0.48 T ± 0.02", ['"0.48 ± 0.02 T"']),
        ("magnet.field", "0.48 ± 0 T", ["above zero", '"0.48 T"']),
        ("magnet.field", "0.48 ± -0.02 T", ["above zero"]),
        ("magnet.field", "0.48 ± 0.02 ± 0.01 T", ["two separators"]),
        ("magnet.field", "0.4 .. 0.5 T (k=2)", ["belongs to a ±"]),
        ("magnet.field", "0.48 ± 0.02 T (k=0)", ["above zero"]),
        ("magnet.field", "strong", ["does not begin with a number", '"1 T"']),
        ("magnet.field", "-0.48 T", ["must be 0 T or more", "-0.48 T"]),
        ("gas.chamber_pressure", "12 mm", ["expected a pressure, got 12 mm"]),
        ("gas.chamber_pressure", "12 ± 0.1 mm", ["expected a pressure"]),
        ("gas.chamber_pressure", "12 bar ± 1 mm", ["expected a pressure, got 1 mm"]),
        ("gas.chamber_pressure", "60 .. 20 bar", ["low end must lie below"]),
        ("gas.chamber_pressure", "20 .. 20 bar", ["low end must lie below"]),
        ("gas.chamber_pressure", True, ["expected a value"]),
        ("gas.chamber_pressure", float("nan"), ["finite"]),
        ("gas.chamber_pressure", float("inf"), ["finite"]),
        ("nozzle.throat_diameter", "0 mm", ["above 0 mm"]),
        ("nozzle.throat_diameter", "-9 mm", ["above 0 mm"]),
        ("gas.nozzle_lag", 1.2, ["between 0 and 1", "1.2"]),
        ("gas.seed_fraction", "120 %", ["between 0 % and 100 %"]),
        ("magnet.blocks.temperature", "20 °C ± 4 %", ["kelvin"]),
        ("magnet.field", {"medain": "1 T", "factor": 2}, ['did you mean "median"']),
        ("magnet.field", {"median": "1 T"}, ["missing factor"]),
        ("magnet.field", {"median": "1 T", "factor": 0.5}, ["above 1"]),
        ("magnet.field", {"median": "0 T", "factor": 2}, ["above zero"]),
        (
            "magnet.field",
            {"median": "1 T", "factor": 2, "sd": "1 T"},
            ['"sd" does not go with median, factor'],
        ),
        ("magnet.field", {"low": "0.4 T", "peak": "0.6 T", "high": "0.5 T"}, ["in this order"]),
        ("magnet.field", {"low": "0.4 T", "high": "0.5 T"}, ['"0.4 T .. 0.5 T"']),
        ("magnet.field", {"mean": "0.4 T", "low": "0.3 T"}, ["missing sd"]),
        (
            "magnet.field",
            {"mean": "0.4 T", "sd": "0.1 T", "low": "0.5 T", "high": "0.3 T"},
            ["low must lie below"],
        ),
        (
            "magnet.field",
            {"mean": "0.4 T", "sd": "0.01 T", "low": "0.6 T", "high": "0.7 T"},
            ["almost nothing"],
        ),
        ("magnet.field", {"values": ["0.4 T", "0.5 T", "0.6 T"]}, ["at least 4"]),
        ("magnet.field", {"value": "0.4 T", "unknown": {}}, ["at least 4"]),
        ("magnet.field", {"values": ["0.4 T"] * 5}, ["all the same"]),
        ("magnet.field", {"values": ["0.4 ± 0.1 T"] * 5}, ["without a ±"]),
        ("magnet.field", {"value": "0.4 ± 0.1 T", "unknown": "0.1 T"}, ["give one of them"]),
        ("magnet.field", {"value": "0.4 T", "scatter": "0.01 T", "shared": "x"}, ["cannot be shared"]),
        ("magnet.field", {"value": "0.4 T", "unknown": "0.01 T", "shared": 3}, ["shared must be a name"]),
        ("magnet.field", {"median": "1 T", "factor": 2, "part": "both"}, ["part must be"]),
        ("magnet.field", {}, ["low, peak, high"]),
        ("gas.custom_fuel.density", "800 ± 10 kg/m^3", ["cannot be uncertain"]),
    ],
)
def test_what_cannot_be_meant_is_refused_with_what_would_be_right(
    address: str, written: object, fragments: list[str]
) -> None:
    message = refusal(address, written)
    for fragment in fragments:
        assert fragment in message


@pytest.mark.parametrize(
    ("address", "written"),
    [
        ("gas.combustion_efficiency", "0.96 ± 0.02"),
        ("magnet.field", "0.48 ± 0.2 T"),
        ("channel.wall_temperature", "300 ± 100 K"),
        ("magnet.blocks.temperature", "20 ± 100 °C"),
        ("gas.nozzle_lag", "0.6 .. 1.2"),
        ("gas.nozzle_lag", {"median": 0.9, "factor": 1.2}),
        ("gas.nozzle_lag", {"mean": 0.96, "sd": 0.02, "high": 1.1}),
        ("gas.nozzle_lag", {"values": [0.97, 0.98, 0.99, 0.96]}),
        ("gas.nozzle_lag", {"value": 0.9, "unknown": 0.05, "scatter": 0.03}),
        ("gas.nozzle_lag", {"value": "0.9 ± 0.05", "shared": "name"}),
        ("gas.nozzle_lag", {"value": "0.9 ± 0.05", "part": "scatter"}),
    ],
)
def test_the_cut_form_offered_can_be_pasted_and_is_accepted(address: str, written: object) -> None:
    message = refusal(address, written)
    assert "lies outside what is possible" in message
    pasted = tomllib.loads("offered = " + message.split("; cut it: ")[1])["offered"]
    found = read(address, pasted)
    assert isinstance(found, Uncertain)
    points = np.random.default_rng(3).random((20_000, len(found.parts)))
    assert registry.quantity(address).inside(found.values(*points.T)).all()


def test_less_than_a_millionth_outside_is_cut_without_asking() -> None:
    found = read("magnet.field", "0.48 ± 0.1 T")  # 4.8 standard uncertainties from zero: 8e-7
    assert isinstance(found, Uncertain)
    assert found.share_outside == pytest.approx(7.93e-7, rel=0.01)
    assert found.values(np.array([1e-9]))[0] > 0
    refusal("magnet.field", "0.48 ± 0.103 T")  # 4.66: 1.6e-6


@given(
    centre=st.floats(0.1, 10),
    share=st.floats(0.001, 0.19),
    unit=st.sampled_from(["bar", "Pa", "kPa", "MPa"]),
    sign=st.sampled_from(["±", "+/-", " ± ", "+-"]),
)
def test_any_plus_minus_is_read_as_it_is_written(centre: float, share: float, unit: str, sign: str) -> None:
    factor = {"bar": 1e5, "Pa": 1.0, "kPa": 1e3, "MPa": 1e6}[unit]
    found = unknown("gas.chamber_pressure", f"{centre!r}{sign}{centre * share!r} {unit}")
    assert isinstance(found, Normal)
    assert found.centre == pytest.approx(centre * factor, rel=1e-12)
    assert found.standard_deviation == pytest.approx(centre * share * factor, rel=1e-12)


@given(st.text(max_size=20))
def test_no_text_whatever_ends_in_anything_but_a_value_or_a_study_error(text: str) -> None:
    with suppress(StudyError):
        read("gas.chamber_pressure", text)


KEYS = "value unknown scatter values low peak high median factor mean sd part shared"
ANYTHING = st.one_of(st.floats(), st.text(max_size=5), st.none(), st.lists(st.floats(), max_size=5))


@given(st.dictionaries(st.sampled_from(KEYS.split()), ANYTHING, max_size=5))
def test_no_table_whatever_ends_in_anything_but_a_value_or_a_study_error(table: dict) -> None:
    with suppress(StudyError):
        read("gas.mixture_ratio", table)


def test_a_setting_must_be_exact_and_within_bounds() -> None:
    field = registry.quantity("magnet.field")
    assert exact_value("here", "0.6 T", field) == 0.6
    with pytest.raises(StudyError, match="here: expected an exact value"):
        exact_value("here", "0.6 ± 0.1 T", field)
    with pytest.raises(StudyError, match="0 T or more"):
        exact_value("here", "-0.6 T", field)


def test_values_are_shown_as_they_would_stand_in_a_study() -> None:
    assert as_toml({"mean": 0.96, "low": "0 T", "values": [1, 2.5]}) == (
        '{ mean = 0.96, low = "0 T", values = [1, 2.5] }'
    )


def test_inputs_of_a_plain_callable_keep_their_own_order_and_units() -> None:
    exact, space = read_inputs(
        {
            "z": "5 ± 0.1 mA",
            "a": "20 .. 60 V",
            "b": {"median": "2 mm", "factor": 1.5},
            "c": 3.5,
            "d": Normal(0.0, 1.0),
            "e": "10 kg ± 2 %",
        }
    )
    assert exact == {"c": 3.5}
    assert [item.address for item in space.inputs] == ["z", "a", "b", "d", "e"]
    assert space.inputs[0].unknown == Normal(0.005, 1e-4)
    assert space.inputs[2].unknown == Lognormal(0.002, 1.5)
    assert space.inputs[4].unknown == Normal(10.0, 0.2)


def test_a_registered_name_among_a_callables_inputs_is_held_to_its_unit() -> None:
    with pytest.raises(StudyError, match="expected a magnetic flux density"):
        read_inputs({"magnet.field": "0.48 ± 0.02 V"})
    with pytest.raises(StudyError, match="is no unit"):
        read_inputs({"x": "0.48 ± 0.02 zorkmids"})
