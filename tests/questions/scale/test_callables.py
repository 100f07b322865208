"""The way between two callables against the closed form of a linear-Gaussian model, and bad input."""

import numpy as np
import pytest
from study.known_models import study_of

from explorer import StudyError, scale

#: c is what all share; w is each design's own, its scatter anew at each firing.
WALL = {"value": 0, "unknown": 0.2, "scatter": 0.3}
FIRST = {"size": 1, "c": "4 ± 0.5", "w": WALL}
LAST = {"size": 2, "w": WALL}
LOAD_CELL = {"name": "load_cell", "reads": "gain", "random": "0.2", "common": "0.1"}


def slope(place):
    """How strongly a design hangs on what all share; sizes go by equal ratios."""
    return 0.5 + 2.0 * place


def gain(values):
    return {"gain": slope(np.log2(values["size"])) * values["c"] + values["w"]}


def exact(places, *, fired=False):
    """Standard uncertainty of the last gain after firings: c'ΣH'(HΣH' + R)⁻¹HΣc off the variance, as in any textbook.

    Unknowns: c, the load cell's own error, the last design's w. Of the first design ever more firings are made.
    """
    h = np.array([[slope(p), 0.1, 0.0] for p in (0.0, *places)] + [[slope(1.0), 0.1, 1.0]] * fired)
    prior, anew = np.diag([0.5**2, 1.0, 0.2**2]), 0.3**2 + 0.2**2
    noise = np.diag([0.2**2, *([0.2**2 + anew] * len(places)), *([anew] * fired)])
    c = np.array([slope(1.0), 0.0, 1.0])
    fall = c @ prior @ h.T @ np.linalg.solve(h @ prior @ h.T + noise, h @ prior @ c)
    return float(np.sqrt(c @ prior @ c + 0.3**2 - fall))


def way(**options):
    settled = {"target": "gain", "instruments": [LOAD_CELL], "steps": 3, "samples": 16_384, "rng": 1}
    return scale(gain, gain, [FIRST, LAST], **{**settled, **options})


@pytest.fixture(scope="module")
def found():
    return way(cost=30.0)


def test_what_is_left_at_each_stage_is_the_closed_form(found) -> None:
    """Regressions on 16384 points: within a per cent."""
    now = np.sqrt((2.5 * 0.5) ** 2 + 0.2**2 + 0.3**2)
    assert float(found.now.standard_uncertainty) == pytest.approx(now, rel=0.01)
    assert float(found.after_first) == pytest.approx(exact(()), rel=0.01)
    assert found.fired is not None
    assert float(found.fired) == pytest.approx(exact((), fired=True), rel=0.02)
    assert float(found.never) == pytest.approx(np.hypot(0.2, 0.3), rel=0.02)  # c known: its own w and scatter


def test_the_steps_chosen_leave_what_the_closed_form_says(found) -> None:
    assert found.plan is not None
    places = tuple(design.place for design in found.plan.designs)
    assert places
    assert float(found.plan.left) == pytest.approx(exact(places), rel=0.02)
    assert found.plan.cost == pytest.approx(sum(30.0**place for place in places))
    assert list(found.stages.index)[:2] == ["now", "after the first design's firings"]
    assert "standard uncertainty of gain" in repr(found)


def test_a_ladder_pays_only_where_the_last_firing_is_dear(found) -> None:
    assert way(cost=1.0).climb == "not worth climbing"
    assert way(cost=1000.0).climb == "worth climbing"


def test_steps_go_by_equal_ratios_with_the_nearer_ends_uncertainty() -> None:
    designs = way(samples=2048).designs
    sizes = [own.exact["size"] for own in designs]
    np.testing.assert_allclose(sizes, 2.0 ** np.array([0.0, 0.25, 0.5, 0.75, 1.0]))
    wide = scale(
        gain,
        gain,
        [{"size": "1 ± 0.02", "c": "4 ± 0.5", "w": 0}, {"size": "2 ± 0.05"}],
        target="gain",
        instruments=[LOAD_CELL],
        steps=3,
        samples=2048,
    ).designs
    spreads = [own.items[0].standard_uncertainty for own in wide]
    np.testing.assert_allclose(spreads, [0.02, 0.02, 0.05, 0.05, 0.05])


def test_what_carries_a_shared_name_is_one_thing_even_where_it_is_stated_anew() -> None:
    """With w's unknown part shared the first design's firings teach it too: only its scatter stays."""
    shared = {**WALL, "shared": "wall"}
    found = scale(
        gain,
        gain,
        [{**FIRST, "w": shared}, {"size": 2, "w": shared}],
        target="gain",
        instruments=[LOAD_CELL],
        steps=1,
        samples=4096,
    )
    assert float(found.never) == pytest.approx(0.3, rel=0.03)


@pytest.mark.parametrize(
    ("inputs", "options", "said"),
    [
        (FIRST, {}, "give two mappings of inputs"),
        ([FIRST, {}], {}, "no length"),
        ([FIRST, LAST], {"instruments": []}, "no instrument"),
        ([FIRST, LAST], {"target": "thrust"}, "not among what the callable gives"),
        ([FIRST, LAST], {"cost": 0.0}, "must be above zero"),
        ([{"size": 1}, {"size": 2}], {}, "nothing is uncertain"),
        ([FIRST, LAST], {"instruments": [{"name": "a", "reads": "gain"}]}, "random or common"),
    ],
)
def test_what_makes_no_way_is_refused(inputs, options, said) -> None:
    model = (
        gain if "w" in (inputs[0] if isinstance(inputs, list) else inputs) else lambda v: {"gain": v["size"]}
    )
    settled = {"target": "gain", "instruments": [LOAD_CELL], "samples": 2048}
    with pytest.raises(StudyError, match=said):
        scale(model, model, inputs, **{**settled, **options})


def test_studies_and_callables_do_not_mix() -> None:
    study = study_of({"channel.wall_temperature": "800 ± 20 K"})
    with pytest.raises(StudyError, match="from one study to another, or between callables"):
        scale(study, gain)
    with pytest.raises(StudyError, match="leave these out"):
        scale(study, study, target="thrust_gain")
