"""Command lines to copy: each is taken as it stands, and tries an end of a range."""

import shlex
from pathlib import Path

import pytest

from explorer.page.document import Lines, Section
from explorer.page.inputs import to_try
from explorer.studyfile import read_study

STUDIES = Path(__file__).parents[2] / "studies"


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


def test_a_study_without_ranges_has_nothing_to_try() -> None:
    assert to_try(read_study(STUDIES / "two-pair.toml"), "solve") == ()
