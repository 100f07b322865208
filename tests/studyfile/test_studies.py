import math
import re
from pathlib import Path

import numpy as np
import pytest
from study.texts import PLAIN

from explorer import registry
from explorer.studyfile import (
    SECTIONS,
    Study,
    StudyError,
    fuel_of,
    oxidizer_of,
    parse_study,
    read_study,
    settings_of,
    study_text,
    template_text,
    template_values_left,
)
from explorer.studyfile.keys import keys_markdown

STUDIES = Path(__file__).parents[1] / "studies"


def test_what_a_study_leaves_out_is_filled_in_and_said(plain: str) -> None:
    study = parse_study(plain)
    absent = {
        "gas.conductivity_factor": (1.0, "default"),
        "gas.nozzle_lag": (1.0, "assumed"),
        "channel.heat_transfer_factor": (1.0, "default"),
        "electrodes.main.drop_resistance": (0.0, "assumed"),
        "electrodes.main.arc_voltage": (math.inf, "assumed"),
        "electrodes.main.leak_conductance": (0.0, "assumed"),
        "electrodes.main.source.current_limit": (math.inf, "assumed"),
        "electrodes.main.source.resistance": (0.0, "assumed"),
        "exit.area_ratio": (1.0, "default"),
    }
    for address, (number, origin) in absent.items():
        assert (study.exact[address], study.origin[address]) == (number, origin)
    assert study.origin["magnet.field"] == "yours"
    assert study.choices["electrodes.main.layout"] == "continuous"
    assert (study.target.quantity, study.target.chance, study.run.random_number) == ("thrust_gain", 0.5, 1)
    assert study.space.dimension == 0


def test_central_values_stand_in_registry_order_in_si(plain: str) -> None:
    central = parse_study(plain).central()
    assert list(central) == sorted(central, key=registry.position)
    assert central["gas.chamber_pressure"] == 1.2e6
    assert central["channel.gap_out"] == 0.0125


def test_the_order_of_a_file_its_comments_and_its_spelling_change_nothing(bench: str) -> None:
    study = parse_study(bench)
    head, *tables = bench.split("\n[")
    singles = [table for table in tables if not table.startswith("[")]
    arrays = [table for table in tables if table.startswith("[")]
    turned = "\n[".join([head, *reversed(singles), *arrays])
    turned = turned.replace('throat_diameter = "9.00 ± 0.05 mm"', 'throat_diameter = "0.9 ± 0.005 cm" # hot')
    turned = turned.replace("random_number = 1", "random_number = 8").replace("(invented)", "(turned)")
    other = parse_study(turned)
    assert other.space.rows == study.space.rows
    assert other.study_hash == study.study_hash


def _changed(study: Study, address: str) -> Study:
    quantity, number = registry.quantity(address), study.central()[address]
    changed = 100.0 if math.isinf(number) else number * 0.999 if number else 1e-3
    changed = changed if quantity.inside(changed) else number * 1.001
    return study.replaced(
        {address: f"{changed!r} {quantity.unit}" if quantity.unit != "1" else repr(changed)}
    )


def test_the_order_of_tables_leaves_the_hash_alone(bench: str) -> None:
    tied = '\n[[correlation]]\nbetween = ["{}", "{}"]\nrank = 0.5\n'
    gaps, widths = ("channel.gap_in", "channel.gap_out"), ("channel.gap_out", "nozzle.throat_diameter")
    text = f"{bench}{tied.format(*gaps)}{tied.format(*widths)}"
    head, *tables = re.split(r"(?m)^(?=\[)", text)
    swapped = text.replace(tied.format(*gaps), tied.format(*gaps[::-1]))
    others = [head + "\n".join(reversed(tables)), head + "\n".join(sorted(tables)), swapped]
    assert {parse_study(other).study_hash for other in others} == {parse_study(text).study_hash}
    assert parse_study(text.replace("rank = 0.5", "rank = 0.4", 1)).study_hash != parse_study(text).study_hash


