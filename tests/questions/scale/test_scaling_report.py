"""A path as it is told: what the bench can never teach, points with their reasons, changes, tables, JSON, files."""

import re
from dataclasses import replace

import numpy as np
import pytest
from questions.pages import csv_of, envelope_of, json_of, page_of, printed, sentences, table
from questions.scale.scaled import READ, SMALL, UNSURE, scaled, small_and_large
from study.known_models import study_of

from explorer import Scaling, scale
from explorer.page.answer import Answer
from explorer.questions.scale.answer import told
from explorer.studyfile import parse_study

CHANGES, MADE = "Where the regime changes", "How the designs were made"
POINTS = "Which points to fire, and why"


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


def answer(found: Scaling) -> Answer:
    return told(found, envelope_of("scale", "small.toml", "large.toml"), asked=2000)


def words(found: Scaling, title: str = "In plain words") -> str:
    return sentences(answer(found), title)


def titles(found: Scaling, audience: str = "everyone") -> list[str]:
    return [section.title for section in answer(found).sections if section.audience == audience]


# Words


def test_plain_words_say_now_then_the_first_alone_then_what_it_never_teaches_then_the_ladder(found) -> None:
    order = (
        r"thrust_gain of large in one firing, as it stands: .* ± .* N, 19 times in 20 between",
        r"The chance of at least 1 N is",
        r"alone, however many, narrow ± [\d.]+ N to ± [\d.]+ N \(sampling ± [\d.]+ N\)",
        r"can ever teach: if all that it shares",
        r"\(water cross section and 60 % of the variance of the model's own error\)",
        r"\(6\.3 % of the value by itself\)",  # √(exp(0.4 ln 1.01) − 1)
        r"On the way fire step ",
        r"of the variance that firings of other designs can remove at all",
        r"rounded up from 2000",
    )
    assert re.search(".*".join(order), words(found))


def test_two_kinds_of_intervals_are_never_mixed(found) -> None:
    for said in (words(found), words(found, POINTS)):
        for match in re.finditer(r"± [\d.]+ N(?! \(sampling)(?=\D)", said):
            before = said[: match.start()]
            assert before.endswith(("narrow ", "where ", "sampling ")) or re.search(r"[\d.]+ $", before), said


def test_each_point_has_its_reasons(found) -> None:
    assert found.ladder is not None
    whole = words(found, POINTS)
    for number, rung in enumerate(found.ladder.rungs, start=1):
        said = whole[whole.index(f"Point {number} is {rung.design.name}: ") :].partition(
            f"Point {number + 1} is"
        )[0]
        assert "times small's size" in said
        assert "for the cost of" in said
        assert "teaches" in said
        assert f"From {f'point {number - 1}' if number > 1 else 'small'} to it" in said
        assert "load_cell's range ends at 200 N" in said
    assert "--cost-exponent sets another" in whole
    assert re.search(r"pin down of what both designs share.*water cross section to", whole)


def test_one_study_twice_is_a_path_of_no_length_and_answered(same) -> None:
    said = words(same)
    assert "are one design: no number and no word differs" in said
    assert "has no length" in said
    assert "nothing to learn from scaling up" in said
    assert titles(same)[:4] == [
        "From small 1 to small 2",
        "In plain words",
        "How far small 1 may be trusted",
        "Caution",
    ]
    assert [picture.name for picture in answer(same).pictures] == ["ladder"]
    assert set(answer(same).files) == {"path.csv", "ladder.csv"}
    assert json_of(answer(same))["changes"] == []


def test_where_nothing_is_shared_that_is_said_with_what_to_do(apart) -> None:
    said = words(apart)
    assert re.search(r"share nothing.*`shared`", said)
    assert "teaches more about thrust_gain" in said
    assert "teach next to nothing about it" in said


def test_without_instruments_that_is_said(found) -> None:
    without = replace(found, ladder=None)
    assert "lists no instrument" in words(without)
    assert POINTS in titles(found)
    assert POINTS not in titles(without)


def test_changes_name_quantity_threshold_place_and_source(found) -> None:
    said = words(found, CHANGES)
    counted = [change for change in found.changes if change.counts]
    assert len(re.findall(r"At \S+ times small's size \(", said)) == len(counted)
    if any(change.border.name == "wall heat" for change in counted):
        assert "wall_heat_share below 0.5 times small's" in said
        assert "(Border: half, chosen here.)" in said
    assert "Looked at and not crossed: " in said
    none = words(replace(found, changes=()), CHANGES)
    assert "No border is crossed." in none


def test_how_the_designs_were_made_is_told(found) -> None:
    said = words(found, MADE)
    assert "by equal ratios" in said
    assert "rounded to four digits" in said
    assert "Half-way" not in words(found, CHANGES)
    left = replace(found, path=found.path.without({2: "it cannot be"}))
    assert "Step 2 is left out: it cannot be." in words(left, MADE)
    assert answer(left).envelope["warnings"] == ["step 2 is left out: it cannot be"]


