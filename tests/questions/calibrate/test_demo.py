"""The demo's eight firings, whose truths are known: whoever made them wrote them down in studies/make_firings.py."""

import importlib.util
import json
import shutil
from pathlib import Path

import pytest

from explorer import read_study
from explorer.cli import main

STUDIES = Path(__file__).parents[3] / "studies"


def made():
    spec = importlib.util.spec_from_file_location("make_firings", STUDIES / "make_firings.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.slow
def test_the_demo_is_calibrated_and_later_commands_take_what_it_taught(tmp_path, monkeypatch, capsys):
    for name in ("bench.toml", "bench-fitted.toml", "bench-fitted-firings.csv", "bench-season-one.csv"):
        shutil.copy(STUDIES / name, tmp_path / name)
    monkeypatch.chdir(tmp_path)
    files = ["--firings", "bench-season-one.csv", "bench-fitted-firings.csv"]
    assert main(["calibrate", "bench-fitted.toml", *files, "--jobs", "2", "--draws", "1000"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "A3 contradicts the others" in out  # its seed line gave less than a third
    assert not [name for name in ("A1", "A2", "A4", "A5", "E1", "E2", "E3") if f"{name} contradicts" in out]
    told = json.loads(Path("results/bench-fitted/calibrate/summary.json").read_text(encoding="utf-8"))[
        "surprises"
    ]
    seed = next(row for row in told if row["what"] == "gas.seed_fraction")
    assert 0.2 * seed["value"] < seed["needed"] < 0.5 * seed["value"]  # a third of it, in truth
    assert seed["low"] < 0.003 < seed["high"]
    assert 'Its note: "bubbles in the seed line?"' in out
    assert not {"gas.conductivity_factor", "gas.nozzle_lag", "channel.width_in"} & {
        row["what"] for row in told
    }
    learnt = read_study("bench-fitted-calibrated.toml")
    after = {item.address: item for item in learnt.space.inputs}
    before = {item.address: item for item in read_study("bench-fitted.toml").space.inputs}
    truths = made().TRUTHS
    for address in (
        "electrodes.main.voltage_drop",
        "electrodes.main.drop_resistance",
        "gas.conductivity_factor",
    ):
        item = after[address]
        assert item.standard_uncertainty < before[address].standard_uncertainty
        assert abs(truths[address] - item.centre) < 2.5 * item.standard_uncertainty, address
    assert main(["propagate", "bench-fitted-calibrated.toml", "--samples", "4096"]) == 0
    assert main(["rank", "bench-fitted-calibrated.toml", "--base", "512", "--no-guesses"]) == 0
    assert main(["card", "bench-fitted-calibrated.toml", "--firing", "four_steps"]) == 0
    capsys.readouterr()
    assert (
        main(["calibrate", "bench-fitted.toml", *files, "--update", "bench-fitted"]) == 2
    )  # the original stays
    assert "is no calibrated study" in capsys.readouterr().err


def test_the_demo_s_firings_are_those_of_its_script():
    script = made()
    rng = script.np.random.default_rng(20260502)
    assert script.extraction(rng).encode() == (STUDIES / "bench-season-one.csv").read_bytes()
