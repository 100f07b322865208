"""Pictures of a search: designs told apart by shape, chances against what was asked, the curve with its knee."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from drawn import titles_of
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from questions.optimize import proposals

from explorer.analysis.scrambles import figure as estimate_of
from explorer.page.pictures.style import images
from explorer.questions.optimize.search.proposal import DesignsTried, Proposal
from explorer.studyfile import Limit, Varied, Wish


def tried(
    values: Sequence[Sequence[float]], margins: Sequence[float], found: Proposal | None = None
) -> Proposal:
    """A search that tried designs with these wishes [SI] and margins [-], without a proposal where none is given."""
    designs = DesignsTried((proposals.BEST,) * len(margins), np.array(values), np.array(margins)[:, None])
    return replace(found or proposals.nothing(), designs=designs)


def six(first: float = 0.01, found: Proposal | None = None) -> Proposal:
    """Six designs, the last three of which met all limits."""
    rest = [[value] for value in (0.02, 0.03, 0.04, 0.05, 0.06)]
    return tried([[first], *rest], [-10.0, -0.5, -0.1, 0.0, 0.1, 0.2], found)


def proposing(expected: float) -> Proposal:
    found = proposals.robust()
    wish = replace(found.best.wishes[0], expected=estimate_of(expected))
    return replace(found, best=replace(found.best, wishes=(wish,)))


def marked(axes: Axes, marker: str) -> list[Line2D]:
    return [line for line in axes.lines if line.get_marker() == marker]


def texts(axes: Axes) -> list[str]:
    return [text.get_text() for text in axes.texts]


def legend_of(figure: Figure) -> list[str]:
    return [text.get_text() for legend in figure.legends for text in legend.get_texts()]


def test_designs_that_met_all_limits_differ_by_shape_from_those_that_did_not() -> None:
    left, right = six().plot().axes
    for axes in (left, right):
        (met,), (missed,) = marked(axes, "o"), marked(axes, "x")
        np.testing.assert_allclose(met.get_ydata(), [0.04, 0.05, 0.06])
        np.testing.assert_allclose(missed.get_ydata(), [0.01, 0.02, 0.03])
    assert list(marked(left, "o")[0].get_xdata()) == [4, 5, 6]
    assert (left.get_ylabel(), left.get_xlabel()[:12]) == ("thrust gain [N]", "design tried")


def test_the_worst_margin_is_that_of_the_limit_that_misses_most() -> None:
    found = proposals.robust()
    _, right = found.plot("search").axes
    drawn = np.concatenate([marked(right, marker)[0].get_xdata() for marker in ("x", "o")])
    np.testing.assert_array_equal(np.sort(drawn), np.sort(found.designs.margins.min(axis=1)))
    (met,) = marked(right, "o")
    assert (met.get_xdata() >= 0).all()
    assert len(met.get_xdata()) == found.tried["met"].sum()


def test_designs_that_are_not_drawn_are_counted() -> None:
    left, right = six().plot().axes
    assert right.get_xlim()[0] > -1.2
    assert "1 further left" in texts(right)
    assert texts(left) == []
    left, right = six(np.nan).plot().axes
    assert "1 without a number" in texts(left)
    assert "1 further left" not in texts(right)  # the same one is not counted twice


def test_the_proposal_is_a_line_within_the_picture() -> None:
    figure = six(found=proposing(0.09)).plot("search")
    for axes in figure.axes:
        (line,) = [line for line in axes.lines if line.get_linestyle() == "--"]
        assert set(line.get_ydata()) == {0.09}
    assert figure.axes[0].get_ylim()[1] > 0.09
    assert legend_of(figure) == ["all limits met", "a limit not met", "proposal"]
    assert legend_of(six().plot()) == ["all limits met", "a limit not met"]


def test_a_few_designs_far_off_do_not_squeeze_the_others() -> None:
    values = np.linspace(0.05, 0.06, 200)
    values[[50, 120]] = -3.0, 4.0
    found = tried(values[:, None], [0.0] * 200, proposing(0.061))
    low, high = found.plot("search").axes[0].get_ylim()
    assert 0.03 < low < 0.05
    assert 0.061 < high < 0.08


def test_two_wishes_have_a_row_each_in_their_own_units() -> None:
    found = replace(
        tried([[0.1, 1e5], [0.2, 2e5]], [0.1, 0.2]),
        wishes=(Wish("thrust_gain", "largest"), Wish("exit_pressure_change", "largest")),
    )
    figure = found.plot()
    labels = [axes.get_ylabel() for axes in figure.axes[::2]]
    assert labels == ["thrust gain [N]", "exit pressure change [mbar]"]
    np.testing.assert_allclose(marked(figure.axes[2], "o")[0].get_ydata(), [1000.0, 2000.0])
    assert legend_of(figure) == ["all limits met"]


def test_a_search_without_any_number_can_be_drawn() -> None:
    figure = tried([[np.nan]] * 3, [-20.0] * 3).plot()
    assert "3 without a number" in texts(figure.axes[0])
    assert images(figure, ("png",))[1]["png"].startswith(b"\x89PNG")


def limited(*limits: tuple[Limit, float]) -> Axes:
    """A proposal's limits with the chance that each holds."""
    found = proposals.robust()
    judged = tuple(proposals.judged_limit(limit, holds, inner=0.9) for limit, holds in limits)
    return replace(found, best=replace(found.best, limits=judged)).plot("limits").axes[0]