# Tables


def test_the_interval_narrows_as_far_as_the_standard_uncertainty(found) -> None:
    now, *_, never = found.stages
    assert now.words == "now"
    assert never.words == "if all that both share were known"
    lefts = [float(stage.left) for stage in found.stages]
    assert lefts == sorted(lefts, reverse=True)
    low, high = found.narrowed(now.left)
    assert (low, high) == pytest.approx((float(found.trust.now.low), float(found.trust.now.high)))
    half = found.narrowed(replace(now.left, value=0.5 * now.left.value))
    assert half[1] - half[0] == pytest.approx(0.5 * (high - low))
    rows = table(answer(found), "How far small may be trusted")[1:]
    assert [row[0] for row in rows] == [stage.words for stage in found.stages]
    assert all("(sampling ± " in row[1] for row in rows)


def test_every_design_has_a_row_and_points_are_marked(found) -> None:
    rows = table(answer(found), "The designs on the way")[1:]
    assert len(rows) == len(found.names)
    assert [row[0].partition(", ")[0] for row in rows] == list(found.names)
    assert found.ladder is not None
    marked = [row[0] for row in rows if ", point " in row[0]]
    assert len(marked) == len(found.ladder.rungs)
    assert rows[0][5:] == ("", "", "")  # the ends are no candidates
    assert all(row[5] for row in rows[1:-1])


def test_the_page_has_both_parts_and_opens_offline(found) -> None:
    every = answer(found).sections
    assert [s.audience for s in every] == sorted((s.audience for s in every), key=lambda a: a == "reviewer")
    text = page_of(answer(found))
    assert text.count('<svg role="img"') == 2
    assert re.search(r"""(src|href)\s*=\s*["']?(https?:)?//""", text) is None
    assert all(picture.caption for picture in answer(found).pictures)
    lines = printed(answer(found)).splitlines()
    assert "CAUTION" in lines
    assert max(map(len, lines)) <= 90
    second = {"For a reviewer", "Sets of steps", "All borders, statuses and warnings", "Provenance"}
    assert second <= set(titles(found, "reviewer"))


def test_at_a_prompt_a_scaling_is_a_short_table(found) -> None:
    lines = repr(found).splitlines()
    assert lines[0].startswith("Scaling from small to large over 4 designs: thrust_gain")
    assert len(lines) == 2 + len(found.stages)
    assert re.match(r"  now +\S+ N +\S+ and \S+ N", lines[2])
    assert found._repr_html_().count("<tr>") == len(lines) - 1
    with pytest.raises(ValueError, match='"ladder" and "path"; got "way"'):
        found.plot("way")


# Data


def test_json_holds_the_ladder_without_words_that_json_does_not_have(found) -> None:
    content = json_of(answer(found))
    assert content["target"] == {"quantity": "thrust_gain", "unit": "N", "of": found.names[-1]}
    assert found.ladder is not None
    points = content["ladder"]["points"]
    assert [point["design"] for point in points] == [rung.design.name for rung in found.ladder.rungs]
    trust = content["trust"]
    assert trust["all_shared_known"]["value"] < trust["first_design_only"]["value"]
    assert trust["first_design_only"]["value"] < trust["now"]["standard_uncertainty"]["value"]
    assert [d["name"] for d in content["designs"]] == list(found.names)
    assert content["ways"]["channel.length"] == "by ratios"
    assert content["changes"] == [] or {"border", "quantity", "threshold", "place", "between"} <= set(
        content["changes"][0]
    )


def test_csv_files_hold_every_figure(found) -> None:
    path = csv_of(answer(found), "path.csv")
    assert list(dict.fromkeys(row["design"] for row in path)) == list(found.names)
    gains = [float(row["mean"]) for row in path if row["quantity"] == "thrust_gain"]
    np.testing.assert_allclose(
        gains, found.quantities.loc["thrust_gain"].xs("mean", level="figure").astype(float)
    )
    assert {"chance.ok", "past.wall heat", "interaction_parameter"} <= {row["quantity"] for row in path}
    ladder = csv_of(answer(found), "ladder.csv")
    assert found.ladder is not None
    assert len(ladder) == 3 + len(found.ladder.rungs) + len(found.ladder.candidates)
    assert ladder[0]["known"] == "now"
    assert all(float(row["left"]) > 0 for row in ladder)


def test_each_points_study_is_ready_to_run_and_says_what_it_is(found) -> None:
    texts = {name: text for name, text in answer(found).files.items() if name.endswith(".toml")}
    assert found.ladder is not None
    assert list(texts) == [f"point-{n}.toml" for n in range(1, len(found.ladder.rungs) + 1)]
    for text, rung in zip(texts.values(), found.ladder.rungs, strict=True):
        study = parse_study(text)
        assert study.study_hash == rung.design.study.study_hash
        assert study.title.startswith("Scale-up point")
        assert "kill" in text
        assert "not a permission" in text
