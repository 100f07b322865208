"""A ladder of firings against closed forms: linear-Gaussian stages, what is shared, borders, cost, bad input."""

from collections.abc import Callable, Mapping
from itertools import combinations, pairwise

import numpy as np
import pandas as pd
import pytest
from questions.scale.scaled import scaled, small_and_large
from study.known_models import NO_MODEL_ERROR, replace_stage, study_of
from study.texts import PLAIN

from explorer import StudyError, solve
from explorer.questions.scale.entry import scale
from explorer.questions.scale.ladder.readings import read_along
from explorer.questions.scale.path.borders import borders_of
from explorer.questions.scale.path.designs import Sampling, designs_tried, size_of
from explorer.questions.scale.path.path import path_between
from explorer.questions.scale.path.stages import stages_of
from explorer.questions.scale.scaling import Scaling
from explorer.study.outcomes import NoNumbers
from explorer.studyfile import Study

WALL, FACTOR, LAG, PRESSURE = (
    "channel.wall_temperature",
    "gas.conductivity_factor",
    "gas.nozzle_lag",
    "gas.chamber_pressure",
)

Functions = Mapping[str, Callable[..., np.ndarray]]

LOAD_CELL = """
[[instrument]]
name = "load_cell"
reads = "thrust_gain"
random = "{random}"
common = "{common}"
"""
AMMETER = """
[[instrument]]
name = "ammeter"
reads = "current"
random = "0.5 A"
"""


class _Stage(dict):
    """Known functions of a stage's inputs; whatever else is asked for is zero."""

    def __missing__(self, _: str) -> Callable[..., np.ndarray]:
        return lambda v: 0.0 * v[PRESSURE]


def known(monkeypatch: pytest.MonkeyPatch, functions: Functions, outcomes=None) -> None:
    replace_stage(monkeypatch, _Stage(functions), outcomes)


def along(v: Mapping[str, np.ndarray]) -> np.ndarray:
    """Where a design lies on a path from 10 to 20 bar."""
    return v[PRESSURE] / 1e6 - 1.0


def ends(
    inputs: Mapping[str, object],
    instruments: str = LOAD_CELL.format(random="0.2 N", common="0.1 N"),
    text: str = PLAIN,
    extra: str = NO_MODEL_ERROR,
    **second: object,
) -> tuple[Study, Study]:
    first = study_of({PRESSURE: "10 bar", **inputs}, extra + instruments, text)
    return first, study_of({PRESSURE: "20 bar", **inputs, **second}, extra, text)


SHARED = {"value": 4.0, "unknown": 0.5, "shared": "water"}


def slope(place: np.ndarray | float) -> np.ndarray | float:
    """How strongly a design hangs on what all share."""
    return 0.5 + 2.0 * place


#: Gains c·slope + T/100, with T each design's own and a scatter of its own.
LINEAR = {"thrust_gain": lambda v: slope(along(v)) * v[FACTOR] + 0.01 * (v[WALL] - 800.0)}
WALLS = {"value": "800 K", "unknown": "20 K", "scatter": "30 K"}


def exact(
    places: tuple[float, ...], *, random: float = 0.2, common: float = 0.1, fired: bool = False
) -> float:
    """Standard uncertainty of the gain at the end of the path after firings, in closed form (linear-Gaussian).

    Unknowns: c, the instrument's own error, the wall of the end itself; each other reading's own wall is noise. After
    ever more firings of the first design neither its scatter nor anything random is left in its reading. The fall in
    variance is c'ΣH'(HΣH' + R)⁻¹HΣc (any textbook on linear estimation).
    """
    own, scatter = 0.01 * 20.0, 0.01 * 30.0
    h = np.array([[slope(p), common, 0.0] for p in (0.0, *places)] + [[slope(1.0), common, 1.0]] * fired)
    prior = np.diag([0.5**2, 1.0, own**2])
    anew = scatter**2 + random**2
    noise = np.diag([own**2, *([own**2 + anew] * len(places)), *([anew] * fired)])
    c = np.array([slope(1.0), 0.0, 1.0])
    fall = c @ prior @ h.T @ np.linalg.solve(h @ prior @ h.T + noise, h @ prior @ c)
    return float(np.sqrt(c @ prior @ c + scatter**2 - fall))


#: An end ten times as long, so that a firing of it costs 10^(e/3) with the exponent e.
LONG = {"channel.length": "900 mm", "electrodes.main.length": "600 mm"}