def test_limits_stand_as_stated_against_what_was_asked_with_their_verdicts_in_words() -> None:
    limits = (
        (Limit("current", at_most=50.0), 0.93),
        (Limit("thrust", at_least=90.0), 0.901),
        (Limit("chance.constricted", at_most=0.1, chance=None), 0.62),  # of what is not constricted
    )
    axes = limited(*limits)
    assert texts(axes) == ["met", "not decided", "not met"]
    assert [" ".join(label.get_text().split()) for label in axes.get_yticklabels()] == [
        "current at most 50 A, asked 90 %",
        "thrust at least 90 N, asked 90 %",
        "constricted in at most 10 %",
    ]
    assert axes.get_xlabel() == "chance of what each line states, at the proposal [%]"
    assert [line.get_xdata()[0] for line in marked(axes, "|")] == pytest.approx([90.0, 90.0, 10.0])
    shares = [line for line in axes.lines if line.get_marker() in ("o", "s", "X")]
    assert [line.get_xdata()[0] for line in shares] == pytest.approx([93.0, 90.1, 38.0], abs=0.01)
    assert len({line.get_marker() for line in shares}) == 3
    spans = [segment[:, 0] for collection in axes.collections for segment in collection.get_segments()]
    chances = [proposals.chance(holds) for _, holds in limits]
    held = [[100 * chance.low, 100 * chance.high] for chance in chances]
    np.testing.assert_allclose(
        spans, [*held[:2], [100 - held[2][1], 100 - held[2][0]]]
    )  # of what is constricted
    low, high = axes.get_xlim()
    assert low < 10.0
    assert high > 100


def test_long_names_of_limits_are_broken_not_cut() -> None:
    address = "electrodes.downstream.max_current_density"
    axes = limited((Limit(address, at_most=1.25e4, chance=0.995), 0.999))
    label = axes.get_yticklabels()[0].get_text()
    words = "largest current density of the downstream pair at most 1.25 A/cm², asked 99.5 %"
    assert " ".join(label.split()) == words
    assert max(map(len, label.split("\n"))) <= 45


def placed(varied: Sequence[Varied], *settings: Sequence[float | str]) -> Figure:
    """A proposal and designs like it, by what stands at each varied address."""
    found = proposals.robust()
    first, *others = (
        replace(found.best, setting={x.address: value for x, value in zip(varied, setting, strict=True)})
        for setting in settings
    )
    return replace(found, varied=tuple(varied), best=first, near_equal=tuple(others)).plot()


GAP, GRADE = Varied("channel.gap_in", 0.009, 0.014), "magnet.blocks.grade"


def test_designs_stand_where_they_are_in_each_range_and_none_hides_another() -> None:
    grades = Varied(GRADE, values=("N35", "N42", "N52"))
    axes = placed([GAP, grades], (0.0115, "N35"), (0.01155, "N42"), (0.0135, "N52")).axes[0]
    assert [label.get_text() for label in axes.get_yticklabels()] == [
        "gap at the inlet",
        "magnet block grade",
    ]
    assert {"9 mm", "14 mm", "N35", "N52", "N42"} == set(texts(axes))
    drawn = {line.get_label(): line for line in axes.lines if not str(line.get_label()).startswith("_")}
    assert set(drawn) == {"proposal", "1", "2"}
    assert list(drawn["1"].get_xdata()) == pytest.approx([0.51, 0.5])
    # Moved up, for they are on one place.
    assert drawn["proposal"].get_ydata()[0] - drawn["1"].get_ydata()[0] > 0.1
    assert drawn["2"].get_ydata()[0] == drawn["proposal"].get_ydata()[0] == 0
    assert len({line.get_marker() for line in drawn.values()}) == 3


