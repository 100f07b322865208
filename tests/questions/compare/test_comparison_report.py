"""A comparison as it is told: real differences first, every border, every limit, missing numbers said, data whole."""

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from questions.conftest import STUDIES
from questions.pages import csv_of, envelope_of, json_of, page_of, printed, sentences, table

from explorer import Comparison, compare, registry
from explorer.analysis.scrambles import Estimate
from explorer.page.answer import Answer
from explorer.page.text import WIDTH
from explorer.questions.compare.answer import told
from explorer.questions.compare.blocks import block
from explorer.study.limits import Judged
from explorer.studyfile import Limit, Study, read_study

ENVELOPE = envelope_of("compare", "bench.toml", "sounding.toml")
BANNED = ("sobol", "index", "indices", "variance", "shapley", "posterior", "scramble", "pareto", "desirab")
REAL = "Which differences are real"


def studies(*names: str) -> list[Study]:
    return [read_study(STUDIES / f"{name}.toml") for name in names]


@pytest.fixture(scope="module")
def found() -> Comparison:
    return compare(studies("bench", "sounding"), samples=2048)


@pytest.fixture(scope="module")
def mixed() -> Comparison:
    return compare(studies("bench", "bench-extraction"), samples=2048)


@pytest.fixture(scope="module")
def four() -> Comparison:
    return compare(studies("bench", "two-pair", "sounding", "bench-extraction"), samples=1024)


@pytest.fixture(scope="module")
def failing() -> Comparison:
    (bench,) = studies("bench")
    return compare([bench, bench.replaced({"channel.gap_out": "7 mm"})], samples=1024)


def answer(found: Comparison, asked: int | None = None) -> Answer:
    return told(found, ENVELOPE, asked=asked)


def words(found: Comparison, title: str = "In plain words") -> str:
    return sentences(answer(found), title)


def exact(value: float, error: float = 0.0) -> Estimate:
    return Estimate(*map(np.asarray, (value, error, value - error, value + error)), np.full(8, value))


def changed(rows: Mapping[str, Any], which: tuple[str, ...] | None, **figures: Any) -> dict[str, Any]:
    """Rows, some of them (or all) with other figures."""
    figures = {
        name: exact(x) if isinstance(x, float) and name != "missing" else x for name, x in figures.items()
    }
    names = rows if which is None else which
    return {row: replace(own, **figures) if row in names else own for row, own in rows.items()}


def with_difference(found: Comparison, *rows: str, **figures: Any) -> Comparison:
    """The comparison with other figures of some differences of the second design, or of all of them."""
    first, second, *more = found.designs
    other = changed(second.differences, rows or None, **figures)
    return replace(found, designs=(first, replace(second, differences=other), *more))


def with_figures(found: Comparison, *rows: str, design: int | None = None, **figures: Any) -> Comparison:
    """The comparison with other figures of some quantities in one design or all."""
    return replace(
        found,
        designs=tuple(
            replace(own, figures=changed(own.figures, rows, **figures)) if design in (None, place) else own
            for place, own in enumerate(found.designs)
        ),
    )


# Words


def test_the_first_sentence_says_which_differences_are_real(found: Comparison) -> None:
    other = with_difference(found, verdict="not told apart")
    other = with_difference(
        other, "thrust_gain", low=3.049, high=5.923, standard_uncertainty=0.73, verdict="larger"
    )
    other = with_difference(
        other, "thrust", low=-2.0, high=-1.0, standard_uncertainty=0.25, verdict="smaller"
    )
    other = with_difference(other, "current", verdict="not decided")
    other = with_difference(other, "electrical_power", verdict="the same")
    # Of one of them the magnet's mass is not known.
    other = with_difference(other, "stage_mass", "thrust_gain_per_mass", verdict="")
    assert words(other).startswith(
        "IN PLAIN WORDS sounding against bench, one firing of each, 19 times in 20. Larger: thrust gain by 3.05 to"
        " 5.92 N. Smaller: thrust by 1.00 to 2.00 N. Not told apart (each may be zero): relative thrust gain,"
        " thrust per power and exit pressure change. The same: electrical power. Not decided (more samples could bring"
        " zero in or keep it out): current."
    )