def exact_gains(found: Scaling) -> dict[tuple[int, ...], float]:
    """By the numbers of its steps, what each set of up to three gains, in closed form.

    That is the variance it removes, less what the same cost removes in a firing of the last design; sets of steps each
    of which takes 2 % of the uncertainty away, in the order of the path and as the last of all.
    """
    first, last = exact(()), found.last
    price = (first**2 - exact((), fired=True) ** 2) / last.cost
    worth = 0.02 * float(np.hypot(2.5 * 0.5, np.hypot(0.2, 0.3)))
    gains = {}
    for size in (1, 2, 3):
        for chosen in combinations(range(1, last.number), size):
            places, cost = tuple(found.places[[*chosen]]), float(found.costs[[*chosen]].sum())
            falls = [exact(places[:n]) - exact(places[: n + 1]) for n in range(size)]
            falls += [exact((*places[:n], *places[n + 1 :])) - exact(places) for n in range(size)]
            if min(falls) >= worth and cost <= last.cost:
                gains[chosen] = first**2 - exact(places) ** 2 - price * cost
    return gains


def close(found, value: float, *, errors: float = 5.0) -> None:
    assert float(found.standard_error) < 0.03 * value
    assert float(found.value) == pytest.approx(value, abs=errors * float(found.standard_error) + 2e-3 * value)


def row(found: Scaling, step: str) -> pd.Series:
    assert found.ladder is not None
    return found.ladder.candidates.loc[step]


# Closed forms


@pytest.fixture
def linear(monkeypatch: pytest.MonkeyPatch) -> Scaling:
    known(monkeypatch, LINEAR)
    return scale(*ends({FACTOR: SHARED, WALL: WALLS}, **LONG), steps=3, cost_exponent=6.0)


def test_a_linear_gaussian_ladder_leaves_what_the_closed_form_says(linear: Scaling) -> None:
    ladder = linear.ladder
    assert ladder is not None
    close(ladder.now, np.hypot(2.5 * 0.5, np.hypot(0.2, 0.3)))
    close(ladder.after_first, exact(()))
    for number in (1, 2, 3):
        left, error = row(linear, f"step {number}")[["left", "left_standard_error"]]
        assert error < 0.02 * left
        assert left == pytest.approx(exact((number / 4,)), abs=5 * error)
    assert len(ladder.rungs) >= 1
    places = tuple(rung.design.place for rung in ladder.rungs)
    for count, rung in enumerate(ladder.rungs, start=1):
        close(rung.left, exact(places[:count]))
        removed = exact(places[: count - 1]) ** 2 - exact(places[:count]) ** 2
        assert float(rung.removed.value) == pytest.approx(removed, abs=5 * float(rung.removed.standard_error))
    # Quick figures of sets, by which is chosen, agree too: readings here tell nothing together but by sums.
    assert ladder.fired is not None
    close(ladder.fired.left, exact((), fired=True))
    for chosen, removed in ladder.sets[["designs", "removed"]].itertuples(index=False):
        set_places = tuple(linear.places[design] for design in chosen)
        assert removed == pytest.approx(exact(()) ** 2 - exact(set_places) ** 2, abs=0.02)


def test_what_firings_pin_down_of_what_is_shared_is_told(linear: Scaling) -> None:
    # Posterior of c alone after the first design: prior 0.5, reading 0.5·c with own 0.2 and the instrument's 0.1.
    ladder = linear.ladder
    assert ladder is not None
    left = 1.0 / np.sqrt(1.0 + 0.5**2 * 0.5**2 / (0.2**2 + 0.1**2))
    pinned = ladder.pinned.loc["shared water"]
    assert pinned["now"] == pytest.approx(1.0)
    assert pinned["first design"] == pytest.approx(left, rel=0.03)
    assert list(pinned) == sorted(pinned, reverse=True)


def test_what_no_firing_of_the_first_can_teach_is_what_the_second_has_alone(linear: Scaling) -> None:
    close(linear.trust.never, np.hypot(0.2, 0.3))
    assert linear.trust.model_alone < 1e-9


@pytest.mark.slow
def test_the_models_own_error_teaches_by_its_common_part_and_never_by_the_rest(monkeypatch) -> None:
    # Gain 5·F·F_own with lognormal factors of median 1; the reading is exact but for the first design's own factor.
    known(monkeypatch, {"thrust_gain": lambda v: 5.0 + 0.0 * v[PRESSURE] + 1e-9 * (v[WALL] - 800.0)})
    extra = '\n[model_error]\nthrust_gain = "20 %"\nshared = "60 %"\n'
    instruments = LOAD_CELL.format(random="1e-6 N", common="1e-6 N")
    found = scale(*ends({WALL: "800 ± 1 K"}, instruments, extra=extra), steps=2)
    variance = np.log1p(0.2**2)
    once, own = 0.6 * variance, 0.4 * variance
    never = 5.0 * np.sqrt(np.exp(2 * once + own) * np.expm1(own))  # E[Var(5·F·F_own | F)] in closed form
    close(found.trust.never, never)
    assert found.trust.model_alone == pytest.approx(np.sqrt(np.expm1(own)), rel=1e-6)
    # After the first: ln F has the normal posterior of variance once·own/(once + own); the rest likewise lognormal.
    posterior = once * own / (once + own)
    mean_square = np.exp(2 * once * once / (once + own))  # of the posterior median of F
    left = posterior + own
    assert found.ladder is not None
    close(found.ladder.after_first, 5.0 * np.sqrt(mean_square * np.exp(left) * np.expm1(left)))
    assert float(found.trust.never.value) < float(found.ladder.after_first.value)


