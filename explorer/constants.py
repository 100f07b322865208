"""Fundamental constants in SI, from CODATA as shipped by scipy.constants, typed so that formulas stay typed."""

from typing import Final

from scipy import constants as _codata

e: Final[float] = float(_codata.elementary_charge)  #: elementary charge [C]
m_e: Final[float] = float(_codata.electron_mass)  #: electron mass [kg]
k: Final[float] = float(_codata.Boltzmann)  #: Boltzmann constant [J/K]
epsilon_0: Final[float] = float(_codata.epsilon_0)  #: vacuum permittivity [F/m]
mu_0: Final[float] = float(_codata.mu_0)  #: vacuum permeability [H/m]
R: Final[float] = float(_codata.gas_constant)  #: molar gas constant [J/(mol K)]
N_A: Final[float] = float(_codata.Avogadro)  #: Avogadro constant [1/mol]
h: Final[float] = float(_codata.Planck)  #: Planck constant [J s]
g_0: Final[float] = float(_codata.g)  #: standard gravity [m/s²]
standard_temperature: Final[float] = 298.15  #: reference temperature of the enthalpies of formation [K]