def test_every_value_shapes_the_hash(plain: str) -> None:
    study = parse_study(plain)
    hashes = {address: _changed(study, address).study_hash for address in study.central()}
    assert study.study_hash not in hashes.values()
    assert len(set(hashes.values())) == len(hashes)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('fuel = "ethanol"', 'fuel = "methanol"'),
        ('"9.00 ± 0.05 mm"', '"9.00 ± 0.06 mm"'),
        ("at_least", "at_most"),
        ('thrust_gain = "10 %"', 'thrust_gain = "11 %"'),
        ('random = "0.3 N"', 'random = "0.4 N"'),
        ("repeats = 2", "repeats = 3"),
        ('layout = "continuous"', 'layout = "segmented"'),
    ],
)
def test_whatever_shapes_an_answer_shapes_the_hash(bench: str, old: str, new: str) -> None:
    assert old in bench
    assert parse_study(bench.replace(old, new, 1)).study_hash != parse_study(bench).study_hash


def test_replaced_values_are_exact_and_said_to_be(bench: str) -> None:
    study = parse_study(bench).replaced({"magnet.field": "0.6 T", "gas.fuel": "methanol"})
    assert study.exact["magnet.field"] == 0.6
    assert study.choices["gas.fuel"] == "methanol"
    assert "magnet.field" not in study.space.central()
    assert "magnetic field is now taken as exactly 0.6 T" in study.notes
    assert "the measurement field_map is left out: magnetic field is now exact" in study.notes
    again = study.replaced({"gas.mixture_ratio": "2.0"})
    assert (again.exact["magnet.field"], again.exact["gas.mixture_ratio"]) == (0.6, 2.0)
    assert len(again.notes) == 3


def test_a_replacement_may_carry_its_own_uncertainty(bench: str) -> None:
    study = parse_study(bench).replaced(
        {"magnet.field": "{ low = '0.4 T', peak = '0.5 T', high = '0.55 T' }"}
    )
    assert study.space.central()["magnet.field"] == pytest.approx(1.45 / 3)
    assert "magnetic field is replaced by another uncertain value" in study.notes


def test_replacing_one_of_two_ways_takes_the_other_out(plain: str) -> None:
    study = parse_study(plain)
    high = study.replaced({"ambient.altitude": "20 km"})
    assert high.exact["ambient.altitude"] == 20e3
    assert "ambient.pressure" not in high.exact
    assert "ambient.altitude" not in high.replaced({"ambient.pressure": "0.1 bar"}).exact


def test_replacing_the_target_drops_the_requirement_on_the_old_one(bench: str) -> None:
    study = parse_study(bench)
    assert study.target.at_least == 0.04
    other = study.replaced({"target.quantity": "current"})
    assert (other.target.quantity, other.target.at_least) == ("current", None)
    assert study.replaced({"target.at_least": "50 mN"}).target.at_least == 0.05
    assert study.replaced({"run.random_number": "0"}).run.random_number == 0


def test_a_mode_can_be_replaced_with_its_source_in_any_order(plain: str) -> None:
    changes = {
        "electrodes.main.source.resistance": "2 ohm",
        "electrodes.main.source.kind": "load",
        "mode": "extraction",
    }
    study = parse_study(plain).replaced(changes)
    assert study.exact["electrodes.main.source.resistance"] == 2.0
    assert "electrodes.main.source.voltage" not in study.exact


@pytest.mark.parametrize(
    ("address", "message"),
    [
        ("magnet.feild", 'did you mean "magnet.field"'),
        ("electrodes.mian.length", 'no pair "mian"'),
        ("electrodes.main.lenght", 'did you mean "electrodes.main.length"'),
        ("thrust_gain", "is an output"),
        ("electrodes.main.current", "is an output"),
        ("title", "not known"),
        ("", "not known"),
    ],
)
def test_only_inputs_can_be_replaced(plain: str, address: str, message: str) -> None:
    with pytest.raises(StudyError, match=message):
        parse_study(plain).replaced({address: "1"})


def test_settings_are_numbers_in_si_or_texts_with_a_unit(plain: str) -> None:
    study = parse_study(plain)
    found = settings_of(
        study, {"magnet.field": np.float64(0.5), "gas.chamber_pressure": "10 bar", "exit.area_ratio": 2}
    )
    assert found == {"magnet.field": 0.5, "gas.chamber_pressure": 1e6, "exit.area_ratio": 2.0}
    with pytest.raises(StudyError, match="did you mean"):
        settings_of(study, {"magnet.fields": 0.5})
    with pytest.raises(StudyError, match="0 T or more"):
        settings_of(study, {"magnet.field": -0.5})