# What is shared


@pytest.mark.slow
def test_without_a_shared_name_nothing_is_learnt(monkeypatch, linear: Scaling) -> None:
    known(monkeypatch, LINEAR)
    apart = {key: item for key, item in SHARED.items() if key != "shared"}
    found = scale(*ends({FACTOR: apart, WALL: WALLS}), steps=3)
    assert found.shared == {}
    assert found.apart == (FACTOR, WALL)
    assert found.ladder is not None
    now = float(found.ladder.now.value)
    for left in (found.ladder.after_first, found.trust.never):
        assert float(left.value) == pytest.approx(now, abs=6 * float(left.standard_error))
    assert found.ladder.rungs == ()
    assert linear.ladder is not None  # the same studies but for the name
    assert float(linear.ladder.after_first.value) < 0.9 * now
    assert linear.shared == {"water": ((linear.names[0], FACTOR), (linear.names[-1], FACTOR))}


def test_everything_shared_and_nothing_scattering_leaves_nothing_for_ever(monkeypatch) -> None:
    known(monkeypatch, LINEAR)
    wall = {"value": "800 K", "unknown": "20 K", "shared": "wall"}
    found = scale(*ends({FACTOR: SHARED, WALL: wall}, extra=NO_MODEL_ERROR + '\nshared = "100 %"\n'), steps=1)
    assert float(found.trust.never.value) == pytest.approx(0.0, abs=1e-9)
    assert float(found.trust.now.standard_uncertainty.value) > 1.0


def test_an_instruments_own_error_is_the_same_at_every_design(monkeypatch) -> None:
    # Without anything random, the difference of two designs' readings tells c free of the instrument's own error.
    known(monkeypatch, {"thrust_gain": lambda v: slope(along(v)) * v[FACTOR]})
    instruments = LOAD_CELL.format(random="1e-6 N", common="3 N")
    found = scale(*ends({FACTOR: SHARED}, instruments), steps=2)
    assert found.ladder is not None
    assert float(found.ladder.after_first.value) > 0.9 * float(found.ladder.now.value)
    assert row(found, "step 1")["left"] < 0.1 * float(found.ladder.now.value)


# Which steps


def test_a_firing_that_sees_nothing_is_no_point(monkeypatch) -> None:
    known(monkeypatch, LINEAR)
    instruments = LOAD_CELL.format(random="1 kN", common="1e-3 N")
    found = scale(*ends({FACTOR: SHARED, WALL: WALLS}, instruments), steps=3, samples=4096)
    assert found.ladder is not None
    assert found.ladder.rungs == ()
    assert found.ladder.climb == "not worth climbing"


# Whether to climb


def test_a_ladder_is_climbed_where_it_beats_firing_the_last_design_in_closed_form(linear: Scaling) -> None:
    # With the sixth power of the size a firing of the end costs 100, of the steps 3, 10 and 32.
    gains, ladder = exact_gains(linear), linear.ladder
    assert ladder is not None
    assert ladder.plan is not None
    np.testing.assert_allclose(linear.costs, 10.0 ** (2.0 * linear.places), rtol=0.01)
    best = max(gains, key=lambda chosen: gains[chosen])
    assert gains[best] > 0.1
    assert ladder.climb == "worth climbing"
    taken = tuple(rung.design.number for rung in ladder.rungs)
    assert taken == ladder.plan.numbers
    assert gains[taken] == pytest.approx(gains[best], abs=5 * ladder.plan.gain.error)
    assert float(ladder.plan.gain) == pytest.approx(gains[taken], abs=5 * ladder.plan.gain.error)
    assert ladder.plan.gain.error < 0.05 * gains[taken]
    assert taken == best or best in [own.numbers for own in ladder.level]
    assert ladder.remedies == ()