def test_where_nothing_is_real_it_says_so(found: Comparison) -> None:
    said = words(with_difference(found, verdict="not told apart"))
    assert "No difference is real." in said
    assert "Really" not in said


def test_a_difference_without_doubt_is_told_by_its_size_alone(found: Comparison) -> None:
    sure = with_difference(
        found, "thrust_gain", low=2.0, high=2.0, standard_uncertainty=0.0, verdict="larger"
    )
    assert "thrust gain by 2 N," in words(sure)


def test_chance_of_contact_comes_first_and_then_firings_that_make_contact(mixed: Comparison) -> None:
    assert re.match(
        r"IN PLAIN WORDS Current may not flow through the gas at all\. Chance of contact: bench 100 % and"
        r" bench-extraction 6\d\.\d % \(sampling ± 0\.\d %\)\."
        r" bench-extraction against bench, the same hardware with a change, in one firing that makes contact, 19 times"
        r" in 20\.",
        words(mixed),
    )
    assert "All firings together, those without contact too, say the same." in words(mixed)


def test_all_firings_are_told_apart_where_they_say_something_else(mixed: Comparison) -> None:
    given, _, every = words(with_difference(mixed, verdict="not told apart")).partition(
        " bench-extraction against bench, all firings together, those without contact too"
    )
    assert "Smaller: thrust gain" in given
    assert "Not told apart (each may be zero): thrust gain" in every


def test_too_few_firings_that_make_contact_in_both_are_said(mixed: Comparison) -> None:
    first, second = mixed.designs
    given = changed(second.differences_given_contact, None, verdict="")
    few = replace(mixed, designs=(first, replace(second, differences_given_contact=given)))
    assert (
        "bench-extraction against bench, the same hardware with a change, in one firing that makes contact: too few of"
        " them to tell a difference from. bench-extraction against bench, all firings"
    ) in words(few)
    assert "of firings that make contact in both: too few of them to tell a difference from." in words(
        few, REAL
    )


def test_two_designs_of_which_neither_is_unsure_of_contact_are_told_once(four: Comparison) -> None:
    assert "sounding against bench, one firing of each, 19 times in 20." in words(four)
    assert (
        "bench-extraction against bench, the same hardware with a change, in one firing that makes"
        in words(four)
    )


def test_contact_is_mentioned_where_it_is_not_sure(found: Comparison, mixed: Comparison) -> None:
    assert "contact" not in words(found)
    sure = replace(mixed, designs=tuple(replace(own, contact=exact(1.0)) for own in mixed.designs))
    assert "contact" not in words(sure)


def test_what_is_drawn_once_and_what_might_be_is_said(found: Comparison) -> None:
    assert (
        "Drawn once for both: water cross section. Everything else is drawn apart for each design. 5 uncertain inputs"
        " are stated alike and yet drawn apart: if"
    ) in words(found)
    nothing = words(replace(found, shared={}, apart=()))
    assert "Nothing is shared. Everything else is drawn apart for each design. From 2048 points" in nothing
    many = replace(found, apart=tuple("abcdef"))
    assert "6 uncertain inputs are stated alike and yet drawn apart: if" in words(many)


def test_the_same_study_twice_is_said(failing: Comparison) -> None:
    assert "say the same" not in words(failing)
    first, second = failing.designs
    twice = replace(failing, designs=(first, replace(second, study=first.study)))
    said = words(twice)
    assert "bench and gap at the outlet = 7 mm say the same and are one rig, so that only scatter" in said
    apart = words(replace(twice, rigs=()))
    assert "bench and gap at the outlet = 7 mm say the same: they differ only" in apart


