"""Text for a terminal: within the width, columns aligned, numbers next to their units."""

import pytest

from explorer.page.document import Lines, Paragraph, Picture, Section, Table
from explorer.page.pictures.style import blank
from explorer.page.text import aligned, bar, broken, text_of


def test_no_line_is_wider_than_the_page() -> None:
    section = Section("Title", (Paragraph("word " * 60), Table((("a" * 20, "long words " * 20),))))
    assert max(len(line) for line in text_of([section], 72).splitlines()) <= 72


@pytest.mark.parametrize("width", range(20, 60))
def test_a_number_is_not_parted_from_its_unit(width: int) -> None:
    text = "the supply's 60 V is below the 71 V that hold against it, at ± 0.5 A and 40 % of 3 S/m"
    lines = broken(text, width)
    assert " ".join(lines) == text
    for line in lines:
        assert not line.rstrip().endswith(("60", "71", "0.5", "40", "3", "±"))


def test_columns_stand_below_each_other_and_numbers_to_the_right() -> None:
    lines = aligned((("a", "1", "x"), ("bbb", "222", "y")), ("name", "n", ""), frozenset({1}))
    assert lines == ["  name    n", "  " + "-" * 12, "  a       1  x", "  bbb   222  y"]


def test_a_title_that_would_steer_the_terminal_is_made_harmless() -> None:
    assert "\x1b" not in text_of([Section("evil \x1b[2J", (Paragraph("\x07 text"),))])


def test_an_address_in_a_title_keeps_its_small_letters() -> None:
    assert text_of([Section("magnet.field", (), as_written=True)]) == "magnet.field\n"
    assert text_of([Section("Gas", ())]) == "GAS\n"


def test_pictures_are_left_out_and_lines_stand_as_they_are() -> None:
    section = Section("", (Picture("p", blank(1, 1), "caption"), Lines(("  u·B·g = 10 V",))))
    assert text_of([section]) == "    u·B·g = 10 V\n"


@pytest.mark.parametrize(
    ("share", "dark", "expected"),
    [(0.5, 0.25, "██░░"), (1.2, 0.0, "░" * 8), (-0.01, -0.02, ""), (0.1, 0.9, "█")],
)
def test_a_bar_begins_at_zero_and_ends_at_its_share(share: float, dark: float, expected: str) -> None:
    assert bar(share, dark, 8) == expected
