"""Whatever a study holds, it is read or refused in a sentence: there is no third way."""

import random
import tomllib
from pathlib import Path

import pytest
from studyfile.mutations import Document, mutated, mutated_text, toml, value

from explorer.cli import main
from explorer.studyfile import StudyError, read_study
from explorer.studyfile.template import template_text

STUDIES = Path(__file__).parents[1] / "studies"
BLOCKS = """like = "bench.toml"
    [magnet.blocks]
    grade = "N42"
    length = "90 mm"
    height = "40 mm"
    thickness = "25 mm"
    spacing = "40 ± 0.5 mm"
    [vary]
    "magnet.blocks.spacing" = "30 .. 50 mm"
    "magnet.blocks.grade" = ["N42", "N50"]
    [wanted]
    quantity = "thrust_gain"
    make = "largest"
    """
PROFILE = 'like = "bench.toml"\nvary = {}\n[magnet.profile]\nfile = "field.csv"\nscale = "1 ± 0.02"\n'


@pytest.fixture
def texts(tmp_path: Path) -> dict[str, str]:
    """The demo studies, the template and two of another kind of magnet, by the names under which they lie there."""
    found = {path.name: path.read_text(encoding="utf-8") for path in sorted(STUDIES.glob("*.toml"))}
    found |= {"template.toml": template_text(), "blocks.toml": BLOCKS, "profile.toml": PROFILE}
    for name, text in found.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    (tmp_path / "field.csv").write_text("x [mm], B [T]\n-20, 0.1\n45, 0.5\n120, 0.1\n", encoding="utf-8")
    return found


def outcome(path: Path, replacements: dict[str, object]) -> str:
    """What reading a study comes to: "read", "refused", or what else happened."""
    try:
        study = read_study(path, replacements)
        assert len(study.study_hash) == 64
        study.words()
    except StudyError as error:
        words = str(error)
        return "refused" if len(words) < 500 and "\0" not in words else f"refused in these words: {words}"
    except Exception as error:
        return f"{type(error).__name__}: {error}"
    return "read"


@pytest.mark.slow
def test_two_thousand_mutated_studies_are_read_or_refused(texts, tmp_path, capsys):
    rng = random.Random(20)
    path, read = tmp_path / "mutated.toml", 0
    addresses = _addresses(tomllib.loads(texts["bench.toml"]))
    for number in range(2000):
        text = rng.choice(sorted(texts.values()))
        document = mutated(rng, tomllib.loads(text))
        path.write_bytes(mutated_text(rng, text) if rng.random() < 0.2 else toml(document).encode())
        replacements = {rng.choice(addresses): value(rng)} if rng.random() < 0.2 else {}
        found = outcome(path, replacements)
        assert found in ("read", "refused"), (number, replacements, found, path.read_bytes())
        read += found == "read"
        if found == "read" and not replacements and rng.random() < 0.1:
            code = main(["solve", str(path), "--out", str(tmp_path / "results")])
            assert code in (0, 1, 2)
            assert "unexpected" not in capsys.readouterr().err, path.read_bytes()
    assert 200 < read < 1800  # else the changes are too tame, or too wild


def _addresses(document: Document, head: str = "") -> list[str]:
    found = []
    for key, item in document.items():
        found += _addresses(item, f"{head}{key}.") if isinstance(item, dict) else [f"{head}{key}"]
    return found


#: What has ended in a traceback, or never: the text of an item, and what is said of it.
ENEMIES = {
    "tables without end": (f"title = {'{a = ' * 5000}1{'}' * 5000}", "deep within one another"),
    "lists without end": (f"title = {'[' * 5000}{']' * 5000}", "deep within one another"),
    "tables deeper than any study's": (f"title = {'{a = ' * 60}1{'}' * 60}", "deep within one another"),
    "keys deeper than any study's": (f"{'a.' * 60}a = 1", "deep within one another"),
    "an integer that no float holds": (f"title = 1{'0' * 400}", "title: an integer of more than 60 digits"),
    "an integer of thousands of digits": (f"title = 1{'0' * 9999}", "not TOML: exceeds the limit"),
    "a date that no calendar has": ("title = 2023-02-31", "not TOML, line 1: invalid date"),
    "a time": ("title = 07:32:00", "title: expected a number, a text"),
    "a file's name with NUL": ('like = "bench\\u0000.toml"', "like: a text holds the character NUL"),
    "a file's name without end": (f'like = "{"x" * 5000}"', "cannot be read"),
    "a device without end": ('like = "/dev/zero"', "larger than 16 MB"),
    "a power of powers": ('gas.chamber_pressure = "12 bar**9**9**9"', '"bar**9**9**9" is no unit known here'),
    "a raised power of powers": ('gas.chamber_pressure = "12 bar^9⁹⁹"', '"bar^9⁹⁹" is no unit known here'),
    "a power beyond any float": ('gas.chamber_pressure = "12 bar**999"', '"bar**999" is no unit known here'),
    "what a terminal obeys": ('mode = "\\u001b[2J"', 'unknown mode "\\x1b[2J"'),
    "readings without values": (
        'gas.chamber_pressure = { value = "12 bar", unknown = {} }',
        "values must be a list of at least 4 readings",
    ),
    "a text without end": (f'mode = "{"x" * 100_000}"', "xxx … xxx"),
}


@pytest.mark.parametrize("line, words", ENEMIES.values(), ids=ENEMIES)
def test_what_nobody_can_mean_is_refused_in_a_sentence(tmp_path, line, words):
    (tmp_path / "bench.toml").write_text((STUDIES / "bench.toml").read_text("utf-8"), encoding="utf-8")
    own = line if line.startswith("like") else f'{line}\nlike = "bench.toml"'
    (tmp_path / "own.toml").write_text(own, encoding="utf-8")
    with pytest.raises(StudyError) as refused:
        read_study(tmp_path / "own.toml")
    assert words in str(refused.value)
    assert len(str(refused.value)) < 500


def test_a_file_name_that_no_file_can_have_is_refused():
    with pytest.raises(StudyError, match="cannot be read"):
        read_study("a\0b.toml")


@pytest.mark.parametrize(
    "table, words",
    [
        ({"low": "x"}, "does not begin with a number"),
        ({"low": "13 bar", "high": "11 bar"}, "low must lie below high"),
        ({"part": "sometimes"}, "part must be"),
        ({"shared": 3}, "shared must be a name"),
    ],
)
def test_what_stands_beside_an_exact_value_is_read_too(table, words):
    with pytest.raises(StudyError, match=words):
        read_study(STUDIES / "bench.toml", {"gas.chamber_pressure": {"value": "12 bar", **table}})
