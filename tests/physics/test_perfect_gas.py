"""Closed forms of the perfect gas, references for the channel, against printed tables (row 16)."""

import tomllib
from pathlib import Path

import perfect_gas
import pytest

REFERENCE = Path(__file__).parents[1] / "reference/perfect_gas.toml"
TABLES = tomllib.loads(REFERENCE.read_text(encoding="utf-8"))

CASES = [
    ("isentropic", "temperature", perfect_gas.temperature_ratio),
    ("isentropic", "pressure", perfect_gas.pressure_ratio),
    ("isentropic", "area", perfect_gas.area_ratio),
    ("fanno", "temperature", perfect_gas.fanno_temperature),
    ("fanno", "pressure", perfect_gas.fanno_pressure),
    ("fanno", "total_pressure", perfect_gas.fanno_total_pressure),
    ("fanno", "length", perfect_gas.fanno_length),
    ("rayleigh", "temperature", perfect_gas.rayleigh_temperature),
    ("rayleigh", "pressure", perfect_gas.rayleigh_pressure),
    ("rayleigh", "total_temperature", perfect_gas.rayleigh_total_temperature),
    ("rayleigh", "total_pressure", perfect_gas.rayleigh_total_pressure),
]


@pytest.mark.parametrize(("table", "quantity", "relation"), CASES)
def test_a_perfect_gas_relation_gives_the_printed_value(table, quantity, relation):
    """NACA Report 1135 and gas-dynamics tables for γ 1.4, Mach 2, from memory."""
    row = TABLES[table]
    assert relation(row["mach"], row["heat_capacity_ratio"]) == pytest.approx(
        row[quantity], rel=row["tolerance"], abs=5e-5
    )
