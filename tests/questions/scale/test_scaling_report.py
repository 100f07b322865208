"""The report of a path: what the bench can never teach, points with their reasons, changes, tables, JSON, files."""

import io
import json
import re
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from questions.pages import page
from questions.scale.scaled import READ, SMALL, UNSURE, scaled, small_and_large
from study.known_models import study_of

from explorer.cli.command import csv_text
from explorer.page.document import Picture, Section, Table
from explorer.page.text import text_of
from explorer.questions.scale.changes import change_words, made_words, switch_words
from explorer.questions.scale.content import ladder_rows, path_rows, scaling_content
from explorer.questions.scale.files import point_studies
from explorer.questions.scale.path.scaling import Scaling, scale
from explorer.questions.scale.pictures import scaling_pictures
from explorer.questions.scale.points import choice_words, pinned_words, rung_words
from explorer.questions.scale.report import scaling_report
from explorer.questions.scale.rows import interval, stages
from explorer.questions.scale.words import ladder_words, never_words, plain_words
from explorer.store import json_text
from explorer.studyfile import parse_study

HEAD = {
    "format": "mhdstage results 1",
    "command": "scale",
    "study": ["small.toml", "large.toml"],
    "study_hash": ["a" * 64, "b" * 64],
    "version": "0",
    "random_number": 1,
    "warnings": [],
}


@pytest.fixture(scope="module")
def found() -> Scaling:
    return scaled()


@pytest.fixture(scope="module")
def same() -> Scaling:
    first, _ = small_and_large()
    return scale(first, first, samples=512)


@pytest.fixture(scope="module")
def apart() -> Scaling:
    loose = {key: item for key, item in UNSURE["gas.conductivity_factor"].items() if key != "shared"}  # type: ignore[attr-defined]
    extra = '\n[model_error]\nthrust_gain = "10 %"\nshared = "0 %"\n'
    inputs = {**UNSURE, "gas.conductivity_factor": loose}
    first = study_of({**inputs, **SMALL}, extra + READ[READ.index("[[instrument]]") :])
    return scale(first, study_of({**inputs, "magnet.field": "0.6 ± 0.015 T"}, extra), points=2, samples=4096)


def sections(found: Scaling, audience: str | None = None) -> list[Section]:
    drawn = {"ladder": "<svg></svg>", "path": "<svg></svg>"}
    every = scaling_report(found, HEAD, drawn, asked=2000)
    return [section for section in every if audience in (None, section.audience)]


def table(found: Scaling, title: str) -> Table:
    section = next(s for s in sections(found) if s.title == title)
    return next(part for part in section.parts if isinstance(part, Table))


# Words


def test_plain_words_say_now_then_the_first_alone_then_what_it_never_teaches_then_the_ladder(found) -> None:
    words = plain_words(found)
    assert re.match(
        r"thrust_gain of .* in one firing, as it stands: .* ± .* N, 19 times in 20 between", words[0]
    )
    assert "The chance of at least 1 N is" in words[0]
    assert re.search(
        r"alone, however many, narrow ± [\d.]+ N to ± [\d.]+ N \(sampling ± [\d.]+ N\)", words[1]
    )
    assert "can ever teach: if all that it shares" in words[2]
    assert "(water cross section and 60 % of the variance of the model's own error)" in words[2]
    assert "(6.3 % of the value by itself)" in words[2]  # √(exp(0.4 ln 1.01) − 1)
    assert words[3].startswith("On the way fire step ")
    assert "of the variance that firings of other designs can remove at all" in words[3]


def test_two_kinds_of_intervals_are_never_mixed(found) -> None:
    for words in (*plain_words(found), *rung_words(found, 1)):
        for match in re.finditer(r"± [\d.]+ N(?! \(sampling)(?=\D)", words):
            before = words[: match.start()]
            assert before.endswith(("narrow ", "where ", "sampling ")) or re.search(r"[\d.]+ $", before), (
                words
            )


def test_each_point_has_its_reasons(found) -> None:
    assert found.ladder is not None
    for number, rung in enumerate(found.ladder.rungs, start=1):
        first, *others = rung_words(found, number)
        assert first.startswith(f"Point {number} is {found.names[rung.design]}: ")
        assert "times small's size" in first
        assert "for the cost of" in first
        assert "teaches" in first
        assert any(words.startswith(f"From {'point' if number > 1 else 'small'}") for words in others)
        assert any("load_cell's range ends at 200 N" in words for words in others)
    assert "--cost-exponent sets another" in choice_words(found)
    assert (pinned := pinned_words(found)) is not None
    assert "water cross section to" in pinned


def test_one_study_twice_is_a_path_of_no_length_and_answered(same) -> None:
    words = " ".join(plain_words(same))
    assert "are one design: no number and no word differs" in words
    assert "has no length" in words
    assert "nothing to learn from scaling up" in words
    assert change_words(same)[0] == "No border is crossed."
    assert [s.title for s in sections(same)][:3] == [
        "From small 1 to small 2",
        "In plain words",
        "How far small 1 may be trusted",
    ]
    assert set(scaling_pictures(same)) == {"ladder"}
    assert point_studies(same, HEAD) == {}
    json.loads(json_text(scaling_content(same, plain_words(same))), parse_constant=pytest.fail)


def test_where_nothing_is_shared_that_is_said_with_what_to_do(apart) -> None:
    assert "share nothing" in never_words(apart)
    assert "`shared`" in never_words(apart)
    assert "teaches more about thrust_gain" in ladder_words(apart)
    assert "teach next to nothing about it" in plain_words(apart)[1]