@pytest.mark.parametrize("exponent", [0.0, 0.5])
def test_no_ladder_is_climbed_where_firing_the_last_design_teaches_more_for_its_cost(
    monkeypatch, exponent: float
) -> None:
    known(monkeypatch, LINEAR)
    studies = ends({FACTOR: SHARED, WALL: WALLS}, **LONG)
    found = scale(*studies, steps=3, cost_exponent=exponent, samples=4096)
    ladder, gains = found.ladder, exact_gains(found)
    assert ladder is not None
    assert ladder.plan is not None
    assert gains
    assert max(gains.values()) < -0.05  # in closed form no set pays
    assert ladder.climb == "not worth climbing"
    assert ladder.rungs == ()
    assert float(ladder.plan.gain) == pytest.approx(
        gains[ladder.plan.numbers], abs=5 * ladder.plan.gain.error
    )
    assert size_of(studies[1]) / size_of(studies[0]) == pytest.approx(10 ** (1 / 3))


def choices(found: Scaling) -> tuple[str, tuple[int, ...], set[tuple[int, ...]]]:
    """What is said of a ladder: whether it is worth climbing, the set taken, and that with all called as good."""
    ladder = found.ladder
    assert ladder is not None
    assert ladder.plan is not None
    return ladder.climb, ladder.plan.numbers, {ladder.plan.numbers, *(own.numbers for own in ladder.level)}


def assert_one_answer(told: list[tuple[str, tuple[int, ...], set[tuple[int, ...]]]]) -> None:
    """Every random number names the same set, or one that every other calls as good."""
    assert len({climb for climb, _, _ in told}) == 1
    for _, taken, _ in told:
        assert all(taken in level for _, _, level in told), told


@pytest.mark.slow
def test_other_random_numbers_choose_the_same_or_what_is_called_as_good(monkeypatch) -> None:
    known(monkeypatch, LINEAR)
    studies = ends({FACTOR: SHARED, WALL: WALLS}, **LONG)
    assert_one_answer(
        [
            choices(scale(*studies, steps=4, cost_exponent=6.0, rng=number, samples=4096))
            for number in range(4)
        ]
    )


@pytest.mark.coverage
@pytest.mark.parametrize("exponent", [0.5, 3.0, 6.0])
def test_twenty_random_numbers_give_one_answer(monkeypatch, exponent: float) -> None:
    known(monkeypatch, LINEAR)
    studies = ends({FACTOR: SHARED, WALL: WALLS}, **LONG)
    assert_one_answer(
        [
            choices(scale(*studies, steps=6, cost_exponent=exponent, rng=number, samples=8192))
            for number in range(20)
        ]
    )


@pytest.mark.coverage
def test_twenty_random_numbers_give_one_answer_on_the_stage() -> None:
    for exponent in (2.0, 6.0):
        assert_one_answer(
            [choices(scaled(cost_exponent=exponent, rng=number, samples=4096)) for number in range(20)]
        )


@pytest.mark.slow
def test_a_step_that_is_not_worth_what_is_asked_is_not_fired(monkeypatch, linear: Scaling) -> None:
    known(monkeypatch, LINEAR)
    studies = ends({FACTOR: SHARED, WALL: WALLS}, **LONG)
    found = scale(*studies, steps=3, cost_exponent=6.0, worth="0.5 N", samples=4096)
    assert found.ladder is not None
    assert (found.ladder.worth, found.ladder.worth_assumed) == (0.5, False)
    assert found.ladder.climb == "not worth climbing"
    assert linear.ladder is not None
    assert linear.ladder.worth == pytest.approx(0.02 * float(linear.ladder.now))
    assert linear.ladder.worth_assumed
    with pytest.raises(StudyError, match=r"worth: expected a force, got 0\.5 T"):
        scale(*studies, worth="0.5 T")


@pytest.mark.slow
def test_whatever_a_firing_costs_the_choice_gains_most_in_closed_form(monkeypatch) -> None:
    known(monkeypatch, LINEAR)
    studies, chosen = ends({FACTOR: SHARED, WALL: WALLS}, **LONG), []
    for exponent in (3.0, 9.0):
        found = scale(*studies, steps=4, cost_exponent=exponent, samples=4096)
        gains, (climb, taken, _) = exact_gains(found), choices(found)
        chosen.append(taken)
        assert climb == "worth climbing"
        assert gains[taken] == pytest.approx(max(gains.values()), abs=0.03)
        assert sorted(gains.values())[0] < max(gains.values()) - 0.1  # there was a choice
        np.testing.assert_allclose(found.costs, found.sizes**exponent)
    assert chosen[0] != chosen[1]


