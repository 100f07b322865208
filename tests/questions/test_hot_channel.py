"""A study whose samples reach 3300 K in the channel loses none to its gas table's edge, whatever is asked of it."""

import numpy as np
import pytest
from study.texts import text_named

import explorer
from explorer import run
from explorer.stage.columns import NOT_CONVERGED, OUTPUTS, OUTSIDE_TABLE
from explorer.stage.gas.extent import Room
from explorer.studyfile import parse_study

#: Everything large, as in `tests/stage/test_widening.py`, and what the commands want to be told.
CHANGES = {
    'field = "0.48 T"': 'field = "1.5 ± 0.02 T"',
    "conductivity_factor = 1.0": "conductivity_factor = 3.0\nheat_loss_share = 0.75",
    'drop_resistance = "0.005 ohm m^2"': "",
    'arc_voltage = "100 V"': 'arc_voltage = "40 V"',
    'voltage = "150 V", current_limit = "50 A"': 'voltage = "550 .. 680 V", current_limit = "5000 A"',
    'quantity = "thrust_gain"\n': (
        'quantity = "thrust_gain"\nat_least = "5 N"\n\n[vary]\n"magnet.field" = "1.4 .. 1.6 T"\n\n'
        '[wanted]\nquantity = "electrical_power"\nmake = "smallest"\n\n[[limit]]\nquantity = "thrust_gain"\n'
        'at_least = "5 N"\n\n[[instrument]]\nname = "load_cell"\nreads = "thrust_gain"\nrandom = "0.3 N"\n'
        'common = "0.5 % of reading"\nrate = "1 kHz"\nbandwidth = "30 Hz"\nrange = "0 .. 200 N"\n'
    ),
}


def hot(field="1.5"):
    text = text_named("plain")
    for old, new in CHANGES.items():
        assert old in text
        text = text.replace(old, new)
    return parse_study(text.replace("1.5 ± 0.02 T", f"{field} ± 0.02 T"))


QUESTIONS = {
    "solve": lambda: explorer.solve(hot(), {"electrodes.main.source.voltage": "680 V"}),
    "propagate": lambda: explorer.propagate(hot(), samples=1024),
    "rank": lambda: explorer.rank(hot(), base=128),
    "compare": lambda: explorer.compare([hot(), hot("1.45")], samples=1024),
    "optimize": lambda: explorer.optimize(hot(), budget=50),
    "scale": lambda: explorer.scale(hot(), hot("1.6"), steps=2, samples=256),
}


@pytest.fixture
def watched(monkeypatch):
    """Kernel results of all points that are evaluated; the first table is narrow, so that some points need a wider."""
    found, evaluate = [], run.evaluate
    monkeypatch.setattr(run, "ROOMS", (Room(0.05, 0.24, 0.45), *run.ROOMS[1:]))

    def kept(*arguments, **options):
        found.append(evaluate(*arguments, **options))
        return found[-1]

    monkeypatch.setattr(run, "evaluate", kept)
    return found


def lost(found):
    return np.isin(np.concatenate([given.outcomes for given in found]), (OUTSIDE_TABLE, NOT_CONVERGED)).sum()


@pytest.mark.parametrize(
    "question",
    [
        pytest.param(name, marks=pytest.mark.slow if name in ("optimize", "rank", "scale") else ())
        for name in QUESTIONS
    ],
)
def test_no_point_is_lost_to_the_table_s_edge(question, watched):
    QUESTIONS[question]()
    hottest = max(np.nanmax(given.results[:, OUTPUTS.index("outlet_temperature")]) for given in watched)
    assert hottest > 3300.0
    assert lost(watched) == 0


def test_one_width_alone_loses_some(watched, monkeypatch):
    """The must-fail twin."""
    any_width = run.Tables.__call__
    monkeypatch.setattr(
        run.Tables, "__call__", lambda self, room, seeded: None if room else any_width(self, room, seeded)
    )
    QUESTIONS["propagate"]()
    assert lost(watched) > 0