def test_without_instruments_that_is_said(found) -> None:
    assert "lists no instrument" in ladder_words(replace(found, ladder=None))
    titles = [section.title for section in sections(replace(found, ladder=None))]
    assert "Which points to fire, and why" not in titles


def test_changes_name_quantity_threshold_place_and_source(found) -> None:
    words = change_words(found)
    counted = [change for change in found.changes if change.counts]
    assert len([w for w in words if w.startswith("At ")]) == len(counted)
    wall = next((w for w in words if "wall heat" in w and w.startswith("At ")), None)
    if wall is not None:
        assert "wall_heat_share below 0.5 times small's" in wall
        assert "(Border: half, chosen here.)" in wall
    assert words[-1].startswith("Looked at and not crossed: ")


def test_how_the_designs_were_made_is_told(found) -> None:
    words = " ".join(made_words(found))
    assert "by equal ratios" in words
    assert "rounded to four digits" in words
    assert switch_words(found) == ()
    left = replace(found, path=found.path.without({2: "it cannot be"}))
    assert "Step 2 is left out: it cannot be." in made_words(left)


# Tables


def test_the_interval_narrows_as_far_as_the_standard_uncertainty(found) -> None:
    now, *_, never = stages(found)
    assert now[0] == "now"
    assert never[0] == "if all that both share were known"
    lefts = [left for _, left, _ in stages(found)]
    assert lefts == sorted(lefts, reverse=True)
    low, high = interval(found, now[1])
    assert (low, high) == pytest.approx((float(found.trust.now.low.value), float(found.trust.now.high.value)))
    half = interval(found, 0.5 * now[1])
    assert half[1] - half[0] == pytest.approx(0.5 * (high - low))
    rows = table(found, "How far small may be trusted").rows
    assert [row[0] for row in rows] == [words for words, _, _ in stages(found)]
    assert all("(sampling ± " in row[1] for row in rows)


def test_every_design_has_a_row_and_points_are_marked(found) -> None:
    rows = table(found, "The designs on the way").rows
    assert len(rows) == len(found.names)
    assert [row[0].partition(", ")[0] for row in rows] == list(found.names)
    assert found.ladder is not None
    marked = [row[0] for row in rows if ", point " in row[0]]
    assert len(marked) == len(found.ladder.rungs)
    assert rows[0][5:] == ("", "", "")  # the ends are no candidates
    assert all(row[5] for row in rows[1:-1])


def test_the_page_has_both_parts_and_opens_offline(found) -> None:
    every = sections(found)
    assert [s.audience for s in every] == sorted((s.audience for s in every), key=lambda a: a == "reviewer")
    text = page(every)
    assert text.count("<svg>") == 2
    assert re.search(r"""(src|href)\s*=\s*["']?(https?:)?//""", text) is None
    pictures = [part for s in every for part in s.parts if isinstance(part, Picture)]
    assert all(picture.caption for picture in pictures)
    printed = text_of(sections(found, "everyone"))
    assert "CAUTION" in printed
    assert "rounded up from 2000" in printed
    assert max(map(len, printed.splitlines())) <= 90
    titles = [section.title for section in sections(found, "reviewer")]
    assert {"For a reviewer", "Sets of steps", "All borders, statuses and warnings", "Provenance"} <= set(
        titles
    )


# Data


def test_json_holds_the_ladder_without_words_that_json_does_not_have(found) -> None:
    content = json.loads(json_text(scaling_content(found, plain_words(found))), parse_constant=pytest.fail)
    assert content["target"] == {"quantity": "thrust_gain", "unit": "N", "of": found.names[-1]}
    assert found.ladder is not None
    assert [p["design"] for p in content["ladder"]["points"]] == [
        found.names[r.design] for r in found.ladder.rungs
    ]
    trust = content["trust"]
    assert trust["all_shared_known"]["value"] < trust["first_design_only"]["value"]
    assert trust["first_design_only"]["value"] < trust["now"]["standard_uncertainty"]["value"]
    assert [d["name"] for d in content["designs"]] == list(found.names)
    assert content["ways"]["channel.length"] == "by ratios"
    assert content["changes"] == [] or {"border", "quantity", "threshold", "place", "between"} <= set(
        content["changes"][0]
    )


def test_csv_files_hold_every_figure(found) -> None:
    path = pd.read_csv(io.StringIO(csv_text(path_rows(found))))
    assert list(dict.fromkeys(path["design"])) == list(found.names)
    gains = path[path["quantity"] == "thrust_gain"]
    np.testing.assert_allclose(
        gains["mean"], found.quantities.loc["thrust_gain"].xs("mean", level="figure").astype(float)
    )
    assert {"chance.ok", "past.wall heat", "interaction_parameter"} <= set(path["quantity"])
    ladder = pd.read_csv(io.StringIO(csv_text(ladder_rows(found))))
    assert found.ladder is not None
    assert len(ladder) == 3 + len(found.ladder.rungs) + len(found.ladder.candidates)
    assert ladder["known"].iloc[0] == "now"
    assert (ladder["left"] > 0).all()


def test_each_points_study_is_ready_to_run_and_says_what_it_is(found) -> None:
    texts = point_studies(found, HEAD)
    assert found.ladder is not None
    assert list(texts) == [f"point-{n}.toml" for n in range(1, len(found.ladder.rungs) + 1)]
    for text, rung in zip(texts.values(), found.ladder.rungs, strict=True):
        study = parse_study(text)
        assert study.study_hash == found.path.steps[rung.design - 1].study.study_hash
        assert study.title.startswith("Scale-up point")
        assert "kill" in text
        assert "not a permission" in text


def test_pictures_are_those_of_the_report(found) -> None:
    figures = scaling_pictures(found)
    assert set(figures) == {"ladder", "path"}
    assert len(figures["path"].axes) > 5
