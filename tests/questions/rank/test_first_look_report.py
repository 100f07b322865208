"""A first look in words, as a page, as data."""

import pytest
from questions.pages import csv_of, envelope_of, json_of, page_of, sentences, table

from explorer.page.answer import Answer
from explorer.questions.rank.first_look import FirstLook, first_look
from explorer.questions.rank.first_look_report import first_look_told
from explorer.studyfile import Study

BANNED = ("sobol", "index", "indices", "variance", "shapley", "posterior", "scramble")


@pytest.fixture(scope="module")
def look(bench: Study) -> FirstLook:
    return first_look(bench, paths=10)


@pytest.fixture(scope="module")
def told(look: FirstLook) -> Answer:
    return first_look_told(look, envelope_of("rank"))


def test_it_says_that_it_is_a_first_look_in_few_words(look: FirstLook, told: Answer) -> None:
    words = sentences(told, "In plain words")
    assert "This is a first look" in words
    assert f"The {look.effects[0].words} moves the thrust gain most: by" in words
    assert len(words.split()) <= 120
    assert not [word for word in BANNED if word in words.lower()]


def test_every_row_stands_on_the_page_largest_first(look: FirstLook, told: Answer) -> None:
    labels = [cells[0] for cells in table(told, "What moves it")[1:]]
    assert labels == [effect.words for effect in look.effects]
    assert {"the model itself", "magnetic field", "magnetic field (scatter)"} < set(labels)
    assert "Morris 1991" in page_of(told)


def test_data_and_picture_agree_with_the_table(look: FirstLook, told: Answer) -> None:
    rows = json_of(told)["elementary"]
    assert [row["mean_size"] for row in rows] == list(look.table["mean_size"])
    low, high = rows[0]["mean_size_interval"]
    assert (low + high) / 2 == pytest.approx(rows[0]["mean_size"])
    table = csv_of(told, "elementary.csv")
    assert float(table[0]["mean_size [N]"]) == pytest.approx(rows[0]["mean_size"])
    assert look.table.loc[(rows[0]["address"], rows[0]["part"]), "spread"] == rows[0]["spread"]


def test_its_bars_begin_at_zero_and_its_marks_stand_at_the_spreads(look: FirstLook) -> None:
    axes = look.plot().axes[0]
    assert axes.get_xlabel().endswith("[N]")
    assert axes.get_xlim()[0] == 0.0
    drawn = look.effects[: len(axes.patches)]
    assert [patch.get_width() for patch in axes.patches] == [effect.mean_size for effect in drawn]
    assert list(axes.lines[0].get_xdata()) == [effect.spread for effect in drawn]
    assert repr(look).splitlines()[2].split()[0] == look.effects[0].row.address