def test_one_more_firing_never_adds_to_what_is_left(monkeypatch) -> None:
    # Of readings that tell nothing each set seems to leave a little more or less than another, by the fit alone.
    known(monkeypatch, {"thrust_gain": lambda v: v[FACTOR]})
    first, second = ends({FACTOR: SHARED}, LOAD_CELL.format(random="1 kN", common="1e-3 N"))
    path, borders = path_between(first, second, 3), borders_of(first, second)
    _, sample, designs = designs_tried(path, borders, Sampling(1, 512), cost_exponent=2.0)
    read = read_along(sample, designs)
    raw = [
        float(read.sets.left(read.taken(own))[:, 0].mean()) for own in ((0,), (0, 1), (0, 1, 2), (0, 1, 2, 3))
    ]
    assert raw != sorted(raw, reverse=True)
    for size in (1, 2, 3, 4):
        for chosen in combinations(range(1, 5), size):
            for one in chosen:
                fewer = (0, *(number for number in chosen if number != one))
                assert read.quickly((0, *chosen)).mean() <= read.quickly(fewer).mean()
                assert read.in_full((0, *chosen))[:, 0].mean() <= read.in_full(fewer)[:, 0].mean()


# What would make one worthwhile


def test_a_sharper_instrument_is_tried_and_told_where_it_makes_a_ladder_worthwhile(monkeypatch) -> None:
    # The load cell sees nothing of a step's gain; ten times sharper it would.
    known(monkeypatch, LINEAR)
    instruments = LOAD_CELL.format(random="6 N", common="0.01 N")
    found = scale(
        *ends({FACTOR: SHARED, WALL: WALLS}, instruments, **LONG), steps=3, cost_exponent=6.0, samples=4096
    )
    assert found.ladder is not None
    assert found.ladder.climb == "not worth climbing"
    sharper = {remedy.what: remedy for remedy in found.ladder.remedies if remedy.kind == "sharper"}
    plan = sharper[("load_cell",)].plan
    assert plan is not None
    assert sharper[("load_cell",)].climb == "worth climbing"
    close(plan.left, exact(tuple(design.place for design in plan.designs), random=0.6, common=0.001))


@pytest.mark.slow
def test_an_input_that_could_be_shared_is_tried_and_told(monkeypatch) -> None:
    known(monkeypatch, LINEAR)
    apart = {key: item for key, item in SHARED.items() if key != "shared"}
    found = scale(*ends({FACTOR: apart, WALL: WALLS}, **LONG), steps=3, cost_exponent=6.0, samples=4096)
    assert found.ladder is not None
    assert found.ladder.climb == "not worth climbing"
    tried = {remedy.what: remedy for remedy in found.ladder.remedies if remedy.kind == "shared"}
    # Together they stand in the order of what they carry: 2.5 · 0.5 against 0.2.
    assert set(tried) == {(FACTOR, WALL), (FACTOR,), (WALL,)}
    plan = tried[(FACTOR,)].plan
    assert plan is not None
    assert tried[(FACTOR,)].climb == "worth climbing"
    close(plan.left, exact(tuple(design.place for design in plan.designs)))
    assert tried[(WALL,)].climb == "not worth climbing"


def test_inputs_that_could_be_shared_are_tried_where_no_instrument_reads_the_target(monkeypatch) -> None:
    known(monkeypatch, LINEAR)
    apart = {key: item for key, item in SHARED.items() if key != "shared"}
    found = scale(*ends({FACTOR: apart, WALL: WALLS}, AMMETER), steps=2, samples=512)
    assert found.ladder is not None
    assert {remedy.kind for remedy in found.ladder.remedies} >= {"sharper", "shared"}


def test_a_model_error_of_a_regime_that_only_larger_designs_have_is_tried(monkeypatch) -> None:
    # The bench tells all that the model's error has in common; past a border half-way it would tell nothing of it.
    past = {"interaction_parameter": lambda v: np.where(along(v) > 0.4, 0.5, 0.01)}
    known(monkeypatch, {"thrust_gain": lambda v: 5.0 + 0.0 * v[PRESSURE] + 1e-9 * (v[WALL] - 800.0), **past})
    extra = '\n[model_error]\nthrust_gain = "20 %"\ninteraction_parameter = "1e-9 %"\nshared = "100 %"\n'
    instruments = LOAD_CELL.format(random="0.1 N", common="1e-6 N")
    found = scale(
        *ends({WALL: "800 ± 1 K"}, instruments, extra=extra, **LONG), steps=3, cost_exponent=6.0, samples=4096
    )
    assert found.ladder is not None
    assert found.ladder.climb == "not worth climbing"  # the bench has taught it all
    (regime,) = [remedy for remedy in found.ladder.remedies if remedy.kind == "regime"]
    assert (regime.what, regime.climb) == (("interaction",), "worth climbing")
    assert regime.plan is not None
    assert [design.name for design in regime.plan.designs] == ["step 2"]  # the first beyond the border