def test_a_study_like_another_states_only_what_differs(tmp_path: Path, bench: str) -> None:
    (tmp_path / "base.toml").write_text(bench, encoding="utf-8")
    child = tmp_path / "child.toml"
    child.write_text(
        'like = "base.toml"\n[gas]\nconductivity_factor = 1.2\n[ambient]\naltitude = "20 km"\n',
        encoding="utf-8",
    )
    base, study = read_study(tmp_path / "base.toml"), read_study(child)
    assert study.exact["gas.conductivity_factor"] == 1.2
    assert study.exact["ambient.altitude"] == 20e3
    assert "ambient.pressure" not in study.exact
    same = {
        a: v for a, v in base.central().items() if a not in ("gas.conductivity_factor", "ambient.pressure")
    }
    assert {a: study.central()[a] for a in same} == same
    assert study.title == base.title


def test_likeness_goes_one_level_deep(tmp_path: Path, bench: str) -> None:
    (tmp_path / "a.toml").write_text(bench, encoding="utf-8")
    (tmp_path / "b.toml").write_text('like = "a.toml"', encoding="utf-8")
    (tmp_path / "c.toml").write_text('like = "b.toml"', encoding="utf-8")
    with pytest.raises(StudyError, match="one level"):
        read_study(tmp_path / "c.toml")
    with pytest.raises(StudyError, match="has none"):
        parse_study('like = "a.toml"')
    assert parse_study('like = "a.toml"', folder=tmp_path).study_hash == parse_study(bench).study_hash
    (tmp_path / "d.toml").write_text('like = "nowhere.toml"', encoding="utf-8")
    with pytest.raises(StudyError, match=r"nowhere.toml: no such file"):
        read_study(tmp_path / "d.toml")


def test_a_field_profile_is_found_beside_the_study_and_its_content_shapes_the_hash(
    tmp_path: Path, plain: str
) -> None:
    text = plain.replace('field = "0.48 T"', '[magnet.profile]\nfile = "field.csv"\nscale = "1 ± 0.02"')
    (tmp_path / "study.toml").write_text(text, encoding="utf-8")
    (tmp_path / "field.csv").write_text("x [mm], B [T]\n-5, 0.40\n45, 0.50\n95, 0.40\n", encoding="utf-8")
    study = read_study(tmp_path / "study.toml")
    assert study.choices["magnet.kind"] == "profile"
    assert study.space.central()["magnet.profile.scale"] == 1.0
    assert str(tmp_path) not in str(study.as_resolved())
    before = study.study_hash
    (tmp_path / "field.csv").write_text("x [mm], B [T]\n-5, 0.40\n45, 0.51\n95, 0.40\n", encoding="utf-8")
    assert read_study(tmp_path / "study.toml").study_hash != before
    (tmp_path / "field.csv").write_text("x [mm], B [T]\n5, 0.40\n45, 0.51\n95, 0.40\n", encoding="utf-8")
    with pytest.raises(StudyError, match="measured from 5 mm to 95 mm"):
        read_study(tmp_path / "study.toml")
    (tmp_path / "field.csv").write_text("x, B\n5, 0.40\n", encoding="utf-8")
    with pytest.raises(StudyError, match=r"field.csv, line 1"):
        read_study(tmp_path / "study.toml")
    (tmp_path / "field.csv").unlink()
    with pytest.raises(StudyError, match="no such file"):
        read_study(tmp_path / "study.toml")


BLOCKS = """[magnet.blocks]
    grade = "N42"
    length = "80 mm"
    height = "40 mm"
    thickness = "25 mm"
    spacing = "30 mm"
"""


def test_a_magnets_grade_stands_for_the_range_that_makers_promise(plain: str) -> None:
    study = parse_study(plain.replace('field = "0.48 T"', BLOCKS))
    remanence = study.space.inputs[0]
    assert remanence.address == "magnet.blocks.remanence"
    # makers' grade tables: N42 1.28 to 1.33 T at 20 °C
    assert remanence.unknown is not None
    np.testing.assert_allclose(remanence.unknown.quantile(np.array([0.0, 1.0])), [1.28, 1.33])
    assert study.origin["magnet.blocks.remanence"] == "assumed"
    assert study.exact["magnet.blocks.position"] == 0.045  # the channel's middle
    assert study.exact["magnet.blocks.temperature"] == 293.15
    stated = parse_study(
        plain.replace('field = "0.48 T"', BLOCKS.replace('grade = "N42"', 'remanence = "1.3 T"'))
    )
    assert stated.exact["magnet.blocks.remanence"] == 1.3


