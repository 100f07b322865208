"""Recombination of electrons: measured rates, detailed balance, and the relaxation against limits and SciPy."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from explorer import constants as c
from explorer.physics.compiled import compiled
from explorer.physics.contact import recombination

ATMOSPHERE = 101325.0


def test_the_lifetime_at_one_atmosphere_is_the_published_one():
    """Combustion and Flame 21 (1973) 69: 2.1 µs at 1 atm, 1e20 electrons in a cubic metre, 2500 K, ± 30 %."""
    rate = recombination.three_body_rate(2500.0, ATMOSPHERE / (c.k * 2500.0))
    assert 1.0 / (rate * 1e20) == pytest.approx(2.1e-6, rel=0.30)
    assert 1.0 / (rate * 1e20) == pytest.approx(2.1e-6, rel=0.02)  # with the middle of the rate


@pytest.mark.parametrize("temperature", [1500.0, 2000.0, 3000.0])
def test_ionisation_over_recombination_is_saha_s_constant(temperature):
    """Detailed balance, g₊ g_e/g_0 = 1: (2π m_e k T/h²)^1.5 e^(−I/kT), within the errors stated of both rates."""
    energy = 4.34066 * c.e  # potassium, NIST
    saha = (2 * np.pi * c.m_e * c.k * temperature / c.h**2) ** 1.5 * np.exp(-energy / (c.k * temperature))
    forward = recombination.collisional_ionisation_rate(temperature, energy)
    back = recombination.three_body_rate(temperature, 1.0)
    stated = np.hypot(recombination.THREE_BODY_UNCERTAINTY, 2.7 / 9.9)
    assert forward / back == pytest.approx(saha, rel=stated)
    assert forward / back == pytest.approx(saha, rel=1e-3)  # the source derived one from the other
    assert forward / back / temperature**1.5 * np.exp(energy / (c.k * temperature)) == pytest.approx(
        2.415e21, rel=1e-3
    )  # 2.415e15 T^1.5 per cm³


def test_a_mixture_recombines_by_the_shares_of_its_ions():
    T, N = 2200.0, 3e24
    alkali = recombination.recombination_rate(T, N, 1.0, 1.0, 0.9)
    flame = recombination.recombination_rate(T, N, 0.0, 1.0, 0.9)
    assert alkali == pytest.approx(4.1e-36 / T * N)
    assert flame == pytest.approx(2.4e-13)  # at its own temperature, whatever the exponent
    assert recombination.recombination_rate(T, N, 0.25, 2.0, 0.9) == pytest.approx(
        2 * (0.25 * alkali + 0.75 * flame)
    )
    assert recombination.dissociative_rate(1100.0, 1.0) == pytest.approx(4.8e-13)


@given(
    st.floats(0.0, 3.0),
    st.floats(0.0, 3.0),
    st.floats(0.0, 10.0),
    st.floats(0.0, 3.0),
)
def test_relaxation_agrees_with_scipy_s_integration(start, equilibrium, rate, source):
    """The same equation by DOP853 at 1e-11, in units of 1e20 electrons in a cubic metre and microseconds."""

    def slope(_, n):
        return rate * (equilibrium**2 - n**2) + source

    found = solve_ivp(slope, (0.0, 1.7), [start], method="DOP853", rtol=1e-11, atol=1e-13).y[0, -1]
    closed = recombination.density_after(
        1.7e-6, start * 1e20, equilibrium * 1e20, rate * 1e-14, source * 1e26
    )
    assert closed / 1e20 == pytest.approx(found, rel=1e-8, abs=1e-10)


def test_infinitely_fast_recombination_is_equilibrium_and_none_is_frozen():
    assert recombination.density_after(1e-6, 3e20, 1e18, 1e12, 0.0) == pytest.approx(1e18, rel=1e-8)
    assert recombination.density_after(1e-6, 3e20, 1e18, 0.0, 0.0) == 3e20
    assert recombination.density_after(2e-6, 3e20, 1e18, 0.0, 5e25) == pytest.approx(3e20 + 1e20, rel=1e-12)
    assert recombination.density_after(2e-6, 3e20, 0.0, 1e-14, 0.0) == pytest.approx(3e20 / 7.0, rel=1e-12)
    steady = recombination.density_after(1.0, 0.0, 0.0, 1e-14, 1e26)  # S = β n²
    assert steady == pytest.approx(1e20, rel=1e-8)


@given(st.floats(0.0, 1e-5), st.floats(0.0, 1e-5))
def test_two_steps_are_one(first, second):
    """A step of the march may be cut anywhere."""
    case = {"equilibrium": 2e19, "rate": 8e-15, "source": 3e25}
    middle = recombination.density_after(first, 4e20, **case)
    assert recombination.density_after(second, middle, **case) == pytest.approx(
        recombination.density_after(first + second, 4e20, **case), rel=1e-11
    )


def test_an_excess_falls_by_e_over_the_decay_length():
    """A small excess: u/(2 β n_eq) to first order."""
    rate, n, u = 8e-15, 1e20, 1870.0
    length = recombination.decay_length(u, rate, n, n)
    after = recombination.density_after(length / u, 1.001 * n, n, rate, 0.0)
    assert (after - n) / (0.001 * n) == pytest.approx(np.exp(-1.0), rel=1e-3)
    assert length == pytest.approx(1.17e-3, rel=0.01)


def test_compiled_code_and_arrays_share_one_formula():
    @compiled
    def march(step, n):
        for _ in range(10):
            n = recombination.density_after(step, n, 1e19, 8e-15, 1e25)
        return n

    starts = np.array([0.0, 1e19, 4e20])
    once = recombination.density_after(np.full((2, 1), 1e-6), starts, 1e19, 8e-15, 1e25)
    assert once.shape == (2, 3)
    assert [march(1e-7, n) for n in starts] == pytest.approx(once[0], rel=1e-10)