def test_points_without_numbers_are_counted_by_design(failing: Comparison, found: Comparison) -> None:
    assert "Some points carry no number" not in words(found)
    assert re.search(
        r"Some points carry no number: \d+ % of gap at the outlet = 7 mm\. They are left out", words(failing)
    )
    (warning,) = answer(failing).envelope["warnings"]
    assert warning in words(failing)


def test_modes_that_differ_are_said(mixed: Comparison, found: Comparison) -> None:
    modes = "The designs work in different modes: bench in acceleration and bench-extraction in extraction."
    assert modes in sentences(answer(mixed))
    assert "different modes" not in sentences(answer(found))


def test_size_and_sampling_are_told_with_what_was_asked(found: Comparison) -> None:
    said = sentences(answer(found, 2000), "In plain words")
    assert (
        "From 2048 points (rounded up from 2000), the same for all designs, in 8 independent repeats." in said
    )
    assert "(rounded" not in sentences(answer(found, 2048))
    ratios = [
        (frame[name][f"{figure}_standard_error"] / frame[name]["standard_uncertainty"]).astype(float).max()
        for frame in (found.quantities, found.differences)
        for name in frame.columns.unique("design")
        for figure in ("mean", "low", "high")
    ]
    most = float(re.search(r"by more than (\S+) % of", said)[1]) / 100
    assert max(ratios) <= most <= 2 * max(ratios)  # rounded up


def test_designs_whose_magnet_nobody_weighed_are_named(found: Comparison) -> None:
    masses = ("stage_mass", "thrust_gain_per_mass")
    weighed = words(with_figures(found, *masses, mean=3.0), "What it weighs")
    assert "not known" not in weighed
    assert "supply mass" not in weighed
    assert re.search(r"stage mass \[kg\] .* thrust gain per mass", weighed)
    unweighed = words(with_figures(found, *masses, mean=np.nan), "What it weighs")
    assert "The magnet's mass is not known for bench and sounding, so neither is the stage's" in unweighed
    assert "supply mass [kg]" in unweighed
    assert "stage mass" not in unweighed


# Borders and similarity


def with_shares(found: Comparison, border: str, *shares: float, **side: float) -> Comparison:
    """All designs far on one side of every border, but for one border; there `side` is the last one's."""
    designs = []
    for own, share in zip(found.designs, shares, strict=True):
        sides = {name: each._replace(share=exact(0.0)) for name, each in own.sides.items()}
        sides[border] = sides[border]._replace(share=exact(share, 0.002))
        designs.append(replace(own, sides=sides))
    last = designs[-1].sides
    designs[-1] = replace(designs[-1], sides={**last, border: last[border]._replace(**side)})
    return replace(found, designs=tuple(designs))


def test_what_changes_regime_is_said_with_the_border_its_source_and_each_designs_share(
    found: Comparison,
) -> None:
    past = with_shares(found, "Hall field", 0.0, 0.73, value=5200.0, standard_uncertainty=300.0)
    first, _, rest = words(past, "What changes regime").partition(" No change of regime in ")
    assert first == (
        "WHAT CHANGES REGIME Hall field: segments may break down to their neighbours (largest Hall field above 4 kV/m)."
        " bench never, with 0 kV/m; sounding in 73.0 % (sampling ± 0.2 %) of firings, with 5.20 ± 0.30 kV/m. Finer"
        " segments and insulators are needed. (Boundary: Stanford HTGL, DTIC ADA025949, 1975.)"
    )
    assert rest.startswith("contact, constriction, current density,")
    assert "Hall field" not in rest
    assert rest.endswith("without the model's own error.")


def test_where_no_border_lies_between_designs_it_is_said_which_were_looked_at(found: Comparison) -> None:
    said = words(with_shares(found, "contact", 0.0, 0.05), "What changes regime")
    assert "No regime changes between them. Looked at: contact, constriction," in said