def test_custom_propellants_carry_what_the_study_says(plain: str) -> None:
    custom = """[gas.custom_fuel]
        formula = "C3H6O"
        enthalpy_of_formation = "-248.4 kJ/mol"
        density = "784 kg/m^3"
        [gas.custom_oxidizer]
        formula = "O2"
        enthalpy_of_formation = "-12.98 kJ/mol"
        phase = "gas"
        [nozzle]"""
    text = plain.replace('"ethanol"', '"custom"').replace('"oxygen"', '"custom"').replace("[nozzle]", custom)
    study = parse_study(text)
    fuel, oxidizer = fuel_of(study.choices, study.exact), oxidizer_of(study.choices, study.exact)
    assert fuel.formula == {"C": 3, "H": 6, "O": 1}
    assert (fuel.enthalpy_of_formation, fuel.density, fuel.phase) == (-248.4e3, 784.0, "liquid")
    assert (oxidizer.phase, oxidizer.density) == ("gas", None)


def test_a_study_without_seed_needs_no_seed_keys_and_says_what_it_does_not_use(plain: str) -> None:
    study = parse_study(plain).replaced({"gas.seed": "none"})
    assert (study.exact["gas.seed_fraction"], study.exact["gas.seed_water"]) == (0.0, 0.0)
    assert "seed fraction is not used: there is no seed" in study.notes


@pytest.mark.parametrize("name", ["bench", "bench-extraction", "sounding", "two-pair"])
def test_the_shipped_studies_read_and_say_that_they_are_invented(name: str) -> None:
    path = STUDIES / f"{name}.toml"
    study = read_study(path)
    assert study.space.dimension >= 20
    assert study.target.has_requirement
    assert "invented" in study.title
    head = path.read_text(encoding="utf-8").partition("\n\n")[0]
    assert "CAUTION" in head
    assert study.notes == ()


def test_the_bench_study_is_a_full_case(bench: str) -> None:
    study = parse_study(bench)
    assert len(study.instruments) == 3
    assert len(study.setups) == 2
    assert len(study.measurements) == 5
    shared = [row for row in study.space.rows if row.shared]
    assert [row.address for row in shared] == ["gas.conductivity_factor"]
    commented = bench.replace("# [[correlation]]", "[[correlation]]")
    commented = commented.replace("# between", "between").replace("# rank", "rank")
    assert parse_study(commented).space.correlated


def test_each_uncertain_value_of_the_bench_study_has_its_reason_in_a_comment(bench: str) -> None:
    lines = bench.partition("[target]")[0].splitlines()
    values = [
        i for i, line in enumerate(lines) if "=" in line and any(mark in line for mark in ("±", "..", "{"))
    ]
    values = [i for i in values if not lines[i].startswith("#")]
    assert len(values) >= 20
    for i in values:
        reasons = [line for line in lines[max(i - 3, 0) : i] if line.startswith("#")]
        assert reasons or "#" in lines[i], lines[i]


def test_the_template_runs_and_knows_which_of_its_values_are_left() -> None:
    text = template_text()
    assert parse_study(text).space.dimension > 15
    left = template_values_left(text)
    assert "electrodes.main.source.voltage" in left
    assert len(left) == text.count("<- yours?") - 1  # one stands in the explanation
    answered = text.replace('throat_diameter = "10.00 ± 0.05 mm"', 'throat_diameter = "12 mm"')
    assert set(left) - set(template_values_left(answered)) == {"nozzle.throat_diameter"}
    confirmed = text.replace('length = "100 mm" # <- yours?', 'length = "100 mm"')
    assert set(left) - set(template_values_left(confirmed)) == {"channel.length"}


@pytest.mark.parametrize("sections", [(), *((name,) for name in SECTIONS), SECTIONS])
def test_the_template_runs_with_any_section(sections: tuple[str, ...]) -> None:
    study = parse_study(template_text(sections))
    assert bool(study.instruments) == ("instruments" in sections)
    assert bool(study.measurements) == ("measurements" in sections)
    assert bool(study.vary and study.wishes and study.limits) == ("vary" in sections)
    assert (study.flight is not None) == ("flight" in sections)


