"""Every command says what it said when its golden file was frozen. Regression tests: our own output."""

from pathlib import Path

import pytest

from goldens.cases import cases, studies
from goldens.saying import differences, said

SAID = Path(__file__).parent / "said"


@pytest.mark.parametrize(
    "name",
    [pytest.param(name, marks=[pytest.mark.slow] if case.slow else []) for name, case in cases().items()],
)
def test_a_command_says_what_it_said(name: str, tmp_path: Path) -> None:
    golden = (SAID / f"{name}.txt").read_text(encoding="utf-8")
    case = cases()[name]
    found = differences(golden, said(case.arguments, studies(), tmp_path), case.share)
    assert not found, "\n".join([f"{len(found)} lines differ:", *found[:20]])


def test_a_changed_word_or_number_is_seen_and_a_last_digit_is_not() -> None:
    golden = "gain 0.0490 N\nsum 12\n"
    assert not differences(golden, "gain  0.0491 N\nsum 12\n")
    assert differences(golden, "gain 0.0493 N\nsum 12\n")
    assert differences(golden, "gain 0.0490 N\nsum 13\n")
    assert differences(golden, "loss 0.0490 N\nsum 12\n")
    assert differences(golden, "gain 0.0490 N\n")


def test_every_case_has_its_file_and_no_file_is_left_over() -> None:
    assert {path.stem for path in SAID.iterdir()} == set(cases())