def test_a_border_at_which_a_share_cannot_be_told_parts_nobody(found: Comparison) -> None:
    assert (
        "contact: no" not in words(with_shares(found, "contact", np.nan, 1.0), "What changes regime").lower()
    )
    assert "sounding always" in words(with_shares(found, "contact", 0.0, 1.0), "What changes regime")


def test_similarity_numbers_beyond_a_factor_two_are_named(found: Comparison) -> None:
    rows = [row[0] for row in table(answer(found), "Similarity numbers")[1:]]
    assert rows[0] == "interaction parameter"
    alike = with_figures(found, *block(found, "similarity"), mean=1.0)
    said = words(alike, "Similarity numbers")
    assert said.endswith("sounding and bench lie within a factor of 2 of each other in all of these numbers.")
    assert "A real gas" not in said
    ratios = {
        "interaction_parameter": 2.01,
        "load_factor": 0.49,
        "reynolds_number": 1.99,
        "pressure_gap": -1.0,
    }
    apart = alike
    for row, ratio in ratios.items():
        apart = with_figures(apart, row, design=1, mean=ratio)
    assert (
        "A real gas cannot hold all similarity numbers at once: what is learnt of one design holds for another only as"
        " far as it depends on those that agree. sounding lies beyond a factor of 2 of bench, by the means, in"
        " interaction parameter (2 times), load factor (0.49 times) and pressure gap (of another sign, or zero). Within"
        " it: Hall parameter at the inlet, voltage drop share, Reynolds number,"
    ) in words(apart, "Similarity numbers")


# Tables


def test_cells_hold_the_mean_and_the_interval_and_the_label_the_unit(found: Comparison) -> None:
    gain = {"mean": 0.0491, "low": 0.0234, "high": 0.0948, "standard_uncertainty": 0.0186}
    head, *rows = table(answer(with_figures(found, "thrust_gain", design=0, **gain)), "What comes out")
    assert head == ("", "bench", "sounding")
    assert rows[0][:2] == ("thrust gain [N]", "0.049 (0.023 … 0.095)")


def test_differences_stand_with_interval_chance_and_verdict(found: Comparison) -> None:
    other = with_difference(found, verdict="")
    other = with_difference(
        other,
        "thrust_gain",
        mean=4.506,
        low=3.049,
        high=5.923,
        standard_uncertainty=0.73,
        larger=exact(0.9712, 0.002),
        verdict="larger",
    )
    head, *rows = table(answer(other), REAL)
    assert head == ("", "mean", "19 times in 20", "chance of more", "which is")
    assert rows == [("thrust gain [N]", "4.51", "3.05 … 5.92", "97.1 (±0.2) %", "larger")]


def test_limits_are_told_in_words_with_their_chance_and_verdict(found: Comparison) -> None:
    targets = [row for row in table(answer(found), "Limits")[1:] if "thrust gain" in row[3]]
    assert [(row[0], row[3]) for row in targets] == [
        ("bench", "thrust gain at least 0.04 N in 80 %"),
        ("sounding", "thrust gain at least 4 N in 80 %"),
    ]
    assert all(re.fullmatch(r"\d+(\.\d)? \(±\d(\.\d)?\) %", row[2]) for row in targets)
    limits = (
        Judged(
            "limit", Limit("chance.constricted", at_most=0.05, chance=None), exact(0.268, 0.001), "not met"
        ),
        Judged("limit", Limit("current", at_least=5.0, at_most=20.0, chance=0.9), exact(1.0), "met"),
        Judged("limit", Limit("chance.no_contact", 0.1, 0.2, None), exact(0.0), "not met"),
    )
    first, second = found.designs
    other = replace(found, designs=(replace(first, limits=limits), replace(second, limits=())))
    assert table(answer(other), "Limits")[1:] == [
        ("bench", "not met", "26.8 (±0.1) %", "constricted in at most 5 %"),
        ("bench", "met", "100 %", "current at least 5 A and at most 20 A in 90 %"),
        ("bench", "not met", "0 %", "no contact in at least 10 % and at most 20 %"),
    ]
    none = replace(found, designs=tuple(replace(own, limits=()) for own in found.designs))
    assert "None of these studies requires anything." in words(none, "Limits")


