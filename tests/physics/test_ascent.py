"""The vertical ascent against closed forms, balances of momentum and energy, and a second method of integration."""

from dataclasses import replace
from math import inf, log, sqrt

import numpy as np
import pytest
from scipy.constants import g as STANDARD_GRAVITY
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq

from explorer.physics.atmosphere import HIGHEST_ALTITUDE, air_at, standard_atmosphere
from explorer.physics.flight.ascent import FELL_BACK, FLEW, NEVER_LEFT, ascent
from explorer.physics.flight.vertical_motion import EARTH, Burn, Planet, Start, burnt_out

FLAT = Planet(STANDARD_GRAVITY, inf)  #: the same gravity everywhere
NOWHERE = Planet(0.0, inf)  #: no gravity at all


def start(mass=150.0, drag_area=0.0, altitude=0.0, velocity=0.0, scenarios=1):
    one = np.ones(scenarios)
    return Start(mass * one, drag_area * one, altitude * one, velocity * one)


def burn(begin=0.0, end=10.0, thrust=4400.0, exit_area=0.0, flow=1.5, scenarios=1):
    one = np.ones(scenarios)
    return Burn(begin, end, thrust * one, exit_area * one, flow * one)


# Closed forms.


def test_without_gravity_and_air_the_velocity_is_the_rocket_equations():
    """Δv = c ln(m0/m1): K. Tsiolkovsky 1903 (any textbook; from memory)."""
    burnt = burnt_out(start(), [burn(end=40.0)], planet=NOWHERE)
    assert burnt.velocity[0] == pytest.approx(4400 / 1.5 * log(150 / 90), rel=1e-8)
    assert burnt.mass[0] == pytest.approx(90.0, rel=1e-12)


def test_two_burns_with_a_gap_give_what_one_gives_without_gravity_and_air():
    """The rocket equation knows no time."""
    whole = burnt_out(start(), [burn(end=20.0)], planet=NOWHERE)
    halves = burnt_out(start(), [burn(end=10.0), burn(13.0, 23.0)], planet=NOWHERE)
    assert halves.velocity[0] == pytest.approx(whole.velocity[0], rel=1e-9)
    assert halves.altitude[0] > whole.altitude[0]


def test_a_vertical_ascent_with_constant_thrust_is_that_of_the_closed_form():
    """v = c ln R − g t, z = c t (1 − ln R/(R − 1)) − g t²/2, coast v²/2g: Sutton and Biblarz, Rocket Propulsion
    Elements, chapter 4 (from memory), constant gravity and no drag.
    """
    t, c, ratio = 30.0, 4400 / 1.5, 150 / 105
    found = ascent(start(), [burn(end=t)], planet=FLAT)
    velocity = c * log(ratio) - STANDARD_GRAVITY * t
    altitude = c * t * (1 - log(ratio) / (ratio - 1)) - STANDARD_GRAVITY * t**2 / 2
    assert found.burnout_velocity[0] == pytest.approx(velocity, rel=1e-8)
    assert found.burnout_altitude[0] == pytest.approx(altitude, rel=1e-8)
    assert found.apogee[0] == pytest.approx(altitude + velocity**2 / (2 * STANDARD_GRAVITY), rel=1e-7)
    assert found.apogee_time[0] == pytest.approx(t + velocity / STANDARD_GRAVITY, rel=1e-7)
    assert found.impulse[0] == pytest.approx(4400 * t, rel=1e-12)


def test_a_coast_ends_where_newtons_gravity_ends_it():
    """Energy in an inverse-square field: v²/2 = g0 R²/r1 − g0 R²/r2."""
    above = HIGHEST_ALTITUDE + 1.0  # no air
    found = ascent(start(altitude=above, velocity=2000.0), [burn(end=1e-6, thrust=1e-6, flow=1e-9)])
    r1, pull = EARTH.radius + above, EARTH.gravity * EARTH.radius**2
    assert found.apogee[0] == pytest.approx(1 / (1 / r1 - 2000.0**2 / 2 / pull) - EARTH.radius, rel=1e-7)


