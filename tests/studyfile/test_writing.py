import tomllib
from pathlib import Path

import pytest

from explorer.studyfile import Study, at_design, parse_study, read_study, study_text

STUDIES = sorted((Path(__file__).parents[2] / "studies").glob("*.toml"))
SEARCH = """
[vary]
channel.gap_in = "10 .. 20 mm"
"electrodes.main.source.voltage" = ["150 V", "300 V"]
[[wanted]]
quantity = "electrical_power"
make = "smallest"
[[wanted]]
quantity = "thrust_gain"
make = "largest"
[[limit]]
quantity = "chance.constricted"
at_most = 0.05
"""


def again(study: Study) -> Study:
    return parse_study(study_text(study))


@pytest.mark.parametrize("path", STUDIES, ids=lambda path: path.stem)
def test_what_is_written_is_read_to_the_same_study(path: Path) -> None:
    study = read_study(path)
    assert again(study).study_hash == study.study_hash
    assert again(study).title == study.title
    assert again(study).run == study.run
    assert "like" not in tomllib.loads(study_text(study))
    assert study_text(again(study)) == study_text(study)


def test_a_study_keeps_its_order_and_looks_like_one(plain: str) -> None:
    text = study_text(parse_study(f'title = "Say \\"hot\\""\n{plain}{SEARCH}'))
    assert text.startswith('title = "Say \\"hot\\""\nmode = "acceleration"\n\n[gas]\nfuel = "ethanol"\n')
    assert '\n\n[electrodes.main.source]\nkind = "supply"\nvoltage = "200 V"\n' in text
    assert "[electrodes]" not in text
    assert '\n\n[vary]\n"channel.gap_in" = "10 .. 20 mm"\n' in text
    assert '"electrodes.main.source.voltage" = ["150 V", "300 V"]\n' in text
    assert text.count("[[wanted]]") == 2
    assert text.endswith('\n\n[[limit]]\nquantity = "chance.constricted"\nat_most = 0.05\n')
    assert not text.count("\n\n\n")


def test_tables_of_values_stand_on_one_line(bench: str) -> None:
    text = study_text(parse_study(bench))
    assert "\nmixture_ratio = { value = 1.95, unknown = 0.04, scatter = 0.03 }\n" in text
    assert '\npins = { "magnet.field" = { random = "0.002 T", common = "0.004 T" } }\n' in text


def test_one_wish_keeps_its_single_table(plain: str) -> None:
    text = study_text(parse_study(plain + '[wanted]\nquantity = "thrust"\nmake = "largest"\n'))
    assert '\n\n[wanted]\nquantity = "thrust"\nmake = "largest"\n' in text


def test_the_head_is_a_comment(plain: str) -> None:
    study = parse_study(plain)
    text = study_text(study, head=["Proposal", "", "two\nlines"])
    assert text.startswith("# Proposal\n#\n# two\n# lines\n\nmode = ")
    assert parse_study(text).study_hash == study.study_hash
    assert study_text(study).startswith("mode = ")


def test_replaced_values_and_designs_are_in_the_text(bench: str) -> None:
    study = parse_study(bench + SEARCH).replaced({"magnet.field": "{ median = '0.5 T', factor = 1.1 }"})
    assert '\nfield = { median = "0.5 T", factor = 1.1 }\n' in study_text(study)
    design = at_design(study, {"channel.gap_in": 0.0123, "gas.combustion_efficiency": 0.95})
    for found in (study, design):
        assert again(found).study_hash == found.study_hash
    assert again(design).vary == study.vary
    assert '\ngap_in = "12.3 ± 0.1 mm"\n' in study_text(design)


def test_what_a_replacement_left_without_object_is_left_out(bench: str) -> None:
    text = bench + SEARCH
    text += '[[correlation]]\nbetween = ["channel.gap_in", "channel.gap_out"]\nrank = 0.8\n'
    text += '[[correlation]]\nbetween = ["channel.gap_out", "gas.mixture_ratio"]\nrank = 0.2\n'
    study = parse_study(text).replaced({"channel.gap_in": "11 mm", "magnet.field": "0.5 T"})
    assert len(study.space.correlations) == 1
    assert "field_map" not in [item.name for item in study.measurements]
    assert [item.address for item in study.vary] == ["electrodes.main.source.voltage"]
    assert again(study).study_hash == study.study_hash
    every = study.replaced({"channel.gap_out": "11 mm", "electrodes.main.source.voltage": "150 V"})
    assert "[vary]" not in study_text(every)
    assert "correlation" not in study_text(every)
    assert again(every).study_hash == every.study_hash


def test_a_field_profile_is_found_from_another_folder(tmp_path: Path, plain: str) -> None:
    (tmp_path / "here").mkdir()
    (tmp_path / "here" / "field.csv").write_text(
        "x [mm], B [T]\n0, 0.3\n45, 0.5\n90, 0.3\n", encoding="utf-8"
    )
    text = plain.replace('field = "0.48 T"', 'profile = { file = "field.csv", scale = "1 ± 0.02" }')
    (tmp_path / "here" / "study.toml").write_text(text, encoding="utf-8")
    study = read_study(tmp_path / "here" / "study.toml")
    (tmp_path / "there.toml").write_text(study_text(study), encoding="utf-8")
    assert read_study(tmp_path / "there.toml").study_hash == study.study_hash


@pytest.mark.parametrize(
    "title",
    ['a "b" \\ c', "tab\there", "line\nbreak", "\x00\x1f\x7f", "§ ± µ °C 日本 🚀", "'''", "#", "= [x]"],
)
def test_any_text_comes_back(plain: str, title: str) -> None:
    study = parse_study(plain)
    document = {**study.document, "title": f"<{title}>"}
    text = study_text(type(study)(**{**vars(study), "document": document}))
    assert tomllib.loads(text)["title"] == f"<{title}>"


@pytest.mark.parametrize("number", [1 / 3, 1e-5, 123456789.123, 5e-324, 1e22, 2, 10**20])
def test_any_number_comes_back(plain: str, number: float) -> None:
    study = parse_study(plain)
    document = {**study.document, "decision": {"gain_if_met": number, "loss_if_not": -0.0, "flag": True}}
    found = tomllib.loads(study_text(type(study)(**{**vars(study), "document": document})))["decision"]
    assert found == {"gain_if_met": number, "loss_if_not": 0.0, "flag": True}
    assert type(found["gain_if_met"]) is type(number)