@pytest.mark.slow
def test_no_point_lies_more_than_one_border_past_the_point_before(monkeypatch) -> None:
    # The interaction parameter passes 0.1 at a fifth of the path and 1 at seven tenths.
    interaction = {"interaction_parameter": lambda v: 10.0 ** (2.0 * along(v) - 1.4)}
    model = NO_MODEL_ERROR + 'interaction_parameter = "1e-9 %"\n'
    known(monkeypatch, {**LINEAR, **interaction})
    found = scale(*ends({FACTOR: SHARED, WALL: WALLS}, extra=model), steps=7, samples=4096)
    first, second = found.changes
    assert [change.border.name for change in found.changes] == ["interaction", "strong interaction"]
    assert [change.border.regime.threshold for change in found.changes] == [0.1, 1.0]
    assert [design.name for design in first.between] == ["step 1", "step 2"]
    assert [design.name for design in second.between] == ["step 5", "step 6"]
    assert first.past
    before, after = first.sides
    assert before.value < 0.1 < after.value
    assert found.ladder is not None
    for chosen in found.ladder.sets["designs"]:
        places = [0.0, *(found.places[design] for design in chosen)]
        for one, two in pairwise(places):
            assert sum(one < change.place <= two for change in found.changes) <= 1
    assert found.ladder.candidates["changes"].tolist() == [0, 1, 1, 1, 1, 2, 2]
    # Without a point between the borders nothing beyond both of them is reached.
    assert set(found.ladder.sets["designs"].map(max)) == {1, 2, 3, 4, 5, 6, 7}
    close_by = {"interaction_parameter": lambda v: np.where(along(v) > 0.55, 2.0, 0.01)}
    known(monkeypatch, {**LINEAR, **close_by})
    sudden = scale(*ends({FACTOR: SHARED, WALL: WALLS}, extra=model), steps=3, samples=4096)
    assert sudden.ladder is not None
    assert [design.name for design in sudden.ladder.unreached] == ["step 3"]
    assert all(max(chosen) < 3 for chosen in sudden.ladder.sets["designs"])


@pytest.mark.slow
def test_more_steps_than_all_sets_allow_still_give_the_best_of_many(monkeypatch) -> None:
    known(monkeypatch, LINEAR)
    found = scale(*ends({FACTOR: SHARED, WALL: WALLS}), steps=14, samples=2048)
    assert found.ladder is not None
    sizes = found.ladder.sets["designs"].map(len).value_counts()
    assert sizes[1] == 14
    assert sizes[2] == 91
    assert 0 < sizes[3] < 364


def test_each_instruments_part_is_told_and_what_lies_beyond_its_range(monkeypatch) -> None:
    known(
        monkeypatch,
        {**LINEAR, "current": lambda v: 0.0 * v[FACTOR], "thrust": lambda v: 150.0 + 100.0 * along(v)},
    )
    ranged = LOAD_CELL.format(random="0.2 N", common="0.1 N") + 'range = "0 .. 200 N"\n' + AMMETER
    found = scale(
        *ends({FACTOR: SHARED, WALL: WALLS}, ranged, **LONG), steps=4, cost_exponent=6.0, samples=4096
    )
    assert found.ladder is not None
    assert len(found.ladder.rungs) > 0
    assert found.ladder.fired is not None
    assert found.ladder.fired.beyond == {"load_cell": 1.0}
    for rung in found.ladder.rungs:
        assert rung.through["load_cell"] > 10 * abs(rung.through["ammeter"])
        assert set(rung.beyond) == {"load_cell"}
        # A load cell bears the whole thrust, of which it reads the gain: beyond 200 N from half-way on.
        assert rung.beyond["load_cell"] == float(rung.design.place > 0.5)


# Borders and points without numbers


@pytest.mark.slow
def test_contact_turns_from_none_to_diffuse_where_half_of_the_firings_do(monkeypatch) -> None:
    # Contact above a wall of 800 K at the first end, falling by 40 K: half at the place 0.25 for 790 ± 10 K.
    def outcomes(v):
        return np.where(v[WALL] > 800.0 - 40.0 * along(v), 0, 1).astype(np.int8)

    known(monkeypatch, LINEAR, outcomes)
    found = scale(*ends({FACTOR: SHARED, WALL: "790 ± 10 K"}), steps=7, samples=4096)
    contact = next(change for change in found.changes if change.border.name == "contact")
    assert not contact.past
    assert contact.place == pytest.approx(0.25, abs=0.02)
    shares = found.statuses.xs("share", axis=1, level="figure").loc["no_contact"]
    assert shares["step 2"] == pytest.approx(0.5, abs=0.01)


