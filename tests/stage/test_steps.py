"""The march has its declared order, and the steps that it takes by default are enough.

A switch is a place within the pair where current begins or the discharge constricts: there the sources have a
kink, and no scheme of fixed steps keeps its order.
"""

import numpy as np
import pytest
from stage.cases import CASES, STRONG, STUDIES, point_case, printed
from stage.stages import frozen_points

from explorer.stage.circuit import TOLERANCE
from explorer.stage.evaluate import evaluate, profile
from explorer.stage.march import ORDER
from explorer.stage.outputs.points import Points
from explorer.stage.outputs.quantities import output
from explorer.study.engine import Stage
from explorer.studyfile import read_study

COMPARED = (
    "thrust",
    "exit_velocity",
    "exit_temperature",
    "current",
    "electrical_power",
    "lorentz_force",
    "electrode_drop_power",
    "joule_heating",
    "wall_heat",
)
GAINS = ("thrust_gain", "thrust_gain_heating")
FINE = {"gap_steps": 32, "pair_steps": 96}

#: Current along the whole pair, no plateau of the drop: no switch.
GENTLE = {**STRONG, "electrodes.main.arc_voltage": np.inf, "electrodes.main.source.current_limit": np.inf}


def differences(found, exact):
    """Relative differences of one point; gains relative to thrust."""
    errors = {name: abs(found[name] / exact[name] - 1.0) for name in COMPARED if exact[name] != 0.0}
    return errors | {name: abs(found[name] - exact[name]) / exact["thrust"] for name in GAINS}


def has_switch(case):
    """Whether current begins, turns or constricts somewhere along a pair."""
    design, values, table = case
    along = profile(design, values, table).values
    for pair in design.pairs:
        start = values[f"electrodes.{pair.name}.start"]
        x = (along["x"] - start) / values[f"electrodes.{pair.name}.length"]
        inside = (x > 1e-9) & (x < 1 - 1e-9)
        plateau = np.isclose(
            along["electrode_drop"][inside], values[f"electrodes.{pair.name}.arc_voltage"], rtol=1e-9
        )
        if np.unique(np.sign(along["current_density"][inside])).size > 1 or 0 < plateau.sum() < plateau.size:
            return True
    return False


@pytest.mark.parametrize("name", ["thrust", "current", "exit_temperature", "lorentz_force"])
def test_the_observed_order_is_the_declared_one(name):
    """Kutta's classical scheme on a case without a switch."""
    case = point_case(GENTLE)
    assert not has_switch(case)
    exact = printed(*case, **FINE)[name]
    errors = [abs(printed(*case, gap_steps=n, pair_steps=n)[name] - exact) for n in (1, 2, 4, 8)]
    orders = np.log2(np.divide(errors[:-1], errors[1:]))
    assert orders == pytest.approx(np.full(3, ORDER), abs=0.3)


@pytest.mark.parametrize("name", CASES)
def test_the_default_steps_leave_less_than_a_millionth(name):
    case = CASES[name]()
    assert not has_switch(case)
    assert max(differences(printed(*case), printed(*case, **FINE)).values()) < 1e-6


@pytest.mark.slow
def test_the_default_steps_are_enough_at_random_points(capsys):
    """Without a switch 1e-4; with one 1 %, half of the accuracy asked of what it touches."""
    worst = {False: {}, True: {}}
    count = {False: 0, True: 0}
    for number, (inputs, expected) in enumerate(frozen_points()):
        if expected["status"] != "ok":
            continue
        case = point_case(inputs)
        switch = has_switch(case)
        count[switch] += 1
        exact = printed(*case, **FINE)
        for name, error in differences(printed(*case), exact).items():
            allowed = 0.01 if switch else 1e-4
            if name in ("current", "electrical_power") and len(case[0].pairs) == 1:
                # a terminal voltage near zero is only as good as the circuit's root
                allowed += 2 * TOLERANCE * abs(exact["back_emf"] / exact["terminal_voltage"])
            if error >= worst[switch].get(name, (-1.0,))[0]:
                worst[switch][name] = (error, number)
            assert error < allowed, (number, name)
    with capsys.disabled():
        for switch, cases in worst.items():
            words = ", ".join(f"{name} {error:.1e} ({number})" for name, (error, number) in cases.items())
            print(
                f"\nsteps by default, {count[switch]} points {'with' if switch else 'without'} a switch: {words}"
            )
    assert count[True] > 3
    assert count[False] > 100


@pytest.mark.parametrize("name", STUDIES)
def test_the_default_steps_are_enough_over_a_study_s_uncertainty(name):
    """Where only part of a pair conducts, little flows: what is lost there is small beside what flows elsewhere."""
    study = read_study(f"tests/studies/{name}.toml")
    stage = Stage(study, ())
    cube = np.random.default_rng(5).uniform(size=(512, study.space.dimension))
    values = stage.values(study.space.values(cube))
    default, fine = (
        Points(stage.design, values, evaluate(stage.design, values, stage.tables, heater=False, **steps))
        for steps in ({}, {"pair_steps": 64})
    )
    assert np.array_equal(default.outcomes, fine.outcomes)
    for quantity in ("current", "electrical_power", "lorentz_force", "thrust_gain"):
        exact = output(fine, quantity)
        off = np.abs(output(default, quantity) - exact)
        typical = np.median(np.abs(exact[exact != 0.0]))
        assert np.max(off) < 0.005 * typical, quantity
        large = np.abs(exact) > 0.1 * typical
        assert np.max(off[large] / np.abs(exact[large])) < 0.01, quantity
    assert output(default, "thrust") == pytest.approx(output(fine, "thrust"), rel=1e-6)
