"""A first look in words, as a page, as data."""

import csv
import io

import pytest
from questions.pages import page

from explorer.cli.command import csv_text
from explorer.page.text import text_of
from explorer.questions.rank.elementary import FirstLook, first_look
from explorer.questions.rank.first_look import (
    first_look_content,
    first_look_picture,
    first_look_report,
    first_look_rows,
    first_look_words,
)
from explorer.studyfile import Study

BANNED = ("sobol", "index", "indices", "variance", "shapley", "posterior", "scramble")


@pytest.fixture(scope="module")
def look(bench: Study) -> FirstLook:
    return first_look(bench, paths=10)


def test_it_says_that_it_is_a_first_look_in_few_words(look: FirstLook) -> None:
    words = " ".join(first_look_words(look))
    assert "This is a first look" in words
    assert f"{look.table['address'].iloc[0]} moves thrust_gain most: by" in words
    assert len(words.split()) <= 120
    assert not [word for word in BANNED if word in words.lower()]


def test_every_row_stands_on_the_page_largest_first(look: FirstLook, bench: Study) -> None:
    sections = first_look_report(look, bench, {})
    text = text_of(section for section in sections if section.audience == "everyone")
    places = [
        text.index(f"  {row['address']}") for _, row in look.table.iterrows() if row["part"] == "unknown"
    ]
    assert len(places) > 15
    assert "the model itself" in text
    assert "magnet.field (scatter)" in text
    assert "Morris 1991" in page(sections)


def test_data_and_picture_agree_with_the_table(look: FirstLook) -> None:
    rows = first_look_content(look)["elementary"]
    assert [row["mean_size"] for row in rows] == list(look.table["mean_size"])
    low, high = rows[0]["mean_size_interval"]
    assert (low + high) / 2 == pytest.approx(rows[0]["mean_size"])
    table = list(csv.DictReader(io.StringIO(csv_text(first_look_rows(look)))))
    assert float(table[0]["mean_size [N]"]) == pytest.approx(rows[0]["mean_size"])
    assert first_look_picture(look).axes[0].get_xlabel().endswith("[N]")
