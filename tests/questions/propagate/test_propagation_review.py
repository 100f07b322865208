"""A propagation for a reviewer: the repeats, how the figures settled, the first-order law input by input."""

from collections.abc import Mapping

import numpy as np
import pytest
from questions.pages import envelope_of, table

from explorer.page.answer import Answer
from explorer.page.words import row_words
from explorer.questions.propagate import answer
from explorer.questions.propagate.figures import Piece, growing_pieces
from explorer.questions.propagate.propagation import Propagation, plan_of, summarised
from explorer.study.plans import Memory, carry_out
from explorer.study.problem import problem_of
from explorer.studyfile import Study

FIGURES = ("mean", "standard_uncertainty", "low", "high")

Pieces = Mapping[str, tuple[Piece, ...]]


@pytest.fixture(scope="module")
def carried_out(bench: Study) -> tuple[Propagation, Pieces]:
    problem = problem_of(bench, None, ["thrust_gain", "current"])
    plan = plan_of(problem, 1, 8192)
    memory = Memory.of(plan, 2)
    carry_out(plan, problem, memory, jobs=1)
    return summarised(problem, plan, memory), growing_pieces(problem, plan, memory)


def test_the_repeats_scatter_as_the_sampling_errors_say(carried_out: tuple[Propagation, Pieces]) -> None:
    found, pieces = carried_out
    for name in ("thrust_gain", "current"):
        for figure in FIGURES:
            apart = getattr(pieces[name][-1].figures, figure).by_scramble
            assert apart.shape == (8,)
            error = apart.std(ddof=1) / np.sqrt(8)
            assert found.quantities.loc[name, f"{figure}_standard_error"] == pytest.approx(error)


def test_the_whole_of_the_growing_sample_is_the_sample(carried_out: tuple[Propagation, Pieces]) -> None:
    found, pieces = carried_out
    grown, whole = pieces["current"], found.figures["current"]
    assert [piece.points for piece in grown] == [512, 2048, 8192]  # too few values in a 64th
    assert float(grown[-1].figures.mean) == float(whole.mean)
    assert float(grown[-1].figures.high) == float(whole.high)
    assert grown[-1].figures.high.error == whole.high.error
    assert grown[0].figures.mean.error > 3 * grown[-1].figures.mean.error


def test_points_without_numbers_are_left_out_of_the_pieces() -> None:
    def model(values: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
        return {"y": np.where(values["x"] < 0.25, np.nan, values["x"])}

    problem = problem_of(model, {"x": "0 .. 1 m"}, ["y"])
    plan = plan_of(problem, 0, 8192)
    memory = Memory.of(plan, 1)
    carry_out(plan, problem, memory, jobs=1)
    whole = growing_pieces(problem, plan, memory)["y"][-1]
    assert whole.points == pytest.approx(0.75 * 8192, abs=8)
    # Uniform between 0.25 and 1: mean (a + b)/2, standard deviation (b − a)/√12; any textbook.
    assert float(whole.figures.mean) == pytest.approx(0.625, abs=1e-3)
    assert float(whole.figures.standard_uncertainty) == pytest.approx(0.75 / np.sqrt(12), rel=1e-3)


def review(said: Answer) -> set[str]:
    return {section.title for section in said.sections if section.audience == "reviewer"}


def test_a_reviewer_finds_every_row_of_the_first_order_law_largest_first(
    carried_out: tuple[Propagation, Pieces], bench: Study
) -> None:
    found, pieces = carried_out
    said = answer.told(found, bench, envelope_of("propagate"), pieces=pieces)
    rows = table(said, "The first-order law, input by input", 1)[1:]
    assert len(rows) == len(found.first_order.contributions)
    assert rows[0][0] == row_words(found.first_order.contributions["thrust_gain"].abs().idxmax())
    repeats = [table(said, "Scramble by scramble", number) for number in (0, 1)]
    assert [len(rows) for rows in repeats] == [1 + 8, 1 + 8]
    assert {"For a reviewer", "Scramble by scramble", "How the figures settled"} <= review(said)
    alone = review(answer.told(found, bench, envelope_of("propagate")))
    assert "For a reviewer" in alone
    assert not {"Scramble by scramble", "How the figures settled"} & alone
