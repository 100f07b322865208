import json
import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from explorer.store import ResultsError, SearchFile, search_file

HEADER = {
    "study_hash": "ab12",
    "random_number": 0,
    "version": "0.1.0",
    "budget": 500,
    "wishes": ["electrical_power"],
    "limits": ("thrust_gain", "chance.constricted"),
}
WISHES, MARGINS = np.array([1 / 3]), np.array([-2.5e-17, math.nan])


def key(number: int) -> bytes:
    return b"coarse" + np.float64(number / 7).tobytes()


def filled(path: Path, designs: int = 3) -> SearchFile:
    found = search_file(path, HEADER, resume=False)
    for number in range(designs):
        found.extend({key(number): (WISHES + number, MARGINS * number)})
    return found


def resumed(path: Path) -> SearchFile:
    return search_file(path, HEADER, resume=True)


def same(first: NDArray[np.float64], second: NDArray[np.float64]) -> bool:
    return first.dtype == second.dtype == np.float64 and np.array_equal(first, second, equal_nan=True)


def test_a_search_goes_on_with_exactly_what_was_written(tmp_path: Path) -> None:
    path = tmp_path / "bench" / "optimize.search"
    assert filled(path).count == 3
    found = resumed(path)
    assert found.count == 3
    assert list(found.known) == [key(0), key(1), key(2)]
    for number in range(3):
        wishes, margins = found.known[key(number)]
        assert same(wishes, WISHES + number)
        assert same(margins, MARGINS * number)
    found.extend({key(3): (WISHES, MARGINS)})
    assert resumed(path).count == 4


@given(
    st.binary(max_size=40),
    st.lists(st.floats(width=64), max_size=3),
    st.lists(st.floats(width=64), max_size=3),
)
def test_any_key_and_any_number_comes_back(
    tmp_path_factory: pytest.TempPathFactory, design: bytes, wishes: list[float], margins: list[float]
) -> None:
    path = tmp_path_factory.mktemp("search") / "optimize.search"
    search_file(path, HEADER, resume=False).extend({design: (np.array(wishes), np.array(margins))})
    found = resumed(path).known[design]
    assert same(found[0], np.array(wishes, dtype=np.float64))
    assert same(found[1], np.array(margins, dtype=np.float64))
    assert np.signbit(found[0]).tolist() == np.signbit(np.array(wishes)).tolist() or np.isnan(wishes).any()


def test_a_batch_is_written_at_once(tmp_path: Path) -> None:
    path = tmp_path / "optimize.search"
    batch = {key(number): (WISHES, MARGINS) for number in range(50)}
    search_file(path, HEADER, resume=False).extend(batch)
    assert list(resumed(path).known) == list(batch)
    assert path.read_bytes().count(b"\n") == 51


def test_what_is_kept_does_not_change_with_the_arrays_that_were_given(tmp_path: Path) -> None:
    wishes = WISHES.copy()
    found = search_file(tmp_path / "optimize.search", HEADER, resume=False)
    found.extend({key(0): (wishes, MARGINS)})
    wishes[0] = 99.0
    assert same(found.known[key(0)][0], WISHES)


def test_the_file_is_plain_json_line_by_line(tmp_path: Path) -> None:
    path = tmp_path / "optimize.search"
    filled(path)

    def refuse(word: str) -> float:
        raise AssertionError(word)  # NaN and Infinity are not JSON

    header, *designs = (
        json.loads(line, parse_constant=refuse) for line in path.read_text("utf-8").splitlines()
    )
    assert header["format"] == "mhdstage search 1"
    assert header["limits"] == ["thrust_gain", "chance.constricted"]
    assert designs[1] == {"design": key(1).hex(), "wishes": [4 / 3], "margins": [-2.5e-17, "nan"]}


@pytest.mark.parametrize("lost", [1, 2, 10, 60])
def test_a_record_cut_off_is_dropped_and_written_over(tmp_path: Path, lost: int) -> None:
    path = tmp_path / "optimize.search"
    filled(path)
    path.write_bytes(path.read_bytes()[:-lost])
    found = resumed(path)
    assert list(found.known) == [key(0), key(1)]
    found.extend({key(7): (WISHES, MARGINS)})
    assert list(resumed(path).known) == [key(0), key(1), key(7)]


