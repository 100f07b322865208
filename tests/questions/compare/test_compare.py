"""`mhdstage compare` end to end: what it prints and writes, what `--set` means for several studies, bad input."""

import csv
import json
import re
from pathlib import Path
from typing import Any

import pytest

from explorer.cli import main
from explorer.cli.terminal import Terminal
from explorer.store import results_folder

STUDIES = Path(__file__).parents[2] / "studies"
BENCH, SOUNDING, EXTRACTION, PAIRS = (
    str(STUDIES / f"{name}.toml") for name in ("bench", "sounding", "bench-extraction", "two-pair")
)
SMALL = ["--samples", "512", "--formats", ""]
FOLDER = Path("results/bench-sounding/compare")


@pytest.fixture(autouse=True)
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def summary(folder: Path = FOLDER) -> dict[str, Any]:
    text = (folder / "summary.json").read_text(encoding="utf-8")
    found: dict[str, Any] = json.loads(text, parse_constant=pytest.fail)
    return found


def refused(capsys: pytest.CaptureFixture[str], *arguments: str, code: int = 2) -> str:
    """Return the one line that is said, nothing being written."""
    assert main(["compare", *arguments, "--all"]) == code
    out, err = capsys.readouterr()
    assert (out, len(err.splitlines())) == ("", 1)
    assert not Path("results").exists() or not list(Path("results").rglob("summary.json"))
    return err


