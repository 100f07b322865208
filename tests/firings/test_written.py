"""What teams write of firings: spreadsheets' own CSV and TOML, good rows kept where others can't be."""

import math
from dataclasses import replace
from pathlib import Path

import pytest

from explorer.firings import FiringError, read_rows
from explorer.firings.spreadsheet import sheet_of, with_point
from explorer.study.firing.recorded import recorded
from explorer.studyfile import Amount, read_study

BENCH = Path(__file__).parents[1] / "studies/bench.toml"

PLAIN = """name,date,mode,step,electrodes.main.source.voltage [V],magnet.field,current [A],current ±,note
F1,2026-03-02,acceleration,,150,0.48 T,8.1,0.2 A,first
F2,2026-03-02,acceleration,,100,0.48 ± 0.02 T,5.2,0.2 A,
"""


@pytest.fixture(scope="module")
def study():
    return read_study(BENCH)


def written(tmp_path, text, name="firings.csv", encoding="utf-8"):
    path = tmp_path / name
    path.write_bytes(text.encode(encoding))
    return read_rows(path)


def test_rows_are_read_by_the_columns_heads(tmp_path):
    first, second = written(tmp_path, PLAIN)
    assert first.settings == {"electrodes.main.source.voltage": "150 V", "magnet.field": "0.48 T"}
    assert second.settings["magnet.field"] == "0.48 ± 0.02 T"
    assert (first.readings["current"].value, first.readings["current"].spread) == ("8.1 A", "0.2 A")
    assert (first.name, first.date, first.note) == ("F1", "2026-03-02", "first")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252"])
def test_a_spreadsheet_s_own_csv_says_the_same(tmp_path, study, encoding):
    theirs = PLAIN.replace(",", ";").replace("8.1", "8,1").replace("0.2", "0,2").replace("0.02", "0,02")
    here = recorded(written(tmp_path, theirs.replace("\n", "\r\n"), encoding=encoding), study)
    assert here == recorded(written(tmp_path, PLAIN), study)
    assert not here.refused


def test_a_number_with_points_and_commas_is_refused():
    assert with_point("0,48 ± 0,02 T") == "0.48 ± 0.02 T"
    for text in ("1.234,5", "1,234,567"):
        with pytest.raises(FiringError, match="without thousands"):
            with_point(text)


def test_steps_of_one_burn_and_their_difference(tmp_path, study):
    text = (
        "name;step;seconds;electrodes.main.source.voltage;thrust;thrust ± [N];thrust instrument\n"
        "F3;off;1,5;1 V;91,0 N;0,3;load_cell\nF3;on;2;150 V;91,1 N;0,3;load_cell\n"
        "F3;on less off;;;0,1 N;0,1;load_cell\n"
    )
    (found,) = recorded(written(tmp_path, text), study).firings
    assert [(step.name, step.seconds) for step in found.steps] == [("off", 1.5), ("on", 2.0)]
    cell = next(own for own in study.instruments if own.name == "load_cell")
    reading, difference = found.steps[1].readings["thrust"], found.differences[0].reading
    assert (reading.random, difference.random) == (0.3, 0.1)
    assert reading.common == {"load_cell": pytest.approx(cell.common.relative * 91.1)}
    assert difference.common == {"load_cell": pytest.approx(cell.common.relative * 0.1)}
    assert (found.differences[0].step, found.differences[0].less) == ("on", "off")


def test_an_offset_of_an_instrument_cancels_in_a_difference_and_its_scale_stays(tmp_path, study):
    cell = replace(study.instruments[0], common=Amount(absolute=0.5, relative=0.01), reads="thrust")
    text = "name,step,thrust,thrust_gain\nF3,off,90 N,\nF3,on,91 N,\nF3,on less off,1 N,\n"
    (found,) = recorded(written(tmp_path, text), replace(study, instruments=(cell,))).firings
    both = {"load_cell (scale)": pytest.approx(0.9), "load_cell (offset)": pytest.approx(0.5)}
    assert found.steps[0].readings["thrust"].common == both
    assert found.differences[0].reading.common == {"load_cell (scale)": pytest.approx(0.01)}