def test_flat_and_round_earth_differ():
    """The must-differ twin of the two above: gravity falls by 3 % over 100 km."""
    high = [ascent(start(velocity=1400.0), [burn(end=1.0)], planet=p).apogee[0] for p in (EARTH, FLAT)]
    assert high[0] / high[1] - 1 == pytest.approx(high[1] / EARTH.radius, rel=0.1)


# Balances, with drag, falling gravity and the air's pressure on the exit.

BURNS = [burn(end=12.0, thrust=2900.0, exit_area=0.0144, flow=1.05), burn(14.0, 24.0, exit_area=0.0144)]
LOADED = start(mass=160.0, drag_area=0.02, altitude=4_000.0)


def along(found):
    """Time, altitude and velocity of the only scenario."""
    return found.path.time[:, 0], found.path.altitude[:, 0], found.path.velocity[:, 0]


def piece(found, first, last):
    """Splines of altitude and velocity between two times at which the thrust changes, and the times."""
    time, altitude, velocity = along(found)
    inside = (time >= first) & (time <= last)
    t, where = np.unique(time[inside], return_index=True)
    fine = np.linspace(first, last, 2001)
    return fine, CubicSpline(t, altitude[inside][where])(fine), CubicSpline(t, velocity[inside][where])(fine)


def forces(found, part, mass_before):
    """Time, altitude, velocity, mass, thrust, drag and gravity within a burn."""
    t, z, v = piece(found, part.start, part.end)
    air = standard_atmosphere(z)
    mass = mass_before - part.flow[0] * (t - part.start)
    thrust = part.thrust[0] - air.pressure * part.exit_area[0]
    drag = 0.5 * air.density * v**2 * LOADED.drag_area[0]
    return t, z, v, mass, thrust, drag, EARTH.gravity_at(z)


@pytest.fixture(scope="module")
def flown():
    return ascent(LOADED, BURNS, path=True)


def test_momentum_is_conserved_along_every_burn(flown):
    """Δ(m v) = ∫ (F − D − m g − ṁ v) dt, the exhaust taking ṁ v with it."""
    mass = LOADED.mass[0]
    for part in BURNS:
        t, _, v, m, thrust, drag, g = forces(flown, part, mass)
        gained = np.trapezoid(thrust - drag - m * g - part.flow[0] * v, t)
        assert m[-1] * v[-1] - m[0] * v[0] == pytest.approx(gained, rel=2e-5)
        mass = m[-1]


def test_energy_is_conserved_along_every_burn(flown):
    """Δ(m v²/2 + m Φ) = ∫ ((F − D) v − ṁ (v²/2 + Φ)) dt, Φ = −g0 R²/r."""
    mass = LOADED.mass[0]
    for part in BURNS:
        t, z, v, m, thrust, drag, _ = forces(flown, part, mass)
        potential = EARTH.gravity * EARTH.radius * z / (EARTH.radius + z)
        energy = m * (v**2 / 2 + potential)
        gained = np.trapezoid((thrust - drag) * v - part.flow[0] * (v**2 / 2 + potential), t)
        assert energy[-1] - energy[0] == pytest.approx(gained, rel=2e-5)
        mass = m[-1]


def test_what_the_coast_loses_is_the_work_of_the_drag(flown):
    time, altitude, velocity = (values[-41:] for values in along(flown))  # the last leg
    assert time[0] == BURNS[-1].end
    fine = np.linspace(time[0], time[-1], 4001)
    z, v = CubicSpline(time, altitude)(fine), CubicSpline(time, velocity)(fine)
    energy = v**2 / 2 + EARTH.gravity * EARTH.radius * z / (EARTH.radius + z)
    mass = flown.burnout_mass[0]
    lost = np.trapezoid(0.5 * standard_atmosphere(z).density * v**2 * LOADED.drag_area[0] / mass * v, fine)
    assert lost > 0.01 * energy[0]  # so that the check has something to check
    assert energy[0] - energy[-1] == pytest.approx(lost, rel=2e-4)
    assert velocity[-1] == 0.0


