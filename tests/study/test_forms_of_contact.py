"""Chances of forms of contact: limited, wished for and compared by every command under one name."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm
from study.known_models import STUDIES
from study.texts import PLAIN

from explorer import compare, optimize, propagate, read_study, registry
from explorer.run import Evaluated
from explorer.study.contrasts import share_difference, share_of
from explorer.study.limits import contact_told, contacts_of, event, outputs_read
from explorer.studyfile import Limit, StudyError, parse_study

NONE, SPARK, DIFFUSE, ARC = range(4)


def conducting(values):
    """A pair that arcs where a normal quantity exceeds x, is dark below minus one and diffuse between."""
    z = values["z"] - values["x"]
    form = np.where(z > 0, ARC, np.where(values["z"] < -1.0, NONE, DIFFUSE))
    return {"contact": form.astype(float), "gain": values["x"] + 0.0 * z}


def found(**forms):
    """Points with these forms of contact by pair."""
    columns = {f"electrodes.{pair}.contact": np.array([own], dtype=float) for pair, own in forms.items()}
    size = len(next(iter(forms.values())))
    return Evaluated(columns, np.zeros((1, size), np.int8), np.zeros((1, size), np.uint32))


def test_a_form_of_some_pair_is_found_where_any_has_it_and_of_one_pair_where_that_has() -> None:
    points = found(front=[ARC, DIFFUSE, NONE], rear=[DIFFUSE, DIFFUSE, ARC])
    assert event(points, "chance.arc").tolist() == [[True, False, True]]
    assert event(points, "chance.electrodes.front.arc").tolist() == [[True, False, False]]
    assert event(points, "chance.electrodes.rear.none").tolist() == [[False, False, False]]


def test_a_chance_is_told_from_the_outputs_that_hold_the_forms_of_contact() -> None:
    assert outputs_read("chance.arc", ("front", "rear")) == (
        "electrodes.front.contact",
        "electrodes.rear.contact",
    )
    assert outputs_read("chance.electrodes.rear.arc", ("front", "rear")) == ("electrodes.rear.contact",)
    assert outputs_read("chance.arc", ()) == ("contact",)
    assert outputs_read("chance.constricted", ("main",)) == ()
    assert outputs_read("current", ("main",)) == ("current",)


def test_a_limit_on_an_arc_ends_at_the_value_that_its_known_chance_allows() -> None:
    """The chance is that of a standard normal beyond x: 10 % from x = 1.2816 on."""
    best = optimize(
        conducting,
        {"x": "0 .. 3"},
        inputs={"z": "0 ± 1"},
        wanted=("gain", "smallest"),
        limits=[{"quantity": "chance.arc", "at_most": 0.1}],
        rng=1,
    ).best
    assert best is not None
    (limit, _) = best.limits
    x = best.setting["x"]
    assert limit.verdict == "met"
    assert x == pytest.approx(norm.isf(0.1), abs=0.06)
    assert limit.chance.share == pytest.approx(norm.sf(x), abs=4 * np.sqrt(0.09 / limit.chance.points))


def test_a_wish_for_few_arcs_finds_where_they_are_fewest_and_says_their_known_chance() -> None:
    best = optimize(
        conducting,
        {"x": "0 .. 2"},
        inputs={"z": "0 ± 1"},
        wanted=("chance.arc", "smallest"),
        limits=[{"quantity": "gain", "at_most": 1.0, "chance": 0.5}],
        rng=1,
    ).best
    assert best is not None
    assert best.setting["x"] == pytest.approx(1.0, abs=0.01)
    assert float(best.wishes[0].expected) == pytest.approx(
        norm.sf(1.0), abs=4 * best.wishes[0].expected.error
    )


@pytest.mark.parametrize(
    ("quantity", "said"),
    [
        ("chance.arcs", 'did you mean "chance.arc"?'),
        ("chance.glow", "known: ok, no_contact, choked"),
        ("chance.electrodes.main.glow", "known: none, spark, diffuse, arc"),
        ("chance.electrodes.rear.arc", 'the study has no pair "rear" (it has main)'),
    ],
)
def test_what_is_no_form_of_contact_is_refused_in_a_sentence(quantity, said) -> None:
    limit = f'\n[[limit]]\nquantity = "{quantity}"\nat_most = 0.1\n'
    with pytest.raises(StudyError) as refused:
        parse_study(PLAIN + limit)
    assert said in str(refused.value)
    assert "\n" not in str(refused.value)


def test_a_callable_is_refused_warnings_that_it_does_not_give_and_unknown_forms() -> None:
    for quantity, said in {
        "chance.constricted": "a callable gives statuses and forms of contact",
        "chance.glow": "is no status",
    }.items():
        with pytest.raises(StudyError, match=said):
            optimize(
                conducting,
                {"x": "0 .. 2"},
                inputs={"z": "0 ± 1"},
                wanted=("gain", "smallest"),
                limits=[{"quantity": quantity, "at_most": 0.1}],
            )


def test_a_chance_is_no_target() -> None:
    with pytest.raises(StudyError, match="is a chance"):
        parse_study(PLAIN.replace('"thrust_gain"', '"chance.arc"'))


def test_a_chance_is_known_by_its_words_and_bounds() -> None:
    arc = registry.quantity("chance.electrodes.main.arc")
    assert arc.words == "chance of an arc at the main pair"
    assert registry.words_of("chance.none") == "no contact"
    assert registry.quantity("chance.constricted").words == 'chance of "constricted"'
    assert arc.bounds_words() == "between 0 % and 100 %"


def test_a_share_differs_only_beyond_what_repeats_scatter() -> None:
    marks = np.zeros((8, 1000), dtype=bool)
    marks[:, :300] = True
    more = marks.copy()
    more[:, 300:340] = True
    every = np.ones_like(marks)
    apart = share_difference(share_of(more, every), share_of(marks, every))
    assert (float(apart.share), apart.verdict) == (pytest.approx(0.04), "larger")
    assert share_difference(share_of(marks, every), share_of(more, every)).verdict == "smaller"
    assert share_difference(share_of(marks, every), share_of(marks, every)).verdict == "the same"
    noisy = marks.copy()
    noisy[::2, 300:310], noisy[1::2, 290:300] = True, False
    assert share_difference(share_of(noisy, every), share_of(marks, every)).verdict == "not told apart"


@pytest.fixture(scope="module")
def cold():
    return read_study(STUDIES / "cold-electrodes.toml")


def test_forms_are_told_where_they_are_worked_out_and_add_up(cold) -> None:
    assert contact_told(cold) == ("main",)
    assert contact_told(parse_study(PLAIN)) == ()
    (shares,) = contacts_of(cold, found(main=[ARC, DIFFUSE, DIFFUSE, NONE])).values()
    assert {form: float(share) for form, share in shares.items()} == {
        "diffuse": 0.5,
        "none": 0.25,
        "arc": 0.25,
        "spark": 0.0,
    }
    assert next(iter(shares)) == "diffuse"


def test_more_voltage_strikes_more_arcs_and_the_difference_is_real(cold) -> None:
    """The chance of an arc is that of the warning of one, which is told by another way through the model."""
    told = compare(
        [cold, cold.replaced({"electrodes.main.source.voltage": "300 V"})], rng=1, samples=2048, jobs=2
    )
    row = told.contact_differences.loc["chance.electrodes.main.arc"]
    other = told.names[1]
    assert row[(other, "verdict")] == "larger"
    arcs = told.contacts.loc["chance.electrodes.main.arc"]
    assert row[(other, "share")] == pytest.approx(arcs[(other, "share")] - arcs[(told.names[0], "share")])
    warned = told.warnings.loc["constricted"]
    assert arcs[(other, "share")] == pytest.approx(warned[(other, "share")], abs=2e-3)
    assert told.contacts[(other, "share")].sum() == pytest.approx(1.0)


def test_a_limit_on_an_arc_is_judged_by_propagate_on_the_stage(cold) -> None:
    study = cold.replaced({"electrodes.main.source.voltage": "300 V"})
    asked = replace(study, limits=(Limit("chance.arc", at_most=0.05, chance=None),))
    events = propagate(asked, samples=1024, rng=1, jobs=2).events
    assert events is not None
    (judged,) = events.limits
    assert judged.verdict == "not met"
    assert float(judged.chance) == pytest.approx(float(events.contacts["main"]["arc"]), abs=1e-3)
