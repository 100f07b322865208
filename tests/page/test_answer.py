"""What every answer has in common."""

from pathlib import Path

from explorer.page.answer import left_of_template
from explorer.studyfile import read_study, template_text


def test_values_that_are_still_the_templates_are_named_and_others_are_not(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(template_text(), encoding="utf-8")
    (warning,) = left_of_template(read_study(path))
    assert warning.marked
    assert "not yours: " in warning.text
    assert "gas.chamber_pressure" in warning.text
    assert left_of_template(read_study(Path(__file__).parents[1] / "studies/bench.toml")) == ()