def test_impulse_is_the_thrust_over_time(flown):
    whole, mass = 0.0, LOADED.mass[0]
    for part in BURNS:
        t, _, _, m, thrust, _, _ = forces(flown, part, mass)
        whole, mass = whole + np.trapezoid(thrust, t), m[-1]
    assert flown.impulse[0] == pytest.approx(whole, rel=1e-6)


def test_a_second_method_finds_the_same_apogee():
    """Classical Runge-Kutta steps of a fifth of a second in time up to the apogee, air looked up directly."""
    state, mass, time, step = np.array([4_000.0, 0.0]), 160.0, 0.0, 0.2

    def slope(t, y, part):
        air = standard_atmosphere(y[0])
        flow, thrust = (0.0, 0.0) if part is None else (part.flow[0], part.thrust[0])
        area = 0.0 if part is None else part.exit_area[0]
        now = mass - flow * t
        force = thrust - air.pressure * area - 0.5 * air.density * y[1] * abs(y[1]) * 0.02
        return np.array([y[1], force / now - EARTH.gravity_at(y[0])])

    def stepped(y, t, part, h):
        k1 = slope(t, y, part)
        k2 = slope(t + h / 2, y + h / 2 * k1, part)
        k3 = slope(t + h / 2, y + h / 2 * k2, part)
        k4 = slope(t + h, y + h * k3, part)
        return y + h / 6 * (k1 + 2 * k2 + 2 * k3 + k4)

    for part, duration in ((BURNS[0], 12.0), (None, 2.0), (BURNS[1], 10.0)):
        for n in range(round(duration / step)):
            state = stepped(state, n * step, part, step)
        mass -= 0.0 if part is None else part.flow[0] * duration
        time += duration
    while (after := stepped(state, 0.0, None, step))[1] > 0.0:
        state, time = after, time + step
    last = brentq(lambda h: stepped(state, 0.0, None, h)[1], 0.0, step)
    found = ascent(LOADED, BURNS)
    assert found.apogee[0] == pytest.approx(stepped(state, 0.0, None, last)[0], rel=1e-6)
    assert found.apogee_time[0] == pytest.approx(time + last, rel=1e-6)


# Limits, switches, scalings.


@pytest.mark.parametrize(
    ("change", "sign"),
    [
        ({"drag_area": 0.03}, -1),
        ({"mass": 165.0}, -1),
        ({"altitude": 5_000.0}, 1),
        ({"velocity": 10.0}, 1),
    ],
)
def test_every_property_of_the_start_moves_the_apogee(flown, change, sign):
    moved = replace(LOADED, **{name: np.array([value]) for name, value in change.items()})
    assert sign * (ascent(moved, BURNS).apogee[0] - flown.apogee[0]) > 10.0


@pytest.mark.parametrize(("change", "sign"), [("thrust", 1), ("exit_area", -1), ("flow", 1)])
def test_every_property_of_a_burn_moves_the_apogee(flown, change, sign):
    """More flow at the same thrust burns off weight."""
    moved = [replace(part, **{change: 1.02 * getattr(part, change)}) for part in BURNS]
    assert sign * (ascent(LOADED, moved).apogee[0] - flown.apogee[0]) > 1.0


def test_scenarios_do_not_know_of_each_other(flown):
    """Side by side they share steps, and nothing else."""
    rng, size = np.random.default_rng(1), 50
    masses = np.concatenate([[160.0], 140.0 + 40.0 * rng.random(size)])
    many = Start(masses, np.full(size + 1, 0.02), np.full(size + 1, 4_000.0), np.zeros(size + 1))
    wide = [
        Burn(b.start, b.end, *(np.repeat(x, size + 1) for x in (b.thrust, b.exit_area, b.flow)))
        for b in BURNS
    ]
    assert ascent(many, wide).apogee[0] == pytest.approx(flown.apogee[0], rel=2e-6)


