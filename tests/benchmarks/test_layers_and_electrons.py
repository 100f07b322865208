"""What computed layers and electrons that relax cost beside stated layers and equilibrium, as ratios of one run.

Wanted: `solve_many` with computed layers keeps 60 % of the points a second of the same study with stated layers, and
electrons that relax take at most 2.5 times as long as equilibrium. Processor time of one core; variants take turns, so
that a busy machine slows them alike, and the quickest of each counts. What fails lies a third beyond what is wanted.
"""

import time

import numpy as np
import pytest
from study.known_models import study_of
from study.texts import PLAIN

from explorer.questions.solve.point import solve_many

pytestmark = pytest.mark.slow

POINTS, TURNS = 8192, 7
QUANTITIES = ("thrust_gain", "current", "exit_pressure_change")

UNSURE = {
    "gas.conductivity_factor": {"median": 1, "factor": 1.8},
    "magnet.field": "0.48 ± 0.02 T",
    "electrodes.main.source.voltage": "100 .. 300 V",
}
STATED = UNSURE | {"electrodes.main.voltage_drop": "2 .. 15 V"}
COLD = UNSURE | {
    "electrodes.main.layer": "computed",
    "electrodes.main.voltage_drop": "0 .. 3 V",
    "electrodes.main.material": "copper",
    "electrodes.main.wall_temperature": "450 .. 900 K",
    "electrodes.main.layer_factor": {"median": 1.4, "factor": 2},
    "electrodes.main.electron_lag": {"median": 1, "factor": 2},
    "electrodes.main.ion_factor": {"median": 1, "factor": 3},
    "electrodes.main.strike_voltage": "60 .. 400 V",
}
HOT = COLD | {
    "electrodes.main.material": "tungsten",
    "electrodes.main.wall_temperature": "1500 .. 2000 K",
    "electrodes.main.work_function": "2.0 .. 3.0 eV",
}
RELAXING = {"gas.ionization": "relaxing", "nozzle.length": "40 mm"}


def points_a_second(variants):
    """Points a second and core of each variant, by its name."""
    studies = {name: study_of(inputs, text=PLAIN) for name, inputs in variants.items()}
    rng = np.random.default_rng(7)
    samples = {
        name: own.space.values(rng.uniform(size=(POINTS, own.space.dimension)))
        for name, own in studies.items()
    }
    spent = {name: [] for name in studies}
    for turn in range(TURNS + 1):
        for name, study in studies.items():
            start = time.process_time()
            solve_many(study, samples[name], quantities=QUANTITIES, jobs=1)
            if turn:  # the first one reads gas tables and compiled code
                spent[name].append(time.process_time() - start)
    return {name: POINTS / min(each) for name, each in spent.items()}


def told(rates, ratios):
    each = ", ".join(f"{name} {rate:,.0f}" for name, rate in rates.items())
    return f"\npoints a second and core: {each}; {', '.join(ratios)}"


def test_computed_layers_beside_stated_ones(capsys):
    rates = points_a_second(
        {"stated layers": STATED, "computed, cold copper": COLD, "computed, hot tungsten": HOT}
    )
    kept = {
        name: rate / rates["stated layers"] for name, rate in rates.items() if name.startswith("computed")
    }
    with capsys.disabled():
        print(told(rates, [f"{name} keep {share:.0%}" for name, share in kept.items()]))
    assert min(kept.values()) > 0.6 / 1.33


def test_relaxing_electrons_beside_equilibrium(capsys):
    rates = points_a_second({"equilibrium": STATED, "relaxing": STATED | RELAXING})
    factor = rates["equilibrium"] / rates["relaxing"]
    with capsys.disabled():
        print(told(rates, [f"relaxing takes {factor:.2f} times as long"]))
    assert factor < 2.5 * 1.33
