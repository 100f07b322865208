"""Pictures of a path: intervals that narrow, designs told apart by their marks, what changes where."""

from dataclasses import replace

import numpy as np
import pytest
from drawn import titles_of
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from questions.scale.scaled import scaled

from explorer import Scaling
from explorer.analysis.scrambles import Estimate
from explorer.page.pictures.style import images
from explorer.questions.scale.ladder.ladder import Firing
from explorer.questions.scale.path.crossings import Change
from explorer.questions.scale.path.path import Switch


@pytest.fixture(scope="module")
def whole() -> Scaling:
    return scaled(steps=2, samples=1024)


def exact(value: float) -> Estimate:
    return Estimate(*[np.asarray(value)] * 4, np.full(8, value))


def with_figures(found: Scaling, address: str, *means: float) -> Scaling:
    """The path with other means of a quantity, each between half and twice of itself."""
    designs = []
    for own, mean in zip(found.designs, means, strict=True):
        figures = replace(
            own.figures[address], mean=exact(mean), low=exact(0.5 * mean), high=exact(2.0 * mean)
        )
        designs.append(replace(own, figures={**own.figures, address: figures}))
    return replace(found, designs=tuple(designs))


@pytest.fixture
def found(whole: Scaling) -> Scaling:
    """Four designs whose sizes double, the third is fired; wall heat changes half-way, where a word switches."""
    path = with_figures(whole, "thrust_gain", 0.05, 0.2, 0.8, 3.0)
    path = with_figures(path, "pressure_gap", 1e2, 2e2, 4e2, 8e2)
    path = with_figures(path, "load_factor", 5.0, 4.5, 4.0, 3.5)
    designs = tuple(replace(own, place=k / 3, size=2.0**k) for k, own in enumerate(path.designs))
    border = next(border for border in whole.borders if border.name == "wall heat")
    now = {"mean": exact(1.0), "standard_uncertainty": exact(0.2), "low": exact(0.6), "high": exact(1.4)}
    return replace(
        path,
        designs=designs,
        changes=(Change(border, 0.5, True, True, (designs[1], designs[2])),),
        path=replace(whole.path, switches=(Switch("gas.seed", "a", "b"),)),
        trust=replace(whole.trust, now=replace(whole.trust.now, **now), never=exact(0.05)),
        ladder=replace(
            whole.ladder,
            after_first=exact(0.15),
            rungs=(Firing(designs[2], exact(0.125), exact(0.0), (), {}, {}, {}),),
            fired=Firing(designs[3], exact(0.025), exact(0.0), (), {}, {}, {}),
        ),
    )


def requiring(found: Scaling, at_least: float | None) -> Scaling:
    second = found.path.second
    target = replace(second.target, at_least=at_least, at_most=None)
    return replace(found, path=replace(found.path, second=replace(second, target=target)))


def texts(axes: Axes) -> list[str]:
    return [text.get_text() for text in axes.texts]


def marks(axes: Axes) -> list[Line2D]:
    return [line for line in axes.lines if line.get_marker() == "o"]


def places(axes: Axes, style: str) -> list[float]:
    return [line.get_xdata()[0] for line in axes.lines if line.get_linestyle() == style]


def test_intervals_narrow_from_now_on_and_the_last_designs_own_part_is_shaded(found: Scaling) -> None:
    axes = requiring(found, None).plot().axes[0]
    spans = [segment[:, 0] for c in axes.collections for segment in c.get_segments()]
    np.testing.assert_allclose(spans, [[0.6, 1.4], [0.7, 1.3], [0.75, 1.25], [0.9, 1.1], [0.95, 1.05]])
    assert texts(axes) == ["± 0.2 N", "± 0.15 N", "± 0.125 N", "± 0.05 N", "± 0.025 N"]
    (shade,) = axes.patches
    ends = shade.get_extents().transformed(axes.transData.inverted())
    assert (ends.x0, ends.x1) == pytest.approx((0.9, 1.1))
    assert axes.get_xlabel() == "thrust gain of large in one firing, 19 times in 20 [N]"
    assert axes.get_ylim()[0] > axes.get_ylim()[1]  # from now on downwards
    labels = [label.get_text() for label in axes.get_yticklabels()]
    assert [label.replace("\n", " ") for label in labels] == [stage.words for stage in found.stages]
    assert max(len(line) for label in labels for line in label.split("\n")) <= 30


