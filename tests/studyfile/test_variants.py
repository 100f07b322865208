from collections.abc import Mapping
from pathlib import Path

import pytest

from explorer.space import Normal, Rectangular, Uncertain
from explorer.studyfile import Study, StudyError, at_design, parse_study, read_study, uncertain_at

VARY = """
[vary]
"gas.mixture_ratio" = "1.6 .. 2.2"
"magnet.field" = "0.3 .. 0.8 T"
"electrodes.main.voltage_drop" = "8 .. 30 V"
"channel.length" = ["90 mm", "100 mm"]
"gas.seed" = ["potassium carbonate", "cesium carbonate", "none"]
"""
DESIGN: Mapping[str, object] = {
    "gas.mixture_ratio": 2.0,
    "magnet.field": 0.6,
    "electrodes.main.voltage_drop": 20.0,
    "channel.length": 0.1,
    "gas.seed": "cesium carbonate",
}


@pytest.fixture(scope="module")
def study(bench: str) -> Study:
    return parse_study(bench + VARY)


def by_address(study: Study) -> dict[str, Uncertain]:
    return {item.address: item for item in study.space.inputs}


def test_a_design_sets_centres_and_words_and_moves_uncertainties_with_them(study: Study) -> None:
    found = at_design(study, DESIGN)
    central, inputs = found.central(), by_address(found)
    for address in ("gas.mixture_ratio", "magnet.field", "electrodes.main.voltage_drop", "channel.length"):
        assert central[address] == pytest.approx(DESIGN[address], rel=1e-12)
    assert found.choices["gas.seed"] == "cesium carbonate"
    assert inputs["magnet.field"].unknown == Normal(0.6, 0.015)
    assert inputs["magnet.field"].scatter == Normal(0.6, 0.01)
    assert inputs["electrodes.main.voltage_drop"].unknown == Rectangular(13.5, 26.5)
    assert "channel.length" in found.exact
    assert "conductivity_factor" in str(found.space.inputs)


def test_what_is_not_in_the_design_stays(study: Study) -> None:
    found = at_design(study, {"magnet.field": 0.6})
    before, after = by_address(study), by_address(found)
    assert {a for a in after if after[a] != before[a]} == {"magnet.field"}
    assert {a: v for a, v in found.exact.items() if v != study.exact[a]} == {}
    assert (found.vary, found.limits, found.target) == (study.vary, study.limits, study.target)
    assert found.measurements == study.measurements


def test_a_design_of_a_design_forgets_the_first_one(study: Study) -> None:
    there = at_design(at_design(study, DESIGN), {"magnet.field": 0.7, "gas.seed": "potassium carbonate"})
    once = at_design(study, {**DESIGN, "magnet.field": 0.7, "gas.seed": "potassium carbonate"})
    assert there.study_hash == once.study_hash
    assert there.study_hash != at_design(study, DESIGN).study_hash


def test_a_design_is_tried_and_not_set_from_outside(study: Study) -> None:
    assert study.notes == ()
    there = at_design(at_design(study, DESIGN), {"magnet.field": 0.7})
    assert there.notes == ()
    assert there.replacements == study.replacements
    later = there.replaced({"channel.gap_in": "12 mm"})
    assert later.notes == ("gap at the inlet is now taken as exactly 12 mm",)
    assert later.vary == study.vary
    given = study.replaced({"channel.gap_in": "12 mm"})
    assert at_design(given, DESIGN).notes == given.notes


def test_a_design_without_seed_leaves_its_shares_unused_and_its_measurement_out(study: Study) -> None:
    found = at_design(study, {"gas.seed": "none"})
    assert found.exact["gas.seed_fraction"] == 0.0
    assert "seed_feed_check" not in [item.name for item in found.measurements]
    assert found.replaced({"channel.gap_in": "12 mm"}).measurements == found.measurements
    back = at_design(found, {"gas.seed": "potassium carbonate"})
    assert by_address(back)["gas.seed_fraction"] == by_address(study)["gas.seed_fraction"]


def test_texts_with_units_and_inputs_that_are_not_written_can_be_set(study: Study) -> None:
    assert at_design(study, {"magnet.field": "600 mT"}).central()["magnet.field"] == pytest.approx(0.6)
    plain = at_design(study, {"electrodes.main.source.current_limit": 30.0})
    assert plain.exact["electrodes.main.source.current_limit"] == 30.0


