"""What a study that is like another inherits: the same hardware, and which tables still make sense after the change."""

from pathlib import Path

import pytest

from explorer.studyfile import Study, StudyError, parse_study, read_study

FIELD, SPACING = "magnet.field", "magnet.blocks.spacing"
LOAD = 'mode = "extraction"\nlimit = []\n[electrodes.main.source]\nkind = "load"\nresistance = "15 ohm"\n'
PIN = '\n[[measurement]]\nname = "{}"\nhours = 1\npins = {{ {} }}\n'


@pytest.fixture
def folder(tmp_path: Path, bench: str) -> Path:
    (tmp_path / "base.toml").write_text(bench, encoding="utf-8")
    return tmp_path


def like(folder: Path, text: str, name: str = "child") -> Study:
    (folder / f"{name}.toml").write_text(f'like = "base.toml"\n{text}', encoding="utf-8")
    return read_study(folder / f"{name}.toml")


def names(study: Study) -> list[str]:
    return [item.name for item in study.measurements]


def test_what_is_inherited_is_the_same_thing_and_what_is_stated_anew_is_not(folder: Path) -> None:
    base, child = read_study(folder / "base.toml"), like(folder, '[magnet]\nfield = "0.48 ± 0.02 T"\n')
    other = like(folder, '[channel]\nlength = "95 mm"\n', "other")
    for one, two in ((base, child), (base, other), (child, other)):
        assert one.rig.thing("gas.mixture_ratio") == two.rig.thing("gas.mixture_ratio")
    assert base.rig.thing(FIELD) == other.rig.thing(FIELD) != child.rig.thing(FIELD)
    again = read_study(folder / "base.toml", {FIELD: "0.6 ± 0.02 T"})
    assert again.rig.thing(FIELD) == base.replaced({FIELD: "0.6 ± 0.02 T"}).rig.thing(FIELD)
    assert again.rig.thing(FIELD) != base.rig.thing(FIELD)


def test_a_second_build_is_another_rig_with_the_same_values(folder: Path) -> None:
    base, twin = read_study(folder / "base.toml"), like(folder, 'rig = "another"\n', "twin")
    assert twin.study_hash == base.study_hash
    assert twin.rig.thing("gas.mixture_ratio") != base.rig.thing("gas.mixture_ratio")
    # One copied text is no rig that two studies share.
    text = (folder / "base.toml").read_text(encoding="utf-8")
    assert parse_study(text).rig.thing(FIELD) != parse_study(text).rig.thing(FIELD)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('like = "base.toml"\nrig = "a twin"\n', 'rig must be "same" or "another"; got a twin'),
        ('rig = "another"\n', "rig: goes with like"),
        ('like = "base.toml"\nrigs = "another"\n', 'unknown key "rigs": did you mean "rig"?'),
    ],
)
def test_a_rig_that_is_none_is_refused(folder: Path, text: str, message: str) -> None:
    with pytest.raises(StudyError, match=message.replace("?", r"\?")):
        parse_study(text, folder)


def test_the_other_mode_leaves_out_what_makes_no_sense_in_it(folder: Path) -> None:
    base, child = read_study(folder / "base.toml"), like(folder, LOAD)
    gone = [name for name in names(base) if name not in names(child)]
    assert "drop_sweep" in gone
    assert all(any(name in note for note in child.notes) for name in gone)
    assert any("settings electrodes.main.source.voltage" in note for note in child.notes)


def test_a_measurement_of_what_a_change_made_exact_is_left_out_and_of_the_rest_goes_on(folder: Path) -> None:
    child = like(folder, '[gas]\nseed_water = 1.1\n[magnet]\nfield = "0.48 T"\n')
    assert "field_map" not in names(child)
    (check,) = [item for item in child.measurements if item.name == "seed_feed_check"]
    assert list(check.pins) == ["gas.seed_fraction"]
    assert child.notes == (
        "the measurement field_map is left out: magnetic field is now exact",
        "the measurement seed_feed_check no longer pins all that it did: water of the seed solution is now exact",
    )


def test_another_magnet_from_outside_leaves_the_pins_of_the_old_one_out(folder: Path, bench: str) -> None:
    # The README's own --set, on a study whose measurement pins another of the magnet's inputs.
    blocks = (
        'blocks = { grade = "N42", length = "100 mm", height = "50 mm", thickness = "40 mm",'
        ' spacing = "40 ± 1 mm" }'
    )
    text = bench.partition("[[measurement]]")[0].replace(
        'field = { value = "0.48 T", unknown = "0.015 T", scatter = "0.01 T" }', blocks
    )
    stated = text + PIN.format("gauge", f'"{SPACING}" = "0.1 mm"')
    study = parse_study(stated, replacements={FIELD: "0.6 T"})
    assert study.measurements == ()
    assert "the measurement gauge is left out: magnet block spacing is no longer there" in study.notes
    # What was wrong before the change is refused as before.
    wrong = stated + PIN.format("tape", '"channel.length" = "0.1 mm"')
    with pytest.raises(StudyError, match=r"measurement tape: channel\.length has no unknown part"):
        parse_study(wrong, replacements={FIELD: "0.6 T"})


def test_what_a_study_states_itself_is_not_excused(folder: Path) -> None:
    with pytest.raises(StudyError, match=r"magnet\.field has no unknown part that it could pin down"):
        like(folder, '[magnet]\nfield = "0.48 T"\n' + PIN.format("map", f'"{FIELD}" = "1 mT"'))


def test_a_correlation_of_what_is_now_exact_is_left_out(folder: Path, bench: str) -> None:
    tied = '\n[[correlation]]\nbetween = ["channel.gap_in", "channel.gap_out"]\nrank = 0.8\n'
    (folder / "base.toml").write_text(bench + tied, encoding="utf-8")
    child = like(folder, '[channel]\ngap_in = "11 mm"\n')
    assert child.space.correlations == ()
    assert "the correlation of gap at the inlet and gap at the outlet is left out" in child.notes[0]