def test_a_full_disk_loses_nothing_that_was_written_before(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "optimize.search"
    found = filled(path)
    before = path.read_bytes()
    open_file = Path.open

    class FullDisk:
        def __init__(self, file: object) -> None:
            self.file = file

        def __enter__(self) -> "FullDisk":
            return self

        def __exit__(self, *_: object) -> None:
            self.file.close()  # type: ignore[attr-defined]

        def __getattr__(self, name: str) -> Callable[..., object]:
            return getattr(self.file, name)

        def write(self, data: bytes) -> None:
            self.file.write(data[: len(data) // 2])  # type: ignore[attr-defined]
            raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(Path, "open", lambda self, mode: FullDisk(open_file(self, mode)))
        with pytest.raises(OSError, match="No space left"):
            found.extend({key(3): (WISHES, MARGINS)})
    assert path.read_bytes().startswith(before)
    assert len(path.read_bytes()) > len(before)
    assert (found.count, resumed(path).count) == (3, 3)
    found.extend({key(4): (WISHES, MARGINS)})
    assert list(resumed(path).known) == [key(0), key(1), key(2), key(4)]


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"study_hash": "cd34"}, "the study has changed"),
        ({"random_number": 1}, "the random number is another"),
        ({"version": "0.2.0"}, "the program's version is another"),
        ({"budget": 400}, "budget is another"),
        ({"wishes": ["thrust"]}, "what is wanted is another"),
        ({"limits": ["thrust_gain"]}, "the limits are others"),
        ({"more": 1}, "more is another"),
    ],
)
def test_another_search_is_refused_in_one_sentence_and_left_alone(
    tmp_path: Path, change: dict[str, object], message: str
) -> None:
    path = tmp_path / "optimize.search"
    filled(path)
    before = path.read_bytes()
    for there, wanted in ((HEADER, {**HEADER, **change}), ({**HEADER, **change}, HEADER)):
        path.write_bytes(before)
        if there is not HEADER:
            search_file(path, there, resume=False)
        before_this = path.read_bytes()
        with pytest.raises(ResultsError) as caught:
            search_file(path, wanted, resume=True)
        assert message in str(caught.value)
        assert "\n" not in str(caught.value)
        assert ". " not in str(caught.value)
        assert path.read_bytes() == before_this


def test_nothing_to_go_on_with_is_said(tmp_path: Path) -> None:
    with pytest.raises(ResultsError, match="no unfinished search"):
        resumed(tmp_path / "optimize.search")


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\n",
        b"hello",
        b"[1, 2]\n",
        b'{"a": 1}\n',
        b"\xff\xfe\n",
        b'{"format": "other"}\n',
        b"3\n",
        b'"x"\n',
    ],
)
def test_a_foreign_file_is_refused_and_left_alone(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "optimize.search"
    path.write_bytes(content)
    for resume in (True, False):
        with pytest.raises(ResultsError) as caught:
            search_file(path, HEADER, resume=resume)
        assert "\n" not in str(caught.value)
    assert path.read_bytes() == content


@pytest.mark.parametrize(
    "line",
    [
        b"hello",
        b"3",
        b'{"design": "00"}',
        b'{"design": "xy", "wishes": [], "margins": []}',
        b'{"design": "00", "wishes": ["a lot"], "margins": []}',
        b"\xff",
    ],
)
def test_a_spoilt_line_is_refused_in_one_sentence(tmp_path: Path, line: bytes) -> None:
    path = tmp_path / "optimize.search"
    filled(path)
    path.write_bytes(path.read_bytes() + line + b"\n")
    before = path.read_bytes()
    with pytest.raises(ResultsError, match="can't be read"):
        resumed(path)
    assert path.read_bytes() == before


def test_a_folder_in_its_place_is_refused(tmp_path: Path) -> None:
    (tmp_path / "optimize.search").mkdir()
    (tmp_path / "optimize.search" / "thesis.txt").write_text("mine", encoding="utf-8")
    for resume in (True, False):
        with pytest.raises(ResultsError):
            search_file(tmp_path / "optimize.search", HEADER, resume=resume)
    assert (tmp_path / "optimize.search" / "thesis.txt").read_text(encoding="utf-8") == "mine"


def test_without_resume_an_earlier_search_is_begun_anew(tmp_path: Path) -> None:
    path = tmp_path / "optimize.search"
    filled(path)
    other = search_file(path, {**HEADER, "study_hash": "cd34"}, resume=False)
    assert other.count == 0
    with pytest.raises(ResultsError, match="study has changed"):
        resumed(path)
    assert [item.name for item in tmp_path.iterdir()] == ["optimize.search"]