def test_statuses_and_warnings_stand_in_one_table(failing: Comparison) -> None:
    _, solved, choked, *rest = table(answer(failing), "How the points ended")
    assert (solved[0], choked[0]) == ("solved", "choked")
    assert "warning: constricted" in [row[0] for row in rest]
    assert choked[1] == "0 %"
    assert re.fullmatch(r"\d+(\.\d)? \(±\S+\) %", choked[2])


def test_inputs_that_differ_are_listed_and_the_main_ones_alone_where_they_are_many(
    found: Comparison, mixed: Comparison
) -> None:
    few = [row[0] for row in table(answer(mixed), "Sizes and settings that differ")[1:]]
    assert few == [row[0] for row in table(answer(mixed), "All inputs that differ")[1:]]
    assert set(few) == {
        "mode",
        "source of the main pair",
        "source voltage of the main pair",
        "current limit of the main pair",
        "source resistance of the main pair",
    }
    main = table(answer(found), "Sizes and settings that differ")[1:]
    every = table(answer(found), "All inputs that differ")[1:]
    assert set(main) < set(every)
    assert "throat diameter" in [row[0] for row in main]
    assert "arc voltage of the main pair" in [row[0] for row in set(every) - set(main)]
    assert {
        ("magnetic field", "0.480 ± 0.018 T", "0.450 ± 0.030 T"),
        ("seed", "potassium carbonate", "potassium hydroxide"),
        ("altitude", "none", "22.5 ± 4.3 km"),
    } <= set(every)


# The whole


@pytest.mark.parametrize("name", ["found", "mixed", "four", "failing"])
def test_the_report_holds_its_sections_in_order_and_no_jargon(
    name: str, request: pytest.FixtureRequest
) -> None:
    found: Comparison = request.getfixturevalue(name)
    whole = answer(found, 1000)
    text = printed(whole)
    titles = (
        "IN PLAIN WORDS",
        "WHAT COMES OUT",
        "WHAT IT WEIGHS",
        "WHICH DIFFERENCES ARE REAL",
        "LIMITS",
        "WHAT CHANGES REGIME",
        "HOW THE POINTS ENDED",
        "SIMILARITY NUMBERS",
        "SIZES AND SETTINGS THAT DIFFER",
        "WHERE THEY WORK",
        "CAUTION",
    )
    places = [text.index(f"\n{title}\n") for title in titles]
    assert places == sorted(places)
    assert not any(word in text.lower() for word in BANNED)
    assert not re.search(r"\bnan\b", text)
    assert [line for line in text.splitlines() if len(line) > WIDTH] == []
    page = page_of(whole)
    assert page.count('<svg role="img"') == 1
    assert not re.search(r"\bnan\b", page)
    second = page[page.index('<div class="reviewer">') :].replace("<wbr>", "").replace("\u00a0", " ")
    for title in (
        "For a reviewer",
        "What is drawn once",
        "Every figure",
        "Every difference",
        "All inputs that differ",
        "How uncertain values were read",
        "The study as resolved",
    ):
        assert f"<h2>{title}</h2>" in second
    for design in found.names:
        assert f"<th>{registry.words_of(design)}</th>" in second
    assert "bench.toml, sounding.toml" in second


def test_every_quantity_is_told_to_a_reviewer_and_targets_are_outcomes(four: Comparison) -> None:
    text = printed(answer(four), "reviewer", title="Every figure")
    told_of = four.quantities.xs("mean", axis=1, level="figure").dropna(how="all")
    assert len(told_of) > 30
    assert all(f"  {registry.words_of(row)} " in text for row in told_of.index)
    assert "power delivered" in words(four, "What comes out")


