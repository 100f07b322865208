"""Command lines to copy: each is taken as it stands, and tries an end of a range."""

import shlex
from pathlib import Path

import pytest

from explorer.page.document import Lines, Section
from explorer.page.inputs import to_compare, to_look_at, to_try
from explorer.questions.compare.changes import change_of
from explorer.studyfile import changed, read_study

STUDIES = Path(__file__).parents[1] / "studies"


def commands(section: Section) -> list[str]:
    """Command lines, a backslash at a line's end joining it to the next as a shell does."""
    parts = [part for part in section.parts if isinstance(part, Lines)]
    assert all(len(line) <= 90 for part in parts for line in part.lines)
    return ["\n".join(part.lines).replace("\\\n", "") for part in parts]


@pytest.mark.parametrize("name", ["bench", "sounding"])
def test_each_line_is_a_command_that_the_study_takes(name: str) -> None:
    study = read_study(STUDIES / f"{name}.toml")
    (section,) = to_try(study, "solve", ["gas.conductivity_factor"])
    lines = commands(section)
    assert 4 <= len(lines) <= 8
    for line in lines:
        program, command, path, option, replaced = shlex.split(line)
        assert (program, command, option) == ("mhdstage", "solve", "--set")
        address, _, value = replaced.partition("=")
        assert read_study(path, {address: value}).replacements == {address: value}


def test_a_normal_unknown_is_tried_at_its_95_percent_ends() -> None:
    """0.48 ± 0.01 T lies within 1.96 standard uncertainties 19 times in 20: 0.460 and 0.500 T."""
    study = read_study(STUDIES / "two-pair.toml", {"magnet.field": "0.48 ± 0.01 T"})
    (section,) = to_try(study, "solve", ["magnet.field"])
    lines = commands(section)
    assert [shlex.split(line)[-1] for line in lines][:2] == [
        "magnet.field=0.46 T",
        "magnet.field=0.5 T",
    ]


def test_lines_that_compare_state_both_ends_of_a_range_as_changes() -> None:
    study = read_study(STUDIES / "bench.toml")
    (section,) = to_compare(study)
    lines = commands(section)
    assert len(lines) == min(len(study.vary), 8)
    for line, item in zip(lines, study.vary, strict=False):
        program, command, path, *options = shlex.split(line)
        assert (program, command, options[::2]) == ("mhdstage", "compare", ["--change", "--change"])
        for change in options[1::2]:
            assert list(changed(read_study(path), change_of(change)).replacements) == [item.address]


def test_a_design_is_put_beside_its_study_with_all_that_it_sets() -> None:
    settings = {"channel.gap_in": "9.5 mm", "electrodes.main.layout": "continuous", "magnet.field": "0.6 T"}
    (section,) = to_look_at(read_study(STUDIES / "bench.toml"), settings)
    (line,) = commands(section)
    program, command, path, *options = shlex.split(line)
    assert (program, command, options[::2]) == ("mhdstage", "solve", ["--set"] * 3)
    assert dict(option.split("=") for option in options[1::2]) == settings
    assert read_study(path, settings).replacements == settings


def test_a_study_without_ranges_has_nothing_to_try() -> None:
    study = read_study(STUDIES / "two-pair.toml")
    assert (to_try(study, "solve"), to_compare(study)) == ((), ())
