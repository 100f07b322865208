"""Designs beside each other: what they are called, and columns that stand below each other where there is no room."""

from typing import NamedTuple

from explorer.page.designs import columns, label, short_names
from explorer.page.document import Section
from explorer.page.text import WIDTH, text_of


class Named(NamedTuple):
    """A design without anything."""

    name: str


def test_names_of_rows_and_columns() -> None:
    assert label("electrodes.rear.back_emf") == "back EMF of the rear pair [V]"
    assert label("load_factor") == "load factor"
    long = ["a-stage-with-a-very-long-name-of-autumn", "a-stage-with-a-very-long-name-of-spring"]
    assert short_names(["bench", "sounding"]) == {"bench": "bench", "sounding": "sounding"}
    short = short_names(["bench", *long])
    assert short["bench"] == "bench"
    assert len(set(short.values())) == 3
    assert all(len(name) <= 24 for name in short.values())
    same = short_names([f"a-stage-with-a-very-long-{x}-name-of-spring" for x in "ab"])
    assert sorted(same.values()) == ["1: a-stage-wit…e-of-spring", "2: a-stage-wit…e-of-spring"]


def test_columns_that_do_not_fit_side_by_side_stand_below_each_other() -> None:
    designs = [Named(name) for name in ("one", "two", "three", "four")]
    tables = columns(designs, ["row"], str, lambda row, design: f"{design.name} {'x' * 20}")
    assert [table.head for table in tables] == [("", "one", "two", "three", "four")]  # a page holds them all
    told = text_of([Section("tables", tables)]).splitlines()
    assert [line.split() for line in told if "one" in line or "four" in line][0::2] == [
        ["one", "two", "three"],
        ["four"],
    ]
    assert all(len(line) <= WIDTH for line in told)
    wide = text_of([Section("tables", tables)], 200).splitlines()
    assert any(line.split() == ["one", "two", "three", "four"] for line in wide)
    assert columns(designs, [], str, lambda row, design: design.name) == ()


def test_a_row_of_which_no_design_has_anything_is_left_out() -> None:
    cells = {("a", "one"): "1", ("a", "two"): "none", ("b", "one"): "none", ("b", "two"): "none"}
    (table,) = columns([Named("one"), Named("two")], ["a", "b"], str, lambda row, own: cells[row, own.name])
    assert table.rows == (("a", "1", "none"),)
