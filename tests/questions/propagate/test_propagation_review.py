"""A propagation for a reviewer: the repeats, how the figures settled, the first-order law input by input."""

import numpy as np
import pytest

from explorer.questions.propagate.propagation import Propagation, plan_of, summarised
from explorer.questions.propagate.repeats import Repeats, repeats
from explorer.questions.propagate.review import review
from explorer.study.plans import Memory, carry_out
from explorer.study.problem import problem_of
from explorer.studyfile import Study


@pytest.fixture(scope="module")
def carried_out(bench: Study) -> tuple[Propagation, Repeats]:
    problem = problem_of(bench, None, ["thrust_gain", "current"])
    plan = plan_of(problem, 1, 8192)
    memory = Memory.of(plan, 2)
    carry_out(plan, problem, memory, jobs=1)
    return summarised(problem, plan, memory), repeats(problem, plan, memory)


def test_the_repeats_scatter_as_the_sampling_errors_say(carried_out: tuple[Propagation, Repeats]) -> None:
    found, pieces = carried_out
    for name in ("thrust_gain", "current"):
        apart = pieces.apart.loc[name]
        assert list(apart.index) == list(range(1, 9))
        for figure in ("mean", "standard_uncertainty", "low", "high"):
            error = apart[figure].std(ddof=1) / np.sqrt(8)
            assert found.quantities.loc[name, f"{figure}_standard_error"] == pytest.approx(error)


def test_the_whole_of_the_growing_sample_is_the_sample(carried_out: tuple[Propagation, Repeats]) -> None:
    found, pieces = carried_out
    grown = pieces.growth.loc["current"]
    assert list(grown.index) == [512, 2048, 8192]  # too few values in a 64th
    for figure in ("mean", "high", "high_standard_error"):
        assert grown[figure].iloc[-1] == found.quantities.loc["current", figure]
    assert grown["mean_standard_error"].iloc[0] > 3 * grown["mean_standard_error"].iloc[-1]


def test_points_without_numbers_are_left_out_of_the_pieces() -> None:
    def model(values: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
        return {"y": np.where(values["x"] < 0.25, np.nan, values["x"])}

    problem = problem_of(model, {"x": "0 .. 1 m"}, ["y"])
    plan = plan_of(problem, 0, 8192)
    memory = Memory.of(plan, 1)
    carry_out(plan, problem, memory, jobs=1)
    pieces = repeats(problem, plan, memory)
    points, row = pieces.growth.index[-1][1], pieces.growth.iloc[-1]
    assert points == pytest.approx(0.75 * 8192, abs=8)
    # Uniform between 0.25 and 1: mean (a + b)/2, standard deviation (b − a)/√12; any textbook.
    assert row["mean"] == pytest.approx(0.625, abs=1e-3)
    assert row["standard_uncertainty"] == pytest.approx(0.75 / np.sqrt(12), rel=1e-3)


def test_a_reviewer_finds_every_row_of_the_first_order_law_largest_first(
    carried_out: tuple[Propagation, Repeats],
) -> None:
    found, pieces = carried_out
    sections = {section.title: section for section in review(found, pieces)}
    assert all(section.audience == "reviewer" for section in sections.values())
    table = sections["The first-order law, input by input"].parts[-1]
    assert len(table.rows) == len(found.first_order.contributions)  # type: ignore[union-attr]
    sizes = found.first_order.contributions["thrust_gain"].abs()
    assert table.rows[0][0] == sizes.idxmax()  # type: ignore[union-attr]
    assert len(sections["Scramble by scramble"].parts) == 2
    assert "Scramble by scramble" not in {section.title for section in review(found, None)}
