"""Flow of a perfect gas in closed form, for the channel solver to be held against.

Textbook relations (NACA Report 1135 for the isentropic ones; Fanno and Rayleigh lines from memory);
test_perfect_gas compares them with printed tables.
"""

import math


def temperature_ratio(mach, gamma):
    """T/T0"""
    return 1.0 / (1.0 + 0.5 * (gamma - 1.0) * mach**2)


def pressure_ratio(mach, gamma):
    """p/p0"""
    return temperature_ratio(mach, gamma) ** (gamma / (gamma - 1.0))


def area_ratio(mach, gamma):
    """A/A*"""
    power = (gamma + 1.0) / (2.0 * (gamma - 1.0))
    return (2.0 / (gamma + 1.0) / temperature_ratio(mach, gamma)) ** power / mach


def fanno_temperature(mach, gamma):
    """T/T*"""
    return 0.5 * (gamma + 1.0) * temperature_ratio(mach, gamma)


def fanno_pressure(mach, gamma):
    """p/p*"""
    return math.sqrt(fanno_temperature(mach, gamma)) / mach


def fanno_total_pressure(mach, gamma):
    """p0/p0*, equal to the isentropic A/A*"""
    return area_ratio(mach, gamma)


def fanno_length(mach, gamma):
    """4 C_f L*/D, the length left to Mach 1"""
    kinetic = (1.0 - mach**2) / (gamma * mach**2)
    return kinetic + 0.5 * (gamma + 1.0) / gamma * math.log(mach**2 * fanno_temperature(mach, gamma))


def rayleigh_pressure(mach, gamma):
    """p/p*"""
    return (1.0 + gamma) / (1.0 + gamma * mach**2)


def rayleigh_temperature(mach, gamma):
    """T/T*"""
    return (mach * rayleigh_pressure(mach, gamma)) ** 2


def rayleigh_total_temperature(mach, gamma):
    """T0/T0*"""
    return rayleigh_temperature(mach, gamma) * 2.0 / (gamma + 1.0) / temperature_ratio(mach, gamma)


def rayleigh_total_pressure(mach, gamma):
    """p0/p0*"""
    return rayleigh_pressure(mach, gamma) * pressure_ratio(1.0, gamma) / pressure_ratio(mach, gamma)
