"""Pictures of a flight: labels with units, phases marked, cases apart without colour, the line at zero."""

import numpy as np
import pandas as pd
import pytest

from explorer.page.pictures.style import images
from explorer.questions.flight.pictures import PhaseShown, ascent_figure, difference_figure
from explorer.units import Scale

KILOMETRE, SPEED = Scale("m", "km"), Scale("m/s", "m/s")
PHASES = [PhaseShown("cruise: power taken out", 0.0, 35.0), PhaseShown("boost: power put in", 35.0, 45.0)]


def curve(apogee: float, last: float) -> pd.DataFrame:
    time = np.linspace(0.0, last, 21)
    altitude, velocity = 15e3 + (apogee - 15e3) * (time / last) ** 0.5, 500.0 * (1 - time / last)
    table = pd.DataFrame({"time": time, "altitude": altitude, "velocity": velocity})
    for name, wide in (("altitude", 900.0), ("velocity", 30.0)):
        table[f"{name}_low"], table[f"{name}_high"] = table[name] - wide, table[name] + wide
        table.loc[18:, [f"{name}_low", f"{name}_high"]] = np.nan
    return table


CURVES = {"without": curve(55e3, 120.0), "with": curve(20e3, 70.0)}


def test_altitude_and_velocity_wear_their_units_over_one_time() -> None:
    figure = ascent_figure(CURVES, PHASES, KILOMETRE, SPEED)
    upper, lower = figure.axes
    assert upper.get_ylabel() == "altitude [km]"
    assert lower.get_ylabel() == "velocity [m/s]"
    assert lower.get_xlabel() == "time t [s]"
    assert upper.get_xlim() == lower.get_xlim()
    ends = {float(line.get_ydata()[-1]) for line in upper.lines if len(line.get_xdata()) == 21}
    assert ends == {55.0, 20.0}


def test_phases_are_marked_and_named() -> None:
    upper = ascent_figure(CURVES, PHASES, KILOMETRE, SPEED).axes[0]
    assert [text.get_text() for text in upper.texts] == [phase.label for phase in PHASES]
    edges = {float(line.get_xdata()[0]) for line in upper.lines if line.get_linestyle() == ":"}
    assert edges == {0.0, 35.0, 45.0}


def test_with_and_without_differ_by_line_and_by_hatch() -> None:
    upper = ascent_figure(CURVES, PHASES, KILOMETRE, SPEED).axes[0]
    styles = [line.get_linestyle() for line in upper.lines if len(line.get_xdata()) == 21]
    assert sorted(styles) == ["-", "--"]
    assert sorted(str(band.get_hatch()) for band in upper.collections) == ["////", "None"]


@pytest.mark.parametrize("middle", [-35e3, 200.0, 30e3])
def test_the_difference_is_drawn_with_the_line_at_which_nothing_is_gained(middle: float) -> None:
    values = middle + 2_000.0 * np.random.default_rng(0).standard_normal(2_000)
    figure = difference_figure(values, (middle - 3_900.0, middle + 3_900.0), KILOMETRE)
    axes = figure.axes[0]
    left, right = axes.get_xlim()
    assert left < 0.0 < right
    assert axes.get_xlabel() == "apogee with the stage less apogee without it [km]"
    assert {"as high as without it", "19 times in 20"} <= {text.get_text() for text in axes.texts}
    assert any(list(line.get_xdata()) == [0.0, 0.0] for line in axes.lines)


def test_files_can_be_written() -> None:
    for figure in (
        ascent_figure(CURVES, PHASES[:1], KILOMETRE, SPEED),
        difference_figure(np.linspace(-1.0, 2.0, 500), (-0.9, 1.9), KILOMETRE),
    ):
        element, files = images(figure, ("png",))
        assert element.startswith("<svg")
        assert files["png"].startswith(b"\x89PNG")
