"""Stages of different size that are alike: the same load factor and the same relative thrust gain, or not.

Alike are stages whose similarity numbers are the same (R. J. Rosa, Magnetohydrodynamic Energy Conversion,
McGraw-Hill 1968, for interaction parameter σB²L/(ρu), Hall parameter and load factor; from memory): then the
channel's equations, each term over the momentum or energy of the flow, are the same. It can be arranged for an
artificial gas of constant properties, and not for the gas of the bench stage, whose properties hang on its pressure.
"""

from dataclasses import dataclass, replace

import numpy as np
import pytest
from scipy.optimize import brentq
from stage.perfect_table import PerfectGas, operated
from stage.stages import BENCH, solved, tables_over

from explorer.stage import columns
from explorer.stage.columns import OK

#: Coefficients in single precision; the gain, a difference of two thrusts, loses two digits more.
SAME = 1e-5
#: What a number that is not held must show at least; no heat to the walls at all shows least of those tried, in 1 %.
OTHER = 0.005


@dataclass(frozen=True)
class Stage:
    """An artificial stage, SI: gas, sizes, what flows in and what drives the current."""

    gas: PerfectGas
    size: float = 1.0  #: of every length over that of the first stage
    chamber_pressure: float = 2e6
    ambient_pressure: float = 3e4
    field: float = 1.2
    voltage: float = 400.0
    resistance: float = 0.0
    voltage_drop: float = 25.0
    wall_temperature: float = 800.0
    friction_coefficient: float = 0.004
    heat_transfer_factor: float = 1.1
    length_share: float = 1.0
    segmented: bool = True

    def run(self):
        """Load factor, relative thrust gain, interaction parameter and share of heat lost to the walls."""
        size, length = self.size, 0.3 * self.size * self.length_share
        point = dict.fromkeys(columns.INPUTS, 0.0) | {
            "reactant_enthalpy": self.gas.heat_capacity * 2800.0,
            "chamber_pressure": self.chamber_pressure,
            "combustion_efficiency": 1.0,
            "heat_loss_share": 1.0,
            "conductivity_factor": 1.0,
            "nozzle_lag": 1.0,
            "throat_flow_area": 5e-4 * size**2,
            "length": length,
            "gap_in": 0.03 * size,
            "gap_out": 0.04 * size,
            "width_in": 0.03 * size,
            "width_out": 0.035 * size,
            "wall_temperature": self.wall_temperature,
            "friction_coefficient": self.friction_coefficient,
            "heat_transfer_factor": self.heat_transfer_factor,
            "area_ratio": 1.3,
            "ambient_pressure": self.ambient_pressure,
        }
        pair = dict.fromkeys(columns.PAIR_INPUTS, 0.0) | {
            "start": 0.1 * length,
            "length": 0.8 * length,
            "voltage_drop": self.voltage_drop,
            "arc_voltage": np.inf,
            "source_voltage": self.voltage,
            "source_current_limit": np.inf,
            "source_resistance": self.resistance,
        }
        found, outcome = operated(
            self.gas, point, pair, field=self.field, segmented=self.segmented, supplies=self.voltage > 0.0
        )
        assert outcome == OK
        return {
            "load_factor": found["terminal_voltage"] / found["mean_back_emf"],
            "gain": found["thrust"] / found["thrust_open_circuit"] - 1.0,
            "interaction_parameter": found["interaction_per_length"] * pair["length"],
            "wall_heat_share": found["wall_heat"] / (0.5 * found["mass_flow"] * found["exit_velocity"] ** 2),
            "mach": found["inlet_mach"],
        }


ARGON_LIKE = PerfectGas(1.25, 350.0, conductivity=60.0, mobility=0.6, temperatures=(400.0, 6500.0))

#: A supply with an inner resistance that accelerates, and a load that is fed.
ACCELERATOR = Stage(ARGON_LIKE, resistance=0.5)
GENERATOR = Stage(ARGON_LIKE, field=3.0, voltage=0.0, resistance=2.0, voltage_drop=12.0)
STAGES = pytest.mark.parametrize("first", [ACCELERATOR, GENERATOR], ids=["accelerator", "generator"])
LAYOUTS = pytest.mark.parametrize("segmented", [True, False], ids=["segmented", "continuous"])


def alike(first, *, size, pressure=1.0, conductivity=1.0, velocity=1.0, interaction=1.0):
    """A stage of another size, pressure, conductivity and gas velocity whose similarity numbers are those of the first.

    σB²L/(ρu), µB, V/(uBg), V_d/(uBg), RσwL/g, wall over gas enthalpy, p_a/p, C_f and the ratios of lengths; Mach
    number and γ too, for the velocity is that of a gas with other heat capacity at the same temperature.
    `interaction` multiplies the first of them, the others held.
    """
    density = pressure / velocity**2
    field = np.sqrt(interaction * density * velocity / (conductivity * size))
    emf = velocity * field * size
    gas = replace(
        first.gas,
        gas_constant=first.gas.gas_constant * velocity**2,
        conductivity=first.gas.conductivity * conductivity,
        mobility=first.gas.mobility / field,
    )
    return replace(
        first,
        gas=gas,
        size=size,
        chamber_pressure=first.chamber_pressure * pressure,
        ambient_pressure=first.ambient_pressure * pressure,
        field=first.field * field,
        voltage=first.voltage * emf,
        resistance=first.resistance / (conductivity * size),
        voltage_drop=first.voltage_drop * emf,
    )


