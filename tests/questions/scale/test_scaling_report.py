"""A path as it is told: what the bench can never teach, steps with their reasons, changes, tables, JSON, files."""

import re
from dataclasses import replace

import numpy as np
import pytest
from questions.pages import csv_of, envelope_of, json_of, page_of, printed, sentences, table
from questions.scale.scaled import LARGE, READ, SMALL, UNSURE, scaled, small_and_large
from study.known_models import study_of
from study.texts import _BLOCKS, PLAIN

from explorer import Scaling, registry, scale
from explorer.page.answer import Answer
from explorer.page.document import Table
from explorer.questions.scale.answer import told
from explorer.questions.scale.ladder.ladder import Remedy
from explorer.studyfile import parse_study

CHANGES, MADE = "Where the regime changes", "How the designs were made"
STEPS = "Which steps to fire, and why"


@pytest.fixture(scope="module")
def found() -> Scaling:
    """A ladder that is worth climbing, for a firing of the end costs 729 of the first."""
    return scaled(cost_exponent=6.0)


@pytest.fixture(scope="module")
def plain() -> Scaling:
    """None is, for a firing of the end costs 9."""
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
    return scale(first, study_of({**inputs, "magnet.field": "0.6 ± 0.015 T"}, extra), steps=2, samples=4096)


def answer(found: Scaling) -> Answer:
    return told(found, envelope_of("scale", "small.toml", "large.toml"), asked=2000)


def words(found: Scaling, title: str = "In plain words") -> str:
    return sentences(answer(found), title)


def titles(found: Scaling, audience: str = "everyone") -> list[str]:
    return [section.title for section in answer(found).sections if section.audience == audience]


# Words


@pytest.mark.slow
def test_of_many_inputs_that_could_be_shared_the_weightiest_five_are_named(plain) -> None:
    ladder = plain.ladder
    assert ladder is not None
    tried = Remedy("shared", tuple(f"input.{letter}" for letter in "abcdefgh"), None)
    said = words(replace(plain, ladder=replace(ladder, remedies=(tried,))))
    assert (
        "with input.a, input.b, input.c, input.d, input.e and 3 others one and the same thing in all" in said
    )


def test_plain_words_say_now_then_the_first_alone_then_what_it_never_teaches_then_the_ladder(found) -> None:
    order = (
        r"IN PLAIN WORDS Before large is built, fire step \d",
        r"for the cost of [\d.]+ firings of small: with small's own firings before, ± [\d.]+ N",
        r"For each firing of small that it costs, that removes [\d.]+ % of the variance, and a firing of large",
        r"alone, however many, narrow ± [\d.]+ N to ± [\d.]+ N \(sampling ± [\d.]+ N\)",
        r"One firing of large itself after them, where small is fired, at 1.01 bar, leaves ± [\d.]+ N",
        r"for the cost of 730 firings of small",
        r"Thrust gain of large in one firing, as it stands: .* ± .* N, 19 times in 20 between",
        r"The chance of at least 1 N is",
        r"can teach: with all that it shares",
        r"\(water cross section and 60 % of the variance of the model's own error\)",
        r"\(6\.3 % of the value by itself\)",  # √(exp(0.4 ln 1.01) − 1)
        r"rounded up from 2000",
    )
    assert re.search(".*".join(order), words(found))


def test_where_no_ladder_pays_the_first_sentence_says_so_with_what_would_make_one_pay(plain, found) -> None:
    said = words(plain).removeprefix("IN PLAIN WORDS ")
    advice = "No ladder is worth climbing between small and large: fire small, then build large and fire it. "
    assert said.startswith(f"{advice}None would be worth it with ")
    first, _, rest = said.removeprefix(advice).partition(" either. ")
    for tried in ("load_cell or ammeter 10 times sharper", "one and the same thing in all designs"):
        assert tried in first
    assert re.match("Firings of small alone", rest)
    assert re.search(
        r"This set comes nearest to paying: step \d, for the cost of [\d.]+ firings of small, leaves", rest
    )
    assert re.search(r"pay if a firing of large cost more than \d+ firings of small, instead of 9\.", rest)
    assert plain.ladder is not None
    assert plain.ladder.plan is not None
    even = re.search(r"more than (\d+) firings", rest)
    assert even
    assert float(even[1]) == pytest.approx(  # where both remove the same for their cost
        plain.ladder.plan.cost * float(plain.ladder.fired.removed) / float(plain.ladder.plan.removed),
        rel=0.05,
    )
    helped = replace(found.ladder, plan=found.ladder.plan, remedies=())
    assert helped.climb == "worth climbing"
    remedies = (Remedy("sharper", ("load_cell",), found.ladder.plan), *plain.ladder.remedies)
    other = words(replace(plain, ladder=replace(plain.ladder, remedies=remedies)))
    assert re.search(r"; one would be with load_cell 10 times sharper \(then step \d, leaving ± ", other)
    assert "Why no step is fired" in titles(plain)
    assert "to the power of 2 (assumed:" in words(plain, "Why no step is fired")
    assert STEPS not in titles(plain)
    assert not [name for name in answer(plain).files if name.endswith(".toml")]