@pytest.mark.slow
def test_an_ends_own_limit_binds_where_its_chance_says(monkeypatch) -> None:
    # Current 100·place + T − 800 with T ~ N(800, 10), at most 50 A in 90 % of firings: from (50 − 12.8)/100 on.
    known(monkeypatch, {**LINEAR, "current": lambda v: 100.0 * along(v) + v[WALL] - 800.0})
    limit = '\n[[limit]]\nquantity = "current"\nat_most = "50 A"\nchance = 0.9\n'
    inputs = {FACTOR: SHARED, WALL: "800 ± 10 K"}
    low, high = ends(inputs)
    limited = [study_of({**inputs, PRESSURE: p}, limit + NO_MODEL_ERROR) for p in ("10 bar", "20 bar")]

    def limits(first: Study, second: Study, steps: int = 9):
        found = scale(first, second, steps=steps, samples=2048)
        return [change for change in found.changes if change.border.limits is not None]

    (binds,) = limits(*limited, steps=19)
    assert (binds.past, binds.counts) == (True, True)
    assert binds.place == pytest.approx(0.372, abs=0.02)
    # A design is held to the nearer end's limits: half-way they come or go.
    (begins,) = limits(low, limited[1])
    assert begins.past
    assert 0.4 < begins.place <= 0.5
    binds, ends_there = limits(limited[0], high)
    assert binds.place == pytest.approx(0.372, abs=0.05)
    assert (ends_there.past, ends_there.counts) == (False, False)


def test_a_border_is_told_only_where_the_chance_changes_by_more_than_its_error(monkeypatch) -> None:
    # Current T − 800 + a·place with T ~ N(800, 10), asked in 90 %: of 13 A, 9.7 % of firings lie above at one end and
    # 10.4 % at the other with 0.4 A more, which so few points can't tell; of 14 A 8 % and, with 8.6 A more, 29 %.
    inputs = {FACTOR: SHARED, WALL: "800 ± 10 K"}
    told = {}
    for most, more in ((13, 0.4), (14, 8.6)):
        limit = f'\n[[limit]]\nquantity = "current"\nat_most = "{most} A"\nchance = 0.9\n'
        first, second = (
            study_of({**inputs, PRESSURE: p}, limit + NO_MODEL_ERROR) for p in ("10 bar", "20 bar")
        )
        known(monkeypatch, {**LINEAR, "current": lambda v, more=more: more * along(v) + v[WALL] - 800.0})
        found = scale(first, second, steps=3, samples=512)
        told[most] = [change for change in found.changes if change.border.limits is not None]
    assert told[13] == []
    (change,) = told[14]
    one, two = change.sides
    assert float(two.share) - float(one.share) > 4 * (one.share.error + two.share.error)


@pytest.mark.slow
def test_the_supplys_limit_binds_where_its_current_does(monkeypatch) -> None:
    def current(v):
        return np.minimum(100.0 * along(v) + v[WALL] - 800.0, v["electrodes.main.source.current_limit"])

    known(monkeypatch, {**LINEAR, "current": current, "electrodes.main.current": current})
    found = scale(*ends({FACTOR: SHARED, WALL: "800 ± 10 K"}), steps=9, samples=2048)
    change = next(change for change in found.changes if change.border.name == "supply's current limit")
    assert change.place == pytest.approx(0.5, abs=0.02)  # where half of the firings would draw more than 50 A


def test_steps_without_numbers_are_left_out_and_an_end_without_them_is_refused(monkeypatch) -> None:
    def choked(low: float, high: float):
        return lambda v: np.where((along(v) > low) & (along(v) < high), 2, 0).astype(np.int8)

    known(monkeypatch, LINEAR, choked(0.4, 0.6))
    found = scale(*ends({FACTOR: SHARED, WALL: WALLS}), steps=3, samples=1024)
    assert found.names[1:-1] == ("step 1", "step 3")
    assert found.path.left_out == {2: "hardly any point carries a number (100% choked)"}
    known(monkeypatch, LINEAR, choked(0.9, 1.1))
    with pytest.raises(NoNumbers, match="hardly any point carries a number"):
        scale(*ends({FACTOR: SHARED, WALL: WALLS}), steps=3, samples=1024)


def test_a_step_that_often_fails_stands_in_the_table_but_is_no_point(monkeypatch) -> None:
    def outcomes(v):
        return np.where((np.abs(along(v) - 0.5) < 0.1) & (v[WALL] > 820.0), 2, 0).astype(np.int8)

    known(monkeypatch, LINEAR, outcomes)
    found = scale(*ends({FACTOR: SHARED, WALL: WALLS}), steps=3, samples=2048)
    assert "step 2" in found.names
    assert found.ladder is not None
    assert list(found.ladder.candidates.index) == ["step 1", "step 3"]
    assert found.statuses.loc["choked", ("step 2", "share")] > 0.2