def test_a_requirement_is_drawn_where_it_is_within_reach(found: Scaling) -> None:
    assert "required: at least 0.8 N" in texts(requiring(found, 0.8).plot().axes[0])
    far = requiring(found, 50.0).plot().axes[0]
    assert not any("required" in text for text in texts(far))
    assert far.get_xlim()[1] < 2.0


def test_the_target_stands_against_the_size_and_steps_to_fire_are_filled(found: Scaling) -> None:
    above = found.plot("path").axes[0]
    assert [line.get_xdata()[0] for line in marks(above)] == [1.0, 2.0, 4.0, 8.0]
    filled = [line.get_markerfacecolor() != "white" for line in marks(above)]
    assert filled == [False, False, True, False]
    assert set(texts(above)) == {"small", "large", "step 2", "1"}
    assert (above.get_xlabel(), above.get_ylabel()) == ("size, over small's", "thrust gain [N]")
    assert above.get_yscale() == "log"


def test_changes_and_switches_are_lines_of_their_own_in_every_panel(found: Scaling) -> None:
    figure = found.plot("path")
    assert len(figure.axes) > 5
    half_way = np.sqrt(8.0)  # in size, of equal ratios
    for axes in figure.axes:
        assert places(axes, "--") == pytest.approx([half_way])
        assert places(axes, ":") == pytest.approx([half_way])
    legend = [text.get_text() for text in figure.legends[0].get_texts()]
    assert legend == ["a design, 19 times in 20", "a step to fire", "words switch", "1: wall heat"]
    plain = replace(found, changes=(), ladder=None, path=replace(found.path, switches=()))
    assert len(plain.plot("path").legends[0].get_texts()) == 1


def test_a_border_that_is_crossed_twice_has_one_key(found: Scaling) -> None:
    (change,) = found.changes
    twice = replace(found, changes=(replace(change, place=0.2), replace(change, place=0.8)))
    legend = [text.get_text() for text in twice.plot("path").legends[0].get_texts()]
    assert legend[-1] == "1, 2: wall heat"


def test_designs_say_their_figures_to_a_pointer(found: Scaling) -> None:
    figure = found.plot("path")
    titles = titles_of(images(figure, ())[0])
    assert "step 2: thrust gain 0.8 N, 19 times in 20 between 0.40 and 1.60 N" in titles
    assert "step 2: load factor 4" in titles
    assert len(titles) == 4 * len(figure.axes)


def test_similarity_numbers_have_panels_in_their_own_units(found: Scaling) -> None:
    panels = {axes.get_title(loc="left"): axes for axes in found.plot("path").axes[1:]}
    assert "interaction parameter" in panels
    gaps = panels["pressure gap [bar mm]"].lines[0].get_ydata()
    np.testing.assert_allclose(gaps, [1.0, 2.0, 4.0, 8.0])  # bar mm
    assert panels["load factor"].get_ylim()[0] == 0.0


def test_designs_of_one_size_stand_by_their_places(found: Scaling) -> None:
    alike = replace(found, designs=tuple(replace(own, size=1.0) for own in found.designs))
    above = alike.plot("path").axes[0]
    assert above.get_xlabel() == "way [%]"
    assert [line.get_xdata()[0] for line in marks(above)] == pytest.approx([0.0, 100 / 3, 200 / 3, 100.0])
    assert places(above, "--") == [50.0]


def test_designs_without_a_number_are_left_out_of_the_picture(found: Scaling) -> None:
    nothing = with_figures(found, "load_factor", *[np.nan] * 4)
    missing = with_figures(nothing, "thrust_gain", np.nan, -1.0, np.nan, np.nan)
    figure = missing.plot("path")
    assert "load factor" not in [axes.get_title(loc="left") for axes in figure.axes]
    assert images(figure, ("png",))[1]["png"].startswith(b"\x89PNG")