def test_two_designs_are_printed_and_written(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", BENCH, SOUNDING, "--samples", "1000", "--all", "--formats", "svg,png"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    words = out[out.index("IN PLAIN WORDS") :].split("\n", 2)[1]
    assert words.strip().startswith(
        "sounding against bench, one firing of each, 19 times in 20. Larger: thrust gain"
    )
    assert "(rounded up from 1000)" in " ".join(out.split())
    names = {path.name for path in FOLDER.iterdir()} - {".files"}
    assert names == {
        "report.html",
        "answer.txt",
        "summary.json",
        "comparison.csv",
        "differences.csv",
        "comparison.svg",
        "comparison.png",
    }
    page = (FOLDER / "report.html").read_text(encoding="utf-8")
    assert page.count('<svg role="img"') == 1
    assert re.search(r"""(src|href)\s*=\s*["']?(https?:)?//""", page) is None  # opens offline
    assert list(FOLDER.parent.iterdir()) == [FOLDER]


def test_the_summary_begins_with_the_envelope_of_several_studies(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", BENCH, SOUNDING, *SMALL, "--json", "--random-number", "0"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    found = json.loads(out, parse_constant=pytest.fail)
    assert found == summary()
    envelope = ["format", "command", "study", "study_hash", "version", "commit", "random_number", "warnings"]
    assert list(found)[:8] == envelope
    assert found["study"] == ["bench.toml", "sounding.toml"]
    assert len(set(found["study_hash"])) == 2
    assert (found["command"], found["random_number"], found["samples"]) == ("compare", 0, 512)
    assert found["words"].startswith("sounding against bench")


def test_four_designs_with_another_mode_and_another_number_of_pairs(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["compare", BENCH, PAIRS, SOUNDING, EXTRACTION, *SMALL, "--all"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert "The designs work in different modes" in out
    assert (
        "Chance of contact: bench 100 %, two-pair 100 %, sounding 100 % and bench-extraction 6"
        in " ".join(out.split())
    )
    assert "load factor of the rear pair" in out
    folder = Path("results/bench-two-pair-sounding-bench-extraction/compare")
    assert [each["design"] for each in summary(folder)["differences"]] == [
        "two-pair",
        "sounding",
        "bench-extraction",
    ]


def test_the_same_file_twice_is_one_rig_and_a_second_build_is_not(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", BENCH, BENCH, *SMALL]) == 0
    out, _ = capsys.readouterr()
    assert "bench 1 and bench 2 say the same and are one rig" in out
    found = summary(Path("results/bench-bench/compare"))
    assert [design["name"] for design in found["designs"]] == ["bench 1", "bench 2"]
    (told,) = found["differences"]
    assert told["quantities"]["thrust_gain"]["verdict"] == "the same"
    assert told["between_firings"]["thrust_gain"]["verdict"] == "not told apart"
    Path("twin.toml").write_text(f'like = "{BENCH}"\nrig = "another"\n', encoding="utf-8")
    assert main(["compare", BENCH, "twin.toml", *SMALL]) == 0
    assert "bench and twin say the same: they differ" in " ".join(capsys.readouterr().out.split())
    (told,) = summary(Path("results/bench-twin/compare"))["differences"]
    assert told["quantities"]["thrust_gain"]["verdict"] == "not told apart"
    assert told["between_firings"] == {}


def test_each_change_is_a_design_of_the_same_hardware(capsys: pytest.CaptureFixture[str]) -> None:
    several = 'channel.length = "95 mm"; gas.seed_water = 1.1 ; electrodes.main.length=65 mm'
    uncertain = 'nozzle.throat_diameter = { value = "9.2 mm", unknown = "0.05 mm" }'
    changes = ["--change", 'magnet.field = "0.6 T"', "--change", several, "--change", uncertain]
    known = ["--set", "gas.mixture_ratio=1.95"]  # whose gas tables are small
    assert main(["compare", BENCH, *changes, *SMALL, *known, "--all"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "magnetic field = 0.6 T against bench, the same hardware with a change, in one firing" in out
    assert "no longer varied" not in out
    found = summary(Path("results/bench/compare"))
    named = "channel.length = 95 mm; gas.seed_water = 1.1; electrodes.main.length = 65 mm"
    thrice = 'nozzle.throat_diameter = { value = "9.2 mm", unknown = "0.05 mm" }'
    assert [design["name"] for design in found["designs"]] == ["bench", "magnet.field = 0.6 T", named, thrice]
    assert found["rigs"] == [["bench", "magnet.field = 0.6 T", named, thrice]]
    told = [each["quantities"]["thrust_gain"]["verdict"] for each in found["differences"]]
    assert told[:2] == ["larger", "larger"]
    assert found["designs"][2]["inputs"]["gas.seed_water"]["value"] == 1.1


def test_a_value_is_set_in_each_of_the_studies(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", BENCH, SOUNDING, *SMALL, "--set", "magnet.field=0.5 T"]) == 0
    fields = [design["inputs"]["magnet.field"] for design in summary()["designs"]]
    assert fields == [{"value": 0.5, "standard_uncertainty": 0.0, "unit": "T"}] * 2


def test_further_quantities_are_rows_of_their_own() -> None:
    assert main(["compare", BENCH, SOUNDING, *SMALL, "--quantities", "lorentz_force,gas_power"]) == 0
    with (FOLDER / "comparison.csv").open(encoding="utf-8") as file:
        rows = {row["quantity"] for row in csv.DictReader(file)}
    assert {"thrust_gain", "lorentz_force", "gas_power"} <= rows


@pytest.mark.slow
def test_any_number_of_jobs_gives_the_same_numbers() -> None:
    for jobs in ("1", "3"):
        assert main(["compare", BENCH, SOUNDING, *SMALL, "--jobs", jobs, "--out", f"jobs{jobs}"]) == 0
    assert summary(Path("jobs1")) == summary(Path("jobs3"))


def test_points_without_numbers_are_a_warning(capsys: pytest.CaptureFixture[str]) -> None:
    text = Path(BENCH).read_text(encoding="utf-8").replace('gap_out = "12.5 ± 0.1 mm"', 'gap_out = "7 mm"')
    Path("narrow.toml").write_text(text, encoding="utf-8")
    assert main(["compare", BENCH, "narrow.toml", *SMALL]) == 0
    found = summary(Path("results/bench-narrow/compare"))
    assert re.match(r"Some points carry no number: \d+ % of narrow\.", found["warnings"][0])
    assert found["designs"][1]["statuses"]["choked"]["share"] > 0.05
    assert found["differences"][0]["quantities"]["thrust_gain"]["missing"] > 0.05


def test_progress_is_told_to_somebody_who_watches(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Terminal, "interactive", property(lambda _: True))
    assert main(["compare", BENCH, SOUNDING, *SMALL]) == 0
    assert "operating points: 100 %" in capsys.readouterr().err


def test_names_too_long_for_a_folder_are_left_out() -> None:
    names = [f"{'long-' * 12}{n}.toml" for n in range(3)]
    for name in names:
        Path(name).write_text(Path(BENCH).read_text(encoding="utf-8"), encoding="utf-8")
    assert main(["compare", *names, *SMALL]) == 0
    (folder,) = Path("results").iterdir()
    assert folder.name == f"{'long-' * 12}0-and-2-more"


DIFFERENT = ('factor = 1.8, shared = "water', 'factor = 1.5, shared = "water')


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([BENCH], "compare takes two studies or more, or one with a --change; "),
        ([BENCH, "--change", 'magnet.feild = "0.6 T"'], 'did you mean "magnet.field"?'),
        ([BENCH, "--change", "magnet.field"], "expected ADDRESS = VALUE"),
        ([BENCH, "--change", "thrust = 3"], "is an output; only inputs can be set"),
        ([BENCH, "--change", " ; "], "nothing is changed"),
        ([BENCH, "--change", "magnet.field=1 T; magnet.field=2 T"], "magnet.field stands twice"),
        ([], "STUDY"),
        ([BENCH, "nowhere.toml"], "nowhere.toml: no such file"),
        ([BENCH, SOUNDING, "--samples", "100"], "ask for 256 or more"),
        ([BENCH, SOUNDING, "--quantities", "thurst"], 'did you mean "thrust"'),
        ([BENCH, SOUNDING, "--quantities", "magnet.field"], "is an input, not an output"),
        (
            [BENCH, SOUNDING, "--quantities", "electrodes.rear.current"],
            "is not an output of any of these studies",
        ),
        ([BENCH, SOUNDING, "--quantities", ","], "expected outputs"),
        ([BENCH, EXTRACTION, "--set", "electrodes.main.source.voltage=100 V"], "a load has no voltage"),
        ([BENCH, SOUNDING, "--formats", "gif"], '"gif" is none of svg, png, pdf'),
    ],
)
def test_what_cannot_be_compared_is_one_sentence(
    capsys: pytest.CaptureFixture[str], arguments: list[str], said: str
) -> None:
    assert said in refused(capsys, *arguments)


def test_a_shared_name_that_means_two_things_is_one_sentence(capsys: pytest.CaptureFixture[str]) -> None:
    text = Path(BENCH).read_text(encoding="utf-8").replace(*DIFFERENT)
    Path("other.toml").write_text(text, encoding="utf-8")
    said = refused(capsys, BENCH, "other.toml", *SMALL)
    assert '"water cross section" is stated differently (gas.conductivity_factor of bench, gas.cond' in said


def test_a_design_that_hardly_runs_is_no_answer(capsys: pytest.CaptureFixture[str]) -> None:
    text = Path(BENCH).read_text(encoding="utf-8").replace('gap_out = "12.5 ± 0.1 mm"', 'gap_out = "6 mm"')
    Path("narrow.toml").write_text(text, encoding="utf-8")
    said = refused(capsys, BENCH, "narrow.toml", *SMALL, code=1)
    assert said.startswith("mhdstage: narrow: hardly any point carries a number (")


def test_a_second_run_into_one_folder_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    with results_folder(FOLDER):
        assert main(["compare", BENCH, SOUNDING, *SMALL]) == 2
    assert "another run" in capsys.readouterr().err