# Ends


def test_one_study_twice_has_no_point_between_and_nothing_to_learn_from_one(monkeypatch) -> None:
    known(monkeypatch, LINEAR)
    first, _ = ends({FACTOR: SHARED, WALL: WALLS})
    found = scale(first, first)
    assert not found.path.has_length
    assert len(found.names) == 2
    assert found.changes == ()
    assert found.ladder is not None
    assert found.ladder.rungs == ()
    assert found.ladder.candidates.empty
    np.testing.assert_array_equal(found.sizes, 1.0)
    assert float(found.ladder.after_first.value) < float(
        found.ladder.now.value
    )  # firings of the first still teach


def test_without_instruments_nothing_is_read(monkeypatch) -> None:
    known(monkeypatch, LINEAR)
    found = scale(*ends({FACTOR: SHARED, WALL: WALLS}, instruments=""), steps=2, samples=512)
    assert found.ladder is None
    assert float(found.trust.never.value) < float(found.trust.now.standard_uncertainty.value)


def test_ends_without_anything_uncertain_but_the_model_can_be_scaled(monkeypatch) -> None:
    known(monkeypatch, {"thrust_gain": lambda v: 5.0 + along(v)})
    extra = '\n[model_error]\nthrust_gain = "10 %"\n'
    found = scale(*ends({}, extra=extra), steps=2, samples=1024)
    assert found.quantities.loc["thrust_gain", (found.names[-1], "mean")] == pytest.approx(6.0, rel=0.01)


@pytest.mark.slow
def test_random_numbers_from_zero_on_differ_and_jobs_change_nothing() -> None:
    studies = small_and_large()
    found = {
        (number, jobs): scale(*studies, steps=2, rng=number, samples=512, jobs=jobs)
        for number, jobs in ((0, 1), (1, 1), (0, 2))
    }
    zero, one, again = found.values()
    pd.testing.assert_frame_equal(zero.quantities, again.quantities, check_exact=True)
    assert zero.ladder is not None
    assert again.ladder is not None
    pd.testing.assert_frame_equal(zero.ladder.sets, again.ladder.sets, check_exact=True)
    assert not zero.quantities.equals(one.quantities)


@pytest.mark.slow
def test_on_the_stage_itself_no_reading_leaves_less_than_all_that_is_shared() -> None:
    found = scaled(steps=3)
    assert found.ladder is not None
    never = float(found.trust.never.value)
    steps = [float(found.ladder.after_first.value), *(float(rung.left.value) for rung in found.ladder.rungs)]
    error = float(found.ladder.after_first.standard_error)
    assert float(found.trust.now.standard_uncertainty.value) > steps[0]
    assert all(step > never - 4 * error for step in steps)


def test_a_design_on_the_common_table_is_what_it_is_by_itself() -> None:
    # One table for all sizes: a step solved alone, on a table of its own, gives the same numbers.
    studies = small_and_large()
    path = path_between(*studies, 3)
    quantities = ("thrust_gain", "current", "thrust")
    stages = stages_of([step.study for step in path.steps], quantities, cover=studies, jobs=1)
    for step, stage in zip(path.steps, stages, strict=True):
        together = stage.chunk({PRESSURE: np.array([step.study.central()[PRESSURE]])}).quantities
        alone = solve(step.study).quantities
        for quantity in quantities:
            assert together[quantity][0] == pytest.approx(alone[quantity], rel=2e-4)


def test_what_cannot_be_scaled_is_refused_in_one_sentence(monkeypatch) -> None:
    known(monkeypatch, LINEAR)
    studies = ends({FACTOR: SHARED, WALL: WALLS})
    with pytest.raises(StudyError, match="one step or more between its ends; got 0"):
        scale(*studies, steps=0)
    with pytest.raises(StudyError, match=r"give a study its callable with study\.calculated_by\(model\)"):
        scale(lambda v: v, studies[1])  # type: ignore[arg-type]
    with pytest.raises(StudyError, match="the exponent of the cost must be zero or more; got -1"):
        scale(*studies, cost_exponent=-1.0)
    with pytest.raises(StudyError, match="too few for an interval: ask for 256 or more"):
        scale(*studies, samples=128)
    other = {FACTOR: {**SHARED, "unknown": 0.4}, WALL: WALLS}
    with pytest.raises(StudyError, match='"water" is stated differently'):
        scale(studies[0], ends(other)[1])
