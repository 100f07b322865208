"""The profile as CSV closes the balances of momentum and energy when it is integrated again.

Simpson's rule of SciPy between the electrodes' edges, on the printed columns alone.
"""

import io

import numpy as np
import pandas as pd
import pytest
from questions.pages import envelope_of
from scipy.integrate import simpson

from explorer.questions.solve.answer import PROFILE_UNITS, told
from explorer.questions.solve.point import Point
from explorer.stage.evaluate import PROFILE_COLUMNS


@pytest.fixture(params=["bench_point", "two_pair_point", "extraction_point"])
def point(request: pytest.FixtureRequest) -> Point:
    found: Point = request.getfixturevalue(request.param)
    return found


def text(point: Point) -> str:
    found = told(point, envelope_of("solve")).files["profile.csv"]
    assert isinstance(found, str)
    return found


def read(point: Point) -> list[pd.DataFrame]:
    """Return the profile between the places where a pair begins or ends."""
    table = pd.read_csv(io.StringIO(text(point)))
    table.columns = [name.split(" [")[0] for name in table.columns]
    edges = np.flatnonzero(np.diff(table["x"]) == 0.0) + 1
    return [table.iloc[a:b] for a, b in zip([0, *edges], [*edges, len(table)], strict=True)]


def integral(parts: list[pd.DataFrame], columns: list[str]) -> float:
    total = 0.0
    for part in parts:
        product = part[columns].prod(axis=1)
        total += float(simpson(product.to_numpy(), x=part["x"].to_numpy()))
    return total


def test_every_column_of_a_profile_has_its_unit() -> None:
    assert set(PROFILE_UNITS) == {*PROFILE_COLUMNS, "pressure", "temperature", "mach"}


def test_heads_carry_units(bench_point: Point) -> None:
    head = text(bench_point).splitlines()[0]
    assert head.startswith("x [m],pressure [Pa],temperature [K],velocity [m/s],mach [1],conductivity [S/m]")


def test_two_rows_stand_at_every_edge_of_an_electrode(point: Point) -> None:
    assert len(read(point)) == 2 * len(point.study.pairs) + 1


def test_momentum_closes(point: Point) -> None:
    parts = read(point)
    force = integral(parts, ["current_density", "magnetic_field", "gap", "width"])
    friction = integral(parts, ["friction_per_length"])
    wall = 0.0
    for part in parts:
        x, area = part["x"].to_numpy(), (part["gap"] * part["width"]).to_numpy()
        wall += float(simpson(part["pressure"].to_numpy() * np.gradient(area, x, edge_order=2), x=x))
    first, last = parts[0].iloc[0], parts[-1].iloc[-1]
    change = last["momentum_flux"] - first["momentum_flux"]
    assert change == pytest.approx(wall + force - friction, abs=1e-6 * first["momentum_flux"])
    assert force == pytest.approx(point.quantities["lorentz_force"], rel=1e-6)
    assert friction == pytest.approx(point.quantities["friction_force"], rel=1e-6)


def test_energy_closes(point: Point) -> None:
    parts = read(point)
    power = integral(parts, ["current_density", "electric_field", "gap", "width"])
    heat = integral(parts, ["wall_heat_per_length"])
    change = parts[-1].iloc[-1]["total_enthalpy"] - parts[0].iloc[0]["total_enthalpy"]
    assert point.quantities["channel_flow"] * change == pytest.approx(power - heat, rel=1e-6)
    assert heat == pytest.approx(point.quantities["wall_heat"], rel=1e-6)


def test_the_balance_notices_a_missing_force(bench_point: Point) -> None:
    parts = read(bench_point)
    force = integral(parts, ["current_density", "magnetic_field", "gap", "width"])
    assert force > 100 * 1e-6 * parts[0].iloc[0]["momentum_flux"]