def test_asking_for_the_path_changes_nothing(flown):
    assert ascent(LOADED, BURNS).apogee[0] == flown.apogee[0]
    assert ascent(LOADED, BURNS).path is None
    time, altitude, _ = along(flown)
    assert np.all(np.diff(time) >= 0.0)
    assert altitude[-1] == flown.apogee[0]


def test_thrust_that_does_not_lift_the_weight_never_leaves_the_pad():
    heavy = start(mass=np.array([150.0, 400.0, 150.0]), scenarios=3)
    found = ascent(heavy, [burn(thrust=np.array([4400.0, 3900.0, 1500.0]), scenarios=3)])
    assert list(found.outcome) == [FLEW, NEVER_LEFT, FLEW]  # 400 kg weigh 3.92 kN
    assert np.isnan(found.apogee[1])
    assert np.isfinite(found.apogee[[0, 2]]).all()


def test_a_booster_carries_what_no_pad_would_let_go():
    boosted = ascent(start(mass=400.0, velocity=200.0), [burn(thrust=3900.0)])
    assert boosted.outcome[0] == FLEW


def test_air_that_presses_on_the_exit_may_keep_a_vehicle_down():
    weight = 150 * EARTH.gravity
    outcomes = [
        ascent(start(), [burn(thrust=weight + 100.0, exit_area=area)]).outcome[0] for area in (0.0, 0.01)
    ]
    assert outcomes == [FLEW, NEVER_LEFT]  # 101 kPa on a hundredth of a square metre are a kilonewton


def test_a_vehicle_that_sinks_between_burns_falls_back():
    gap = [burn(end=2.0), burn(30.0, 32.0)]
    found = ascent(start(drag_area=0.02), gap)
    assert found.outcome[0] == FELL_BACK
    assert np.isnan(found.apogee[0])


def test_nothing_that_flies_is_no_error():
    found = ascent(start(mass=np.array([900.0, 901.0]), scenarios=2), [burn(scenarios=2)], path=True)
    assert list(found.outcome) == [NEVER_LEFT, NEVER_LEFT]
    assert found.path is None


@pytest.mark.parametrize(
    ("burns", "words"),
    [
        ([], "needs a burn"),
        ([burn(end=0.0)], "must end after its start"),
        ([burn(end=10.0), burn(9.0, 12.0)], "overlap"),
        ([burn(end=200.0)], "weigh more than the propellant"),
    ],
)
def test_burns_that_cannot_be_are_refused(burns, words):
    with pytest.raises(ValueError, match=words):
        ascent(start(), burns)


# The air on the way.


def test_the_table_of_air_is_the_standard_atmosphere():
    """Against the library that the printed tables are checked with, between the table's nodes too."""
    altitude = np.linspace(-4_999.0, HIGHEST_ALTITUDE - 1.0, 20_011)
    air = standard_atmosphere(altitude)
    pressure, density = air_at(altitude)
    for table, direct in ((pressure, air.pressure), (density, air.density)):
        np.testing.assert_allclose(
            table, direct, rtol=5e-5
        )  # where a border of layers lies between two nodes
        assert np.mean(np.abs(table / direct - 1) < 1e-6) > 0.999


def test_above_the_standard_atmosphere_there_is_no_air():
    pressure, density = air_at(np.array([HIGHEST_ALTITUDE, HIGHEST_ALTITUDE + 1.0]))
    assert pressure[0] > 0.0
    assert density[0] > 0.0
    assert (pressure[1], density[1]) == (0.0, 0.0)


def test_gravity_falls_with_the_square_of_the_distance():
    """U.S. Standard Atmosphere 1976: 9.80665 m/s² at sea level, 9.5052 m/s² at 100 km for 45° (from memory)."""
    assert EARTH.gravity_at(np.zeros(1))[0] == 9.80665
    assert EARTH.gravity_at(np.array([100e3]))[0] == pytest.approx(9.505, abs=0.001)
    assert EARTH.gravity_at(np.array([(sqrt(2) - 1) * EARTH.radius]))[0] == pytest.approx(9.80665 / 2)