def test_what_is_commented_out_in_the_template_can_be_taken_in() -> None:
    text = template_text(SECTIONS)
    for heading in ("[decision]", "[[flight.phase]]"):
        before, _, rest = text.partition(f"# {heading}")
        lines = rest.split("\n")
        last = next((i for i, line in enumerate(lines[1:], 1) if not line.startswith("# ")), len(lines))
        lines[1:last] = [line.removeprefix("# ") for line in lines[1:last]]
        text = before + heading + "\n".join(lines)
    study = parse_study(text)
    assert study.decision is not None
    assert study.flight is not None
    assert [phase.mode for phase in study.flight.phases] == ["acceleration", "extraction"]


def test_values_of_a_section_are_the_templates_until_all_of_them_are_answered() -> None:
    text = template_text(SECTIONS)
    left = template_values_left(text)
    assert {"vary.magnet.field", "instrument load_cell", "limit electrical_power", "flight.phase boost"} <= {
        *left
    }
    start, _, rest = text.partition('name = "ammeter"')
    own, _, after = rest.partition("\n\n")
    confirmed = start + 'name = "ammeter"' + own.replace(" # <- yours?", " #") + "\n\n" + after
    assert {*left} - {*template_values_left(confirmed)} == {"instrument ammeter"}
    one = text.replace('random = "0.05 A"', 'random = "0.1 A"')
    assert template_values_left(one) == left
    answered = text.replace('end = "10 s"', 'end = "8 s"').replace('start = "0 s"', 'start = "1 s"')
    answered = answered.replace("throttle = 1.0", "throttle = 0.9")
    assert {*left} - {*template_values_left(answered)} == {"flight.phase boost"}


def test_the_list_of_keys_is_up_to_date() -> None:
    assert (Path(__file__).parents[2] / "studies" / "KEYS.md").read_text(encoding="utf-8") == keys_markdown()


def test_the_list_of_keys_names_every_key_and_result() -> None:
    text = keys_markdown()
    for quantity in (*registry.INPUTS, *registry.OUTPUTS):
        assert f"`{quantity.address.replace('*', '<pair>')}`" in text


def test_a_pair_may_be_called_like_the_table_of_its_source():
    study = parse_study(PLAIN.replace("[electrodes.main]", "[electrodes.source]"))
    assert study.pairs == ("source",)
    assert study.choices["electrodes.source.source.kind"] == "supply"


def test_an_arc_through_computed_layers_needs_something_that_holds_it_back():
    text = PLAIN.replace('drop_resistance = "0.005 ohm m^2"', 'layer = "computed"')
    free = text.replace(', current_limit = "50 A", resistance = "0.1 ohm"', "")
    with pytest.raises(
        StudyError, match=r"electrodes.main.source.current_limit: an arc through computed layers"
    ):
        parse_study(free)
    for held in ('current_limit = "50 A"', 'resistance = "0.1 ohm"'):
        assert parse_study(free.replace('voltage = "150 V"', f'voltage = "150 V", {held}')).pairs == ("main",)
    assert parse_study(PLAIN.replace(', current_limit = "50 A", resistance = "0.1 ohm"', "")).pairs == (
        "main",
    )


def test_a_limit_of_the_study_that_this_one_is_like_can_be_taken_back(plain: str) -> None:
    address = "electrodes.main.source.current_limit"
    freed = parse_study(plain).replaced({address: "no limit"})
    assert freed.central()[address] == math.inf
    assert parse_study(study_text(freed)).study_hash == freed.study_hash
    with pytest.raises(StudyError, match="does not begin with a number"):
        freed.replaced({"magnet.field": "no limit"})


def test_what_only_computed_layers_need_is_left_out_with_a_note_where_they_are_stated(tmp_path: Path) -> None:
    stated = {
        "electrodes.main.layer": "stated",
        "electrodes.main.voltage_drop": "10 V",
        "electrodes.main.drop_resistance": "0.005 ohm m^2",
    }
    demo = read_study(Path(__file__).parents[2] / "studies" / "bench.toml")
    study = demo.replaced(stated)
    assert "electrodes.main.work_function" in demo.central()
    assert not {"electrodes.main.work_function", "gas.recombination_factor"} & {*study.central()}
    assert "work function of the main pair is not used: the pair's layers are stated" in study.notes