def test_sets_that_are_as_good_are_called_so(found) -> None:
    assert found.ladder is not None
    assert found.ladder.level
    assert re.search(
        r"other sets? (is|are) as good within the sampling error or the worth of a step: ", words(found)
    )
    assert "as good" not in words(replace(found, ladder=replace(found.ladder, level=())))


def _rows(own: Table) -> list[tuple[str, tuple[str, ...]]]:
    return [(row[0], row[1:]) for row in own.rows]


@pytest.mark.slow
def test_a_build_table_holds_every_input_and_word_in_which_designs_differ() -> None:
    text = PLAIN.replace('[magnet]\nfield = "0.48 T"\n', _BLOCKS)
    field = {a: v for a, v in UNSURE.items() if a != "magnet.field"}
    small = study_of({**field, **SMALL}, READ, text.replace("Invented, for tests", "small"))
    blocks = {
        "magnet.blocks.spacing": "70 mm",
        "magnet.blocks.length": "210 mm",
        "magnet.blocks.height": "120 mm",
    }
    large = study_of(
        {**field, **LARGE, **blocks, "gas.seed": "cesium carbonate"},
        READ,
        text.replace("Invented, for tests", "large"),
    )
    found = scale(small, large, steps=2, samples=2048, cost_exponent=8.0)
    assert found.ladder is not None
    assert found.ladder.rungs
    parts = [part for own in answer(found).sections if own.title == STEPS for part in own.parts]
    tables = [part for part in parts if isinstance(part, Table)]  # several, where one would be too wide
    rows = {
        row[0]: tuple(cell for own in tables for cell in dict(_rows(own))[row[0]]) for row in tables[0].rows
    }
    assert rows["seed"][0] == "potassium carbonate"
    assert rows["seed"][-1] == "cesium carbonate"
    spacing = rows["magnet block spacing [mm]"]
    assert (spacing[0], spacing[-1]) == ("24", "70")
    one, two = small.central(), large.central()
    differ = {a for a in {*one, *two} if one.get(a) != two.get(a)}
    assert {row.partition(" [")[0] for row in rows if row} >= {*map(registry.words_of, differ), "seed"}
    assert "mixture ratio" not in rows


def test_two_kinds_of_intervals_are_never_mixed(found) -> None:
    for said in (words(found), words(found, STEPS)):
        for match in re.finditer(r"± [\d.]+ N(?! \(sampling)(?=\D)", said):
            before = said[: match.start()]
            assert before.endswith(("narrow ", "of ", "sampling ")) or re.search(r"[\d.]+ $", before), said


def test_each_point_has_its_reasons(found) -> None:
    assert found.ladder is not None
    whole = words(found, STEPS)
    for number, rung in enumerate(found.ladder.rungs, start=1):
        after = [f"{own.design.name.capitalize()}, " for own in found.ladder.rungs[number:]]
        said = whole[whole.index(f"{rung.design.name.capitalize()}, ") :]
        said = said.partition(after[0])[0] if after else said
        assert "times small's size" in said
        assert re.search(r"costs [\d.]+ firings of small", said)
        assert "teaches" in said
        before = found.ladder.rungs[number - 2].design.name if number > 1 else "small"
        assert f"From {before} to it" in said
        assert "load_cell's range ends at 200 N" in said
    assert "to the power of 6. The set" in whole
    assert "--worth sets another" in whole
    assert "All are computed where small is fired, at 1.01 bar." in whole
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


