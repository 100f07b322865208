import importlib.util
import re

import numpy as np
import pytest

from explorer import registry, units
from explorer.registry import UnknownAddressError
from explorer.registry.mass_inputs import MASS_INPUTS

EVERY = (*registry.INPUTS, *registry.OUTPUTS)


@pytest.mark.parametrize("quantity", EVERY, ids=lambda q: q.address)
def test_every_entry_is_complete(quantity: registry.Quantity) -> None:
    assert re.fullmatch(r"[a-z][a-z0-9_]*(\.(\*|[a-z][a-z0-9_]*))*", quantity.address)
    assert quantity.symbol
    assert quantity.sentence.endswith(".")
    assert units.from_si(1.0, quantity.unit, quantity.shown_unit) is not None  # same dimension
    assert ("*" in quantity.address) == (quantity.per_pair and quantity.kind == "input")
    assert quantity.low < quantity.high
    assert (quantity.default is None) == (quantity.default_origin is None)
    if quantity.default is not None:
        assert quantity.inside(quantity.default)
    stated = quantity.address in (
        "mixture_ratio",
        "seed_fraction",
        "chamber_pressure",
        "contact",
    )  # or made of what is stated, or one thing or another
    assert (quantity.model_error > 0) == (quantity.kind == "output" and not stated)
    if quantity.adds:
        assert quantity.per_pair


@pytest.mark.parametrize("module", sorted({q.formula for q in EVERY}))
def test_formulas_stand_where_the_registry_says(module: str) -> None:
    assert importlib.util.find_spec(module) is not None


def test_addresses_are_unique() -> None:
    addresses = [q.address for q in EVERY] + [c.address for c in registry.CHOICES]
    assert len(addresses) == len(set(addresses))


def test_every_output_that_a_point_must_report_is_there() -> None:
    wanted = """mass_flow flame_temperature chamber_temperature characteristic_velocity inlet_pressure
    inlet_temperature inlet_velocity inlet_mach inlet_conductivity inlet_hall_parameter inlet_electron_density
    field back_emf threshold_voltage current plasma_current terminal_voltage load_factor electrical_power
    lorentz_force joule_heating electrode_drop_power wall_heat exit_pressure exit_temperature exit_velocity
    exit_mach exit_pressure_change thrust_open_circuit thrust thrust_gain thrust_gain_heating
    max_current_density max_hall_field interaction_parameter"""
    assert set(wanted.split()) <= {q.address for q in registry.OUTPUTS}


def test_currents_powers_and_forces_add_over_pairs_and_nothing_else_does() -> None:
    adding = {q.address for q in registry.OUTPUTS if q.adds}
    assert all(registry.quantity(address).unit in ("A", "W", "N") for address in adding)
    per_pair = {q.address for q in registry.OUTPUTS if q.per_pair}
    assert {
        address for address in per_pair - adding if registry.quantity(address).unit in ("A", "W", "N")
    } == {"pulse_peak_current"}  # highest values don't add


def test_masses_may_all_be_left_out_and_say_that_they_are_assumed() -> None:
    given = [q for q in registry.INPUTS if q.address.startswith("mass.")]
    assert {q.address for q in given if q.default is None} == {"mass.magnet"}
    assert {q.default_origin for q in given if q.default is not None} == {"assumed"}
    assert all(q.may_be_uncertain for q in given)


def test_a_pairs_quantity_comes_back_under_its_own_address() -> None:
    assert registry.quantity("electrodes.front.voltage_drop").unit == "V"
    assert registry.quantity("electrodes.front.voltage_drop").address == "electrodes.front.voltage_drop"
    assert registry.quantity("electrodes.front.current").kind == "output"
    assert registry.quantity("electrodes.front.source.voltage").address == "electrodes.front.source.voltage"
    assert registry.choice("electrodes.front.layout").options == ("continuous", "segmented")


@pytest.mark.parametrize(
    ("written", "offered"),
    [
        ("magnet.fild", "magnet.field"),
        ("thrust_gian", "thrust_gain"),
        ("electrodes.main.volatge_drop", "electrodes.main.voltage_drop"),
        ("electrodes.main.sorce.voltage", "electrodes.main.source.voltage"),
        ("etanol", "ethanol"),
    ],
)
def test_an_unknown_address_is_refused_with_the_nearest(written: str, offered: str) -> None:
    with pytest.raises(UnknownAddressError) as caught:
        registry.entry(written)
    assert str(caught.value) == f'"{written}" is not known: did you mean "{offered}"?'


def test_a_whole_stage_output_has_no_pair_level_address() -> None:
    with pytest.raises(UnknownAddressError):
        registry.quantity("electrodes.main.thrust_gain")


@pytest.mark.parametrize(
    "name",
    ["magnet.field", "thrust_gain", "gas.fuel", "ethanol", "Ethanol", "potassium carbonate", "N42", "choked"],
)
def test_everything_with_a_name_can_be_explained(name: str) -> None:
    assert registry.entry(name).sentence


def test_warnings_have_bits_of_their_own_and_are_found_by_code_and_title() -> None:
    bits = [warning.bit for warning in registry.WARNINGS]
    assert sum(bits) == (1 << len(bits)) - 1
    assert len(bits) == 16
    for warning in registry.WARNINGS:
        assert registry.entry(warning.code) is warning
        assert registry.entry(warning.title) is warning


def test_only_the_first_two_statuses_carry_numbers_and_their_codes_are_fixed() -> None:
    assert registry.STATUS_CODES == {
        "ok": 0,
        "no_contact": 1,
        "choked": 2,
        "outside_table": 3,
        "not_converged": 4,
        "not_fed": 5,
    }


def test_open_and_closed_bounds_are_told_apart() -> None:
    efficiency = registry.quantity("gas.combustion_efficiency")
    assert list(efficiency.inside([0.0, 1e-9, 1.0, 1.0 + 1e-9, np.nan])) == [False, True, True, False, False]
    assert efficiency.bounds_words() == "between 0 and 1, 0 not included"
    assert registry.quantity("nozzle.throat_diameter").bounds_words() == "above 0 mm"
    assert registry.quantity("magnet.field").bounds_words() == "0 T or more"
    assert registry.quantity("magnet.blocks.position").bounds_words() == "any number"


def test_columns_follow_the_registry_whatever_the_pairs_order() -> None:
    assert registry.inputs_of(("rear", "front")) == registry.inputs_of(("front", "rear"))
    columns = registry.inputs_of(("front", "rear"))
    assert sorted(columns, key=registry.position) == list(columns)
    assert columns.index("gas.mixture_ratio") < columns.index("magnet.field")
    assert columns[-len(MASS_INPUTS) :] == tuple(
        q.address for q in MASS_INPUTS
    )  # the others keep their places
    assert registry.position("nobody.knows") > registry.position("electrodes.main.source.resistance")