def test_marks_that_overlap_in_a_chain_never_share_a_height() -> None:
    axes = placed([GAP], *([0.009 + 0.005 * place] for place in (0.5, 0.49, 0.48, 0.47, 0.46))).axes[0]
    marks = {(x, round(y, 6)) for line in axes.lines[1:] for x, y in zip(*line.get_data(), strict=True)}
    assert len(marks) == 5
    near = [(x, y, u, v) for x, y in marks for u, v in marks if 0 < x - u < 0.02]
    assert near
    assert all(y != v for _, y, _, v in near)


def test_words_at_the_ends_keep_clear_of_the_names() -> None:
    long = Varied("electrodes.downstream.source.current_limit", values=("potassium hydroxide", "x"))
    figure = placed([long], ["potassium hydroxide"], ["x"])
    images(figure, ())  # settles the layout
    axes = figure.axes[0]
    name = axes.get_yticklabels()[0].get_window_extent()
    end = next(text for text in axes.texts if text.get_text() == "potassium hydroxide").get_window_extent()
    assert name.x1 < end.x0
    assert name.x0 >= 0


def test_entries_between_the_ends_are_left_out_where_they_do_not_fit() -> None:
    long = tuple(f"potassium carbonate {number}" for number in range(5))
    axes = placed([Varied("gas.seed", values=("a", *long, "b"))], ["a"], ["b"]).axes[0]
    assert set(texts(axes)) == {"a", "b"}


def curve(**changes: Any) -> Axes:
    return replace(proposals.curve(), **changes).plot().axes[0]


def test_the_curve_has_its_errors_its_numbers_and_its_knee() -> None:
    designs = proposals.curve().trade_off
    gains, powers = (np.array([float(design.wishes[k].expected) for design in designs]) for k in (0, 1))
    axes = curve()
    assert axes.get_xlabel() == "thrust gain, more is wanted [N]"
    assert axes.get_ylabel() == "electrical power, less is wanted [W]"
    assert texts(axes) == [str(number) for number in range(1, 9)]
    (knee,) = marked(axes, "D")
    assert (knee.get_xdata()[0], knee.get_ydata()[0]) == (gains[4], powers[4])
    assert list(marked(axes, "o")[0].get_xdata()) == list(gains[:6])  # all limits met
    assert list(marked(axes, "s")[0].get_xdata()) == list(gains[6:])
    # 1.96 standard errors either side hold 95 % of a normal quantity.
    bars = [
        segment for c in axes.collections if isinstance(c, LineCollection) for segment in c.get_segments()
    ]
    widths = [np.ptp(segment[:, k]) for k in (0, 1) for segment in bars if np.ptp(segment[:, k])]
    np.testing.assert_allclose(widths, 2 * 1.96 * np.repeat([0.0003, 22.0], 8), rtol=1e-3)


def test_designs_of_the_curve_say_their_figures_to_a_pointer() -> None:
    titles = titles_of(images(proposals.curve().plot(), ())[0])
    assert titles[0] == "1: thrust gain 0.03 N, electrical power 1.9 kW; limits met"
    assert titles[-1] == "8: thrust gain 0.0912 N, electrical power 7.3 kW; limits not decided"
    assert len(titles) == 8


def test_a_curve_without_a_knee_marks_none() -> None:
    found = proposals.nothing()
    axes = curve(best=None, miss=found.miss)
    assert marked(axes, "D") == []
    assert "the knee: proposed" not in legend_of(axes.figure)


def test_marks_stay_apart_in_grey() -> None:
    def grey(color: object) -> float:
        """Return the luma of Rec. ITU-R BT.601."""
        red, green, blue = to_rgb(str(color))
        return 0.299 * red + 0.587 * green + 0.114 * blue

    left, _ = six().plot().axes
    (met,), (missed,) = marked(left, "o"), marked(left, "x")
    assert grey(met.get_markerfacecolor()) - grey(met.get_markeredgecolor()) > 0.4  # a ring, not a blot
    assert grey(missed.get_markeredgecolor()) - grey(met.get_markeredgecolor()) > 0.2


def test_a_picture_that_is_not_there_is_refused_with_those_that_are() -> None:
    with pytest.raises(ValueError, match="ask for one of search, limits, near_equal"):
        proposals.robust().plot("trade_off")
