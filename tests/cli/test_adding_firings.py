"""Rows put into tables of firings: the spreadsheet stays what it was, wrong rows leave it untouched."""

from pathlib import Path

import pytest

from explorer.cli import main
from explorer.firings import read_rows
from explorer.firings.adding import with_row

STUDIES = Path(__file__).parents[1] / "studies"


@pytest.fixture
def study(tmp_path):
    path = tmp_path / "bench.toml"
    path.write_text((STUDIES / "bench.toml").read_text(encoding="utf-8"), encoding="utf-8")
    return path


def add(study, *more):
    return main(["firing", "add", str(study), *more])


def test_a_first_row_makes_the_table_and_a_second_one_follows(study, capsys):
    voltage = "electrodes.main.source.voltage=150 V"
    assert (
        add(study, "--name", "F1", "--set", voltage, "--read", "current=8.1 A", "--date", "2026-05-03") == 0
    )
    assert (
        add(study, "--name", "F2", "--read", "current=7.9 A", "--read", "exit_pressure_change=0.9 mbar") == 0
    )
    out = capsys.readouterr().out
    assert "holds 2 firings now" in out
    first, second = read_rows(study.with_name("bench-firings.csv"))
    assert (first.date, first.study, first.settings) == (
        "2026-05-03",
        "bench",
        {"electrodes.main.source.voltage": "150 V"},
    )
    assert second.readings["exit_pressure_change"].value == "0.9 mbar"


def test_a_spreadsheet_keeps_its_separator_its_comma_and_its_mark():
    theirs = "\ufeffname;current [A];note\r\nF1;8,1;x\r\n".encode()
    more = with_row(theirs, {"name": "F2", "current": "7.9 A"}, "f.csv")
    assert more.decode("utf-8") == "\ufeffname;current [A];note\r\nF1;8,1;x\r\nF2;7,9;\r\n"


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--name", "F1", "--read", "current=8.1 V"], "expected a current"),
        (["--name", "F1", "--read", "curent=8.1 A"], 'did you mean "current"'),
        (["--name", "F1", "--read", "current"], "expected ADDRESS=VALUE"),
        (
            ["--name", "F1", "--read", "current=8 A", "--set", "electrodes.main.source.voltage=-3 V"],
            "must be",
        ),
        (["--name", "F1"], "name the firing and what was read"),
    ],
)
def test_a_wrong_row_is_refused_and_the_table_stays_as_it_was(study, capsys, monkeypatch, more, words):
    file = study.with_name("bench-firings.csv")
    before = "name,current\nF0,8 A\n"
    file.write_text(before, encoding="utf-8")
    monkeypatch.setattr("sys.stdin.isatty", lambda: False, raising=False)
    assert add(study, *more) == 2
    err = capsys.readouterr().err
    assert words in err
    assert len(err.splitlines()) == 1
    assert file.read_text(encoding="utf-8") == before
    assert len(list(study.parent.iterdir())) == 2


def test_what_is_missing_is_asked_for(study, capsys, monkeypatch):
    answers = iter(["F5", "", "magnet.field=0.47 T", "", "", "8.1 A", "", "calm day"])
    monkeypatch.setattr("builtins.input", lambda prompt: next(answers))
    assert add(study, "--ask") == 0
    (row,) = read_rows(study.with_name("bench-firings.csv"))
    assert (row.name, row.settings, row.note) == ("F5", {"magnet.field": "0.47 T"}, "calm day")
    assert row.readings["current"].value == "8.1 A"