def test_last_season_s_extraction_is_a_firing_like_another(tmp_path, study):
    text = (
        "name,mode,electrodes.main.source.resistance,current ,current ±\nE1,extraction,0.5 ohm,-2.1 A,0.1 A\n"
    )
    (found,) = recorded(written(tmp_path, text), study).firings
    assert found.settings["mode"] == "extraction"
    assert found.settings["electrodes.main.source.kind"] == "load"
    assert found.readings["current"].value == -2.1


def test_toml_says_the_same(tmp_path, study):
    text = """[[firing]]
name = "F1"
date = 2026-03-02
note = "first"
settings = { "electrodes.main.source.voltage" = "150 V", "magnet.field" = "0.48 T" }
readings = { current = "8.1 ± 0.2 A" }
[[firing]]
name = "F3"
[[firing.step]]
name = "off"
settings = { "electrodes.main.source.voltage" = "1 V" }
readings = { current = { value = "0 A", random = "0.1 A", repeats = 4 } }
"""
    first, second = recorded(written(tmp_path, text, "firings.toml"), study).firings
    (same, _) = recorded(written(tmp_path, PLAIN), study).firings
    assert first == same
    assert second.steps[0].readings["current"].random_of_mean == pytest.approx(0.05)


def test_a_firing_without_a_number_says_so(tmp_path, study):
    (found,) = recorded(written(tmp_path, "name,current,current ±\nF9,none,0.1 A\n"), study).firings
    assert math.isnan(found.readings["current"].value)


#: What is wrong with a whole file, and words of the sentence that says it.
WRONG_FILES = {
    "no name": ("date,current\nx,1 A\n", 'no column "name"'),
    "an unknown column": ("name,curent [A]\nF1,1\n", 'did you mean "current"'),
    "a column of what a row is about, misspelt": ("name,not\nF1,x\n", 'did you mean "note"'),
    "a column twice": ("name,current,current [A]\nF1,1 A,1\n", "stands twice"),
    "a ± without its reading": ("name,current ±\nF1,0.1 A\n", 'has no "current" beside it'),
    "an instrument of a setting": ("name,magnet.field,magnet.field instrument\nF1,1 T,x\n", "is a setting"),
    "decimal commas between commas": ("name,current [A]\nF1,8,1\n", "part the cells with semicolons"),
    "nothing": ("", "is empty"),
    "heads alone": ("name,current\n", "has no firing"),
    "a picture": ("\x89PNG\x00\x01", "no text"),
    "a head that can't be read": ("name,current [A] here\nF1,1\n", "can't be read"),
}


@pytest.mark.parametrize("wrong", WRONG_FILES)
def test_a_wrong_file_is_refused_in_one_sentence(tmp_path, wrong):
    text, words = WRONG_FILES[wrong]
    with pytest.raises(FiringError) as caught:
        written(tmp_path, text)
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


#: What is wrong with one row, and words of the sentence; the good row beside it is kept.
WRONG_ROWS = {
    "F7,,8 A,0 A,": "above zero",
    "F7,,8 V,0.1 A,": "expected a current, got 8 V",
    "F7,,8,0.1 A,": "without a unit",
    "F7,-3 V,8 A,0.1 A,": "must be",
    "F7,150 T,8 A,0.1 A,": "expected a voltage",
    "F7,,8 A,,nobody_s": 'no instrument "nobody_s"',
    "F7,,about 8,0.1 A,": "does not begin with a number",
    "F7,150 V,,,": "no readings",
    ",150 V,8 A,0.1 A,": "has no name",
}


@pytest.mark.parametrize("row", WRONG_ROWS)
def test_a_wrong_row_is_told_and_the_good_one_kept(tmp_path, study, row):
    head = "name,electrodes.main.source.voltage,current,current ±,current instrument\nF1,150 V,8 A,0.1 A,\n"
    found = recorded(written(tmp_path, head + row + "\n"), study)
    assert [firing.name for firing in found.firings] == ["F1"]
    (sentence,) = found.refused
    assert WRONG_ROWS[row] in sentence
    assert "line 3" in sentence


def test_a_firing_of_another_stage_is_left_out(tmp_path, study):
    found = recorded(written(tmp_path, "name,study,current,current ±\nF1,sounding,8 A,0.1 A\n"), study)
    assert "a firing of sounding, and this is bench" in found.refused[0]


def test_a_sheet_tells_its_separator():
    assert sheet_of(b"name;a\nx;1,5\n", "f").decimal_comma
    assert sheet_of(b"name\ta\nx\t1.5\n", "f").separator == "\t"