@pytest.mark.parametrize(
    ("design", "message"),
    [
        ({"magnet.feild": 0.6}, 'did you mean "magnet.field"?'),
        ({"magnet.blocks.grade": "N42"}, 'this study has no input "magnet.blocks.grade"'),
        ({"magnet.field": -1.0}, "must be 0 T or more"),
        ({"magnet.field": 0.01}, "lies outside what is possible"),
        ({"gas.seed": "salt"}, 'unknown seed "salt"'),
        ({"gas.seed": 3.0}, "gas.seed: expected a text"),
        ({"channel.length": 0.05}, "outside the channel"),
        ({"gas.mixture_ratio": 0.3}, "less oxygen than carbon"),
    ],
)
def test_a_design_that_cannot_stand_is_refused(
    study: Study, design: Mapping[str, object], message: str
) -> None:
    with pytest.raises(StudyError) as caught:
        at_design(study, design)
    assert message in str(caught.value)


@pytest.mark.parametrize("address", [key for key, to in DESIGN.items() if isinstance(to, float)])
def test_one_input_alone_is_what_the_whole_study_has_there(study: Study, address: str) -> None:
    to = DESIGN[address]
    assert isinstance(to, float)
    whole = at_design(study, {address: to})
    alone = uncertain_at(study, address, to)
    if isinstance(alone, Uncertain):
        assert alone == by_address(whole)[address]
    else:
        assert alone == whole.exact[address]
    assert alone != uncertain_at(study, address, 1.01 * to)


def test_one_input_alone_is_refused_where_it_cannot_stand(study: Study) -> None:
    with pytest.raises(StudyError, match="outside what is possible"):
        uncertain_at(study, "magnet.field", 0.01)


@pytest.mark.parametrize(
    "changes",
    [
        {"magnet.field": "0.6 T", "gas.seed_fraction": "1.1 ± 0.1 %"},
        {"gas.seed": "none", "gas.mixture_ratio": 2.0},
        {"ambient.altitude": "20 km", "gas.fuel": "methanol"},
    ],
)
def test_replaced_values_make_the_study_that_is_read_with_them(
    bench: str, changes: Mapping[str, object]
) -> None:
    fresh = parse_study(bench, replacements=changes)
    assert parse_study(bench).replaced(changes).study_hash == fresh.study_hash
    seedless = parse_study(bench).replaced({"gas.seed": "none"})
    if "gas.seed" not in changes:
        back = seedless.replaced({"gas.seed": "potassium carbonate", **changes})
        assert back.space == fresh.space
        assert back.exact == fresh.exact


def test_stated_flows_take_the_place_of_what_follows_from_them(tmp_path):
    """Of a base's mixture nothing stays, of a base's seed only what the flows don't say."""
    bench = (Path(__file__).parents[1] / "studies" / "bench.toml").read_text(encoding="utf-8")
    (tmp_path / "bench.toml").write_text(bench, encoding="utf-8")
    flows = '[gas.flows]\nfuel = "15 g/s"\noxidizer = "29 g/s"\nseed_solution = "1.7 g/s"\n'
    heated = '[gas]\ncomponents = { N2 = 0.98, Cs = 0.02 }\nstagnation_temperature = "3300 K"\n'
    found = {}
    for name, text in {"flows": flows, "heated": heated}.items():
        (tmp_path / f"{name}.toml").write_text(f'like = "bench.toml"\n{text}', encoding="utf-8")
        found[name] = read_study(tmp_path / f"{name}.toml")
    gone = {"gas.mixture_ratio", "gas.seed_fraction", "gas.chamber_pressure"}
    assert not gone & found["flows"].central().keys()
    assert "gas.seed_water" in found["flows"].central()
    assert "gas.mixture_ratio" not in found["heated"].central()
    assert found["heated"].choices["gas.seed"] == "cesium"
    assert found["flows"].replaced({"gas.flows.fuel": "16 g/s"}).exact["gas.flows.fuel"] == 0.016
    orifice = {
        "gas.flows.fuel_orifice.diameter": "0.84 mm",
        "gas.flows.fuel_orifice.discharge_coefficient": "0.76",
    }
    other = found["flows"].replaced({**orifice, "gas.flows.fuel_orifice.upstream_pressure": "20 bar"})
    assert "gas.flows.fuel" not in other.central()