def test_the_picture_holds_targets_and_what_differs_and_is_left_out_where_nothing_does(
    found: Comparison, mixed: Comparison
) -> None:
    labels = [axes.get_xlabel() for axes in mixed.plot().axes[::2]]
    assert labels[:2] == ["thrust gain [N]", "power delivered [W]"]
    assert "thrust per power [N/kW]" not in labels  # of one design alone
    same = with_difference(found, verdict="the same")
    assert answer(same).pictures == ()
    with pytest.raises(ValueError, match="nothing to draw"):
        same.plot()
    labels = [
        axes.get_xlabel() for axes in with_difference(same, "current", verdict="larger").plot().axes[::2]
    ]
    assert labels == ["thrust gain [N]", "current [A]"]


def test_at_a_prompt_a_comparison_is_a_short_table(mixed: Comparison) -> None:
    lines = repr(mixed).splitlines()
    assert len(lines) < 9
    assert re.search(r"current +1\d A ± 3\.\d A +-\S+ A ± \S+ A, smaller", repr(mixed))
    assert re.search(r"power_delivered +none +\S+ W ± \S+ W$", repr(mixed), re.MULTILINE)
    assert mixed._repr_html_().count("<tr>") == len(lines) - 1


# Data


def test_the_data_are_those_of_the_comparison_and_hold_only_json(mixed: Comparison) -> None:
    content = json_of(answer(mixed))
    first, second = content["designs"]
    assert (first["name"], second["mode"]) == ("bench", "extraction")
    assert second["contact"]["chance"] == float(mixed.contact["bench-extraction"])
    gain = first["quantities"]["thrust_gain"]
    assert gain["unit"] == "N"
    assert gain["interval_95"] == list(mixed.quantities.loc["thrust_gain", "bench"][["low", "high"]])
    assert set(gain["standard_error"]) == {"mean", "median", "standard_uncertainty", "interval_95"}
    assert first["quantities"]["power_delivered"]["mean"] is None
    assert first["limits"][0]["verdict"] in ("met", "not met", "not decided")
    assert first["inputs"]["magnet.field"]["unit"] == "T"
    assert first["inputs"]["gas.fuel"] == {"value": "ethanol", "standard_uncertainty": None, "unit": None}
    (difference,) = content["differences"]
    assert (difference["design"], difference["less"]) == ("bench-extraction", "bench")
    assert difference["quantities"]["thrust_gain"]["verdict"] == "smaller"
    assert 0.0 <= difference["contact_in_both"]["thrust_gain"]["larger"] <= 1.0
    assert content["shared"] == {
        "water cross section": [
            {"design": name, "input": "gas.conductivity_factor"} for name in ("bench", "bench-extraction")
        ]
    }
    assert "contact" in content["changes_of_regime"]


def test_the_csv_files_have_a_row_for_each_figure_with_its_unit_and_error(mixed: Comparison) -> None:
    rows = csv_of(answer(mixed), "comparison.csv")
    assert {(row["design"], row["firings"]) for row in rows} == {
        (name, which) for name in mixed.names for which in ("all", "with contact")
    }
    gain = next(row for row in rows if row["quantity"] == "thrust_gain" and row["design"] == "bench")
    assert gain["unit"] == registry.quantity("thrust_gain").unit
    assert float(gain["mean"]) == pytest.approx(mixed.quantities.loc["thrust_gain", ("bench", "mean")])
    assert float(gain["mean_standard_error"]) > 0.0
    assert not any(row["quantity"] == "power_delivered" and row["design"] == "bench" for row in rows)
    others = csv_of(answer(mixed), "differences.csv")
    assert {(row["design"], row["less"]) for row in others} == {("bench-extraction", "bench")}
    assert {"larger", "larger_standard_error", "verdict"} <= others[0].keys()