SCALES = pytest.mark.parametrize(
    "scales",
    [
        {"size": 2.0},
        {"size": 2.0, "pressure": 2.0},  # the same field, voltage per gap and mobility
        {"size": 3.0, "pressure": 0.4, "conductivity": 1.7},
        {"size": 0.5, "velocity": 1.6, "conductivity": 0.8},
    ],
    ids=["twice", "twice at twice the pressure", "other conductivity", "other gas"],
)


@STAGES
@LAYOUTS
@SCALES
def test_a_stage_with_the_same_similarity_numbers_has_the_same_load_factor_and_gain(first, segmented, scales):
    small = replace(first, segmented=segmented)
    here, there = small.run(), alike(small, **scales).run()
    assert abs(here["gain"]) > 0.005
    assert there == pytest.approx(here, rel=SAME)


def test_twice_the_size_at_twice_the_pressure_keeps_field_and_gas():
    """σB²L/(ρu) and µB by hand: with L and ρ twice as large the field is the same, and with it all voltages double."""
    second = alike(ACCELERATOR, size=2.0, pressure=2.0)
    assert second.field == pytest.approx(ACCELERATOR.field)
    assert second.gas == ACCELERATOR.gas
    assert second.voltage == pytest.approx(2.0 * ACCELERATOR.voltage)
    assert second.resistance == pytest.approx(ACCELERATOR.resistance / 2.0)


@STAGES
@pytest.mark.parametrize(
    "change",
    [
        pytest.param(lambda held, first: alike(first, size=2.0, interaction=2.0), id="interaction parameter"),
        pytest.param(lambda held, first: replace(held, gas=first.gas), id="Hall parameter"),
        pytest.param(lambda held, first: replace(held, resistance=first.resistance), id="circuit"),
        pytest.param(lambda held, first: replace(held, voltage_drop=first.voltage_drop), id="voltage drop"),
        pytest.param(lambda held, first: replace(held, heat_transfer_factor=0.0), id="wall heat"),
        pytest.param(lambda held, first: replace(held, friction_coefficient=0.002), id="friction"),
        pytest.param(lambda held, first: replace(held, length_share=0.5), id="ratios of lengths"),
        pytest.param(lambda held, first: replace(held, ambient_pressure=6e4), id="ambient pressure"),
    ],
)
def test_a_stage_that_misses_one_similarity_number_differs(first, change):
    """Must differ: all numbers held but one."""
    small = replace(first, segmented=False)
    here, there = small.run(), change(alike(small, size=2.0), small).run()
    assert max(abs(there[name] / here[name] - 1.0) for name in ("load_factor", "gain")) > OTHER


def test_segmented_electrodes_do_not_feel_the_hall_parameter():
    other = replace(alike(ACCELERATOR, size=2.0), gas=ACCELERATOR.gas)
    assert other.field != ACCELERATOR.field
    assert other.run() == pytest.approx(ACCELERATOR.run(), rel=SAME)


LENGTHS = ("channel.length", "channel.gap_in", "channel.gap_out", "channel.width_in", "channel.width_out")
LENGTHS += ("nozzle.throat_diameter", "electrodes.main.start", "electrodes.main.length")


def twice(pressure):
    """The bench stage twice as large at so many times its pressure, in the field that keeps its Hall parameter."""
    larger = {**BENCH, **{address: 2.0 * BENCH[address] for address in LENGTHS}}
    larger["gas.chamber_pressure"] *= pressure
    tables = tables_over([larger])
    hall = solved(larger, tables=tables)["inlet_hall_parameter"]
    larger["magnet.field"] *= solved(BENCH)["inlet_hall_parameter"] / hall
    return solved(larger, tables=tables)


def test_the_gas_of_the_bench_lets_no_stage_of_twice_its_size_be_alike():
    """Mobility goes with 1/p, so that B/p is given; the conductivity of a gas whose seed ionizes a little goes with
    p^(−1/2) at the same temperature (Saha), σB²L/(ρu) then with L p^(1/2). So half the pressure, which keeps pressure ×
    gap and Reynolds number, would raise the interaction parameter to 2^(1/2), and a quarter, which keeps it, would
    halve the two. The colder gas of a lower pressure (it dissociates more) takes away a part of that.
    """
    first = solved(BENCH)

    def over_first(found, name):
        return found[name] / first[name]

    gap_held = twice(0.5)
    assert over_first(gap_held, "inlet_hall_parameter") == pytest.approx(1.0, rel=1e-6)
    assert over_first(gap_held, "pressure_gap") == pytest.approx(1.0, rel=0.01)
    assert over_first(gap_held, "reynolds_number") == pytest.approx(1.0, rel=0.03)
    assert 1.15 < over_first(gap_held, "interaction_parameter") < 2.0**0.5

    same = brentq(
        lambda ln: np.log(over_first(twice(np.exp(ln)), "interaction_parameter")), -1.5, -0.7, xtol=1e-3
    )
    interaction_held = twice(np.exp(same))
    assert over_first(interaction_held, "inlet_hall_parameter") == pytest.approx(1.0, rel=1e-6)
    assert over_first(interaction_held, "interaction_parameter") == pytest.approx(1.0, rel=0.01)
    for name in ("pressure_gap", "reynolds_number"):
        assert 0.45 < over_first(interaction_held, name) < 0.8, name
    # The electrodes' fixed drop weighs more, too: 8 V over a smaller u B g.
    assert over_first(interaction_held, "back_emf") < 0.8