@pytest.mark.slow
def test_where_nothing_is_shared_that_is_said_with_what_to_do(apart) -> None:
    said = words(apart)
    assert re.search(r"share nothing.*`shared`", said)
    assert said.removeprefix("IN PLAIN WORDS ").startswith("No ladder is worth climbing")
    assert "teach next to nothing about it" in said


def test_without_instruments_that_is_said(found) -> None:
    without = replace(found, ladder=None)
    assert "lists no instrument" in words(without)
    assert STEPS in titles(found)
    assert STEPS not in titles(without)


def test_changes_name_quantity_threshold_place_and_source(found) -> None:
    said = words(found, CHANGES)
    counted = [change for change in found.changes if change.counts]
    assert len(re.findall(r"At \S+ times small's size \(", said)) == len(counted)
    if any(change.border.name == "wall heat" for change in counted):
        assert "wall heat share below 0.5 times small's" in said
        assert "(Boundary: half, chosen here.)" in said
    assert "Looked at and not crossed: " in said
    none = words(replace(found, changes=()), CHANGES)
    assert "No regime boundary is crossed." in none


def test_how_the_designs_were_made_is_told(found) -> None:
    said = words(found, MADE)
    assert "by equal ratios" in said
    assert "rounded to four digits" in said
    assert "Half-way" not in words(found, CHANGES)
    left = replace(found, path=found.path.without({2: "it cannot be"}))
    assert "Step 2 is left out: it cannot be." in words(left, MADE)
    assert "an altitude cell" in said
    assert answer(left).envelope["warnings"] == ["step 2 is left out: it cannot be"]


# Tables


def test_the_interval_narrows_as_far_as_the_standard_uncertainty(found) -> None:
    now, *_, never, last = found.stages
    assert now.words == "now"
    assert never.words == "if all shared were known"
    assert last.words == "after large itself"
    lefts = [float(stage.left) for stage in found.stages[:-1]]
    assert float(last.left) < lefts[1]
    assert lefts == sorted(lefts, reverse=True)
    low, high = found.narrowed(now.left)
    assert (low, high) == pytest.approx((float(found.trust.now.low), float(found.trust.now.high)))
    half = found.narrowed(replace(now.left, value=0.5 * now.left.value))
    assert half[1] - half[0] == pytest.approx(0.5 * (high - low))
    rows = table(answer(found), "How far small may be trusted")[1:]
    assert [row[0] for row in rows] == [stage.words for stage in found.stages]
    assert all("(sampling ± " in row[2] for row in rows)
    assert found.ladder is not None
    costs = np.cumsum([rung.design.cost for rung in found.ladder.rungs])
    assert [row[1] for row in rows] == ["", "1 each", *(f"{cost:.2g}" for cost in costs), "", "730"]


def test_every_design_has_a_row_and_steps_to_fire_are_marked(found) -> None:
    rows = table(answer(found), "The designs on the way")[1:]
    assert len(rows) == len(found.names)
    assert [row[0].partition(", ")[0] for row in rows] == list(found.names)
    assert found.ladder is not None
    marked = [row[0] for row in rows if row[0].endswith(", to fire")]
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
    assert [line for line in lines if len(line) > 90] == []
    second = {"For a reviewer", "Sets of steps", "All regime boundaries, statuses and warnings", "Provenance"}
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
    steps = content["ladder"]["steps"]
    assert [step["design"] for step in steps] == [rung.design.name for rung in found.ladder.rungs]
    assert content["ladder"]["climb"] == "worth climbing"
    assert content["ladder"]["best_set"]["gain"]["value"] > 0
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
    assert len(ladder) == 4 + len(found.ladder.rungs) + len(found.ladder.candidates)
    assert ladder[0]["known"] == "now"
    assert all(float(row["left"]) > 0 for row in ladder)


def test_each_steps_study_is_ready_to_run_and_says_what_it_is(found) -> None:
    texts = {name: text for name, text in answer(found).files.items() if name.endswith(".toml")}
    assert found.ladder is not None
    assert list(texts) == [f"{rung.design.name.replace(' ', '-')}.toml" for rung in found.ladder.rungs]
    for text, rung in zip(texts.values(), found.ladder.rungs, strict=True):
        study = parse_study(text)
        assert study.study_hash == rung.design.study.study_hash
        assert study.title.startswith("Scale-up step")
        assert "kill" in text
        assert "not a permission" in text
