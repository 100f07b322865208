"""Warming under fire: Carslaw & Jaeger's solutions, SciPy's integration of the heat equation, limits, the way back."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from explorer.physics.contact import warming
from explorer.physics.contact.materials import materials

GAS = {"heat_flux": 5.9e6, "recovery_temperature": 2850.0, "start_temperature": 300.0}
COPPER = {"conductivity": 380.0, "density": 8960.0, "heat_capacity": 420.0, "thickness": 5e-3}


def graphite_after(seconds):
    """Graphite under what a constant flux would warm to 2370 K in 20 s: both temperatures, by whatever properties."""
    g = materials()["graphite"]
    effusivity = math.sqrt(g.conductivity * g.density * g.heat_capacity)
    case = GAS | {"heat_flux": 2070.0 * effusivity / (2 * math.sqrt(20.0 / math.pi))}
    falling = warming.half_space_temperature(seconds, effusivity=effusivity, **case)
    constant = warming.constant_flux_temperature(
        seconds, heat_flux=case["heat_flux"], start_temperature=300.0, effusivity=effusivity
    )
    return falling, constant


def test_graphite_warms_less_than_a_constant_flux_says():
    """contact.md, section 8: 20 s, 1530 K where a constant flux says 2370 K."""
    falling, constant = graphite_after(20.0)
    assert constant == pytest.approx(2370.0, rel=1e-9)
    assert falling == pytest.approx(1530.0, abs=10.0)


def integrated(seconds, case, *, cells=200, depth=None):
    """Surface temperature by the method of lines: cells of equal size, insulated back, film at the front."""
    s = depth or case["thickness"]
    h, k = (
        case["heat_flux"] / (case["recovery_temperature"] - case["start_temperature"]),
        case["conductivity"],
    )
    dx, rho_c = s / cells, case["density"] * case["heat_capacity"]

    def slopes(_, T):
        into = (case["recovery_temperature"] - T[0]) / (1 / h + 0.5 * dx / k)
        between = -k * np.diff(T) / dx
        flux = np.concatenate([[into], between, [0.0]])
        return -np.diff(flux) / (rho_c * dx)

    found = solve_ivp(
        slopes,
        (0.0, seconds),
        np.full(cells, case["start_temperature"]),
        method="LSODA",
        lband=1,
        uband=1,
        rtol=1e-8,
        atol=1e-6,
    ).y[0, -1]
    into = (case["recovery_temperature"] - found) / (1 / h + 0.5 * dx / k)
    return found + 0.5 * dx / k * into


@pytest.mark.parametrize("seconds", [0.03, 0.2, 1.0, 5.0])
@pytest.mark.parametrize("thickness", [1e-3, 5e-3, 2e-2])
def test_a_slab_agrees_with_scipy_s_integration_of_the_heat_equation(seconds, thickness):
    case = GAS | COPPER | {"thickness": thickness}
    assert warming.surface_temperature(seconds, **case) == pytest.approx(
        integrated(seconds, case), abs=1e-4 * 2550.0
    )


def test_five_millimetres_of_copper_feel_their_back_after_a_fifth_of_a_second():
    """contact.md, section 8: by then the slab is a tenth warmer than the half-space, earlier not."""
    half_space = GAS | COPPER | {"thickness": math.inf}
    rises = [
        [warming.surface_temperature(t, **case) - 300.0 for case in (GAS | COPPER, half_space)]
        for t in (0.02, 0.2, 1.0)
    ]
    assert rises[0][0] == pytest.approx(rises[0][1], rel=1e-6)
    assert rises[1][0] / rises[1][1] == pytest.approx(1.12, abs=0.02)
    assert rises[2][0] / rises[2][1] > 1.3


def test_a_hot_gas_far_away_makes_a_constant_flux():
    """Carslaw & Jaeger 2.9: 2 q √(t/(π k ρ c)); and 3.8 for the slab once the back warms as the front."""
    far = GAS | COPPER | {"recovery_temperature": 1e9, "thickness": math.inf}
    effusivity = math.sqrt(380.0 * 8960.0 * 420.0)
    constant = warming.constant_flux_temperature(
        2.0, heat_flux=5.9e6, start_temperature=300.0, effusivity=effusivity
    )
    assert warming.surface_temperature(2.0, **far) == pytest.approx(constant, rel=1e-5)
    rho_c, s, t = 8960.0 * 420.0, 5e-3, 5.0
    slab = 300.0 + 5.9e6 * t / (rho_c * s) + 5.9e6 * s / (3 * 380.0)  # 3.8 (3), series gone
    assert warming.surface_temperature(t, **(far | {"thickness": s})) == pytest.approx(slab, rel=1e-4)


def test_a_thin_slab_is_even_in_temperature():
    """T_r − (T_r − T_0) e^(−h t/(ρ c s)) as Bi → 0."""
    case = GAS | COPPER | {"heat_flux": 1e4, "thickness": 1e-3}
    h = 1e4 / 2550.0
    even = 2850.0 - 2550.0 * math.exp(-h * 500.0 / (8960.0 * 420.0 * 1e-3))
    assert warming.surface_temperature(500.0, **case) == pytest.approx(even, abs=0.1)


def test_series_and_half_space_join_without_a_jump():
    t = 0.05 * 5e-3**2 * 8960.0 * 420.0 / 380.0
    around = warming.surface_temperature(t * np.array([1 - 1e-9, 1 + 1e-9]), **(GAS | COPPER))
    assert around[1] == pytest.approx(around[0], abs=1e-5)


@given(
    st.floats(310.0, 2840.0),
    st.floats(1e4, 3e7),
    st.sampled_from([5e-4, 5e-3, 5e-2, math.inf]),
)
def test_the_allowed_time_is_when_the_limit_is_reached(limit, flux, thickness):
    case = GAS | COPPER | {"heat_flux": flux, "thickness": thickness}
    time = warming.allowed_burn_time(limit, **case)
    assert warming.surface_temperature(time, **case) == pytest.approx(limit, abs=1e-5)


def test_a_limit_above_the_gas_is_never_reached_and_one_below_the_start_at_once():
    times = warming.allowed_burn_time(np.array([250.0, 300.0, 2850.0, 3000.0]), **(GAS | COPPER))
    assert list(times) == [0.0, 0.0, math.inf, math.inf]


def test_many_points_at_once_are_the_points_one_by_one():
    thickness, limit = np.array([[1e-3], [math.inf]]), np.array([600.0, 900.0, 1200.0])
    case = GAS | COPPER
    many = warming.allowed_burn_time(limit, **(case | {"thickness": thickness}))
    assert many.shape == (2, 3)
    for i, k in np.ndindex(2, 3):
        one = warming.allowed_burn_time(limit[k], **(case | {"thickness": thickness[i, 0]}))
        assert many[i, k] == pytest.approx(one, rel=1e-12)


def test_a_magnet_warms_by_what_leaks_into_it():
    """By hand: 100 W for 20 s into 0.9375 kg at 450 J/(kg K): 4.74 K."""
    found = warming.magnet_temperature(
        20.0, start_temperature=300.0, heat_leak=100.0, mass=0.9375, heat_capacity=450.0
    )
    assert found == pytest.approx(304.741, abs=1e-3)


def test_a_gas_no_warmer_than_the_surface_leaves_it_as_it_is():
    """No heat at the start, or a gas as cold: T_0 for ever, without a division by zero."""
    cold = (
        GAS | COPPER | {"heat_flux": np.array([0.0, 5e6]), "recovery_temperature": np.array([2850.0, 300.0])}
    )
    assert list(warming.surface_temperature(5.0, **cold)) == [300.0, 300.0]
    assert list(warming.allowed_burn_time(900.0, **cold)) == [math.inf, math.inf]


@given(st.floats(-9.0, 6.0), st.floats(-6.0, -1e-4), st.sampled_from([1e-4, 1e-2, math.inf]))
def test_times_are_found_at_any_strength_of_the_film(strength, nearness, thickness):
    """Biot numbers from 1e-11 to 1e6 and limits from next to the start to next to the gas."""
    case = GAS | COPPER | {"heat_flux": 2550.0 * 10**strength / 1e-3, "thickness": thickness}
    for share in (10**nearness, 1 - 10**nearness):
        limit = 300.0 + 2550.0 * share
        time = warming.allowed_burn_time(limit, **case)
        back = (warming.surface_temperature(time, **case) - 300.0) / 2550.0
        assert min(back / share, (1 - back) / (1 - share)) == pytest.approx(1.0, rel=1e-6)
        assert back == pytest.approx(share, rel=1e-9, abs=1e-11)


def test_what_is_not_known_stays_unknown():
    unknown = (
        GAS | COPPER | {"heat_flux": np.array([math.nan, 5e6]), "recovery_temperature": [2850.0, math.nan]}
    )
    assert np.isnan(warming.surface_temperature(5.0, **unknown)).all()
    assert np.isnan(warming.allowed_burn_time(900.0, **unknown)).all()
