"""Several studies in one space: which rows it has, and that scatter on what is shared keeps inside an input's ends."""

import numpy as np
import pytest
from study.known_models import study_of

from explorer import StudyError
from explorer.space import Row
from explorer.study.joint import joint_of, study_names
from explorer.study.model_error import SHARED_MODEL

WALL, FACTOR, FIELD = "channel.wall_temperature", "gas.conductivity_factor", "magnet.field"
ERRORS = '\n[model_error]\nthrust_gain = "10 %"\ncurrent = "20 %"\nshared = "60 %"\n'


def values(joint, points: int = 4096):
    cube = np.random.default_rng(0).random((points, joint.space.dimension))
    return joint.space.values(cube)


def test_rows_are_what_is_shared_then_each_studys_own_then_the_models_errors() -> None:
    water = {"value": 1.0, "unknown": 0.1, "scatter": 0.05, "shared": "water"}
    studies = [study_of({FACTOR: water, WALL: wall}, ERRORS) for wall in ("800 ± 10 K", "900 ± 10 K")]
    joint = joint_of(studies, (["thrust_gain"], ["thrust_gain", "current"]))
    first, second = study_names(*studies)
    assert joint.space.rows == (
        Row("shared water", "unknown"),
        Row(f"{first}: {FACTOR}", "scatter"),
        Row(f"{first}: {WALL}", "unknown"),
        Row(f"{second}: {FACTOR}", "scatter"),
        Row(f"{second}: {WALL}", "unknown"),
        *(
            Row(name, "model", called=name)
            for name in (
                f"{SHARED_MODEL}: thrust_gain",
                f"{first}: the model itself: thrust_gain",
                f"{second}: the model itself: thrust_gain",
                f"{second}: the model itself: current",  # nobody to have it in common with
            )
        ),
    )
    assert joint.sides[0].aliases == {FACTOR: "shared water", WALL: f"{first}: {WALL}"}


def test_a_name_that_only_one_study_uses_is_shared_with_nobody() -> None:
    water = {"value": 1.0, "unknown": 0.1, "shared": "water"}
    joint = joint_of([study_of({FACTOR: water}), study_of({FACTOR: "1.0 ± 0.1"})], ([], []))
    assert joint.shared == {}
    assert not any(row.address.startswith("shared") for row in joint.space.rows)


def test_studies_of_one_name_are_numbered_by_their_place() -> None:
    study = study_of({})
    assert study_names(study, study) == ("Invented, for tests 1", "Invented, for tests 2")


def test_studies_of_one_rig_are_named_by_what_is_replaced_in_them_alone() -> None:
    study = study_of({WALL: "800 ± 10 K"})
    weak, strong = (study.replaced({FIELD: f"{field} T", "channel.length": "95 mm"}) for field in (0.5, 0.6))
    assert study_names(weak, strong) == (f"{FIELD} = 0.5 T", f"{FIELD} = 0.6 T")
    assert study_names(study, strong) == ("Invented, for tests", f"{FIELD} = 0.6 T; channel.length = 95 mm")


def test_scatter_on_what_is_shared_keeps_inside_the_ends_of_the_input() -> None:
    # A field that cannot exceed 0.50 T, known to 0.02 T, with scatter of 0.02 T: the plain sum would exceed it.
    field = {"value": "0.48 T", "unknown": "0.02 T", "scatter": "0.02 T", "high": "0.50 T", "shared": "probe"}
    joint = joint_of([study_of({FIELD: field}), study_of({FIELD: field})], ([], []))
    found = values(joint)
    own = [side.values(found)[FIELD] for side in joint.sides]
    fixed = found["shared probe"]
    for side, x in zip(joint.sides, own, strict=True):
        scatter = found[side.terms[FIELD][1]]
        assert np.max(fixed + scatter - 0.48) > 0.51
        assert x.max() <= 0.50
    # By the study's own space the same probabilities give the same values.
    item = joint.sides[0].study.space.inputs[0]
    again = item.values(
        item.unknown.cumulative(fixed), item.scatter.cumulative(found[joint.sides[0].terms[FIELD][1]])
    )
    np.testing.assert_allclose(own[0], again, rtol=1e-9)
    assert np.corrcoef(own[0], own[1])[0, 1] > 0.2


def test_without_ends_in_reach_the_parts_add() -> None:
    field = {"value": "0.48 T", "unknown": "0.02 T", "scatter": "0.01 T", "shared": "probe"}
    joint = joint_of([study_of({FIELD: field}), study_of({FIELD: field})], ([], []))
    found = values(joint)
    for side in joint.sides:
        total = found["shared probe"] + found[side.terms[FIELD][1]] - 0.48
        np.testing.assert_allclose(side.values(found)[FIELD], total, rtol=1e-14)


def test_an_output_that_nobody_asks_of_a_design_has_no_factor() -> None:
    studies = [study_of({FACTOR: "1.0 ± 0.1"}, ERRORS) for _ in range(2)]
    joint = joint_of(studies, (["current"], []))
    found = values(joint)
    assert joint.model_factor(joint.sides[1], "current", found) == 1.0
    # A factor of median 1 whose logarithm has the variance ln(1 + r²).
    spread = np.log(joint.model_factor(joint.sides[0], "current", found)).std()
    np.testing.assert_allclose(spread, np.sqrt(np.log1p(0.2**2)), rtol=0.05)


def test_correlations_that_cannot_hold_together_are_refused_with_the_pair_to_blame() -> None:
    # a goes with b and b with c in the first study; in the second a goes against c.
    a, b, c = FACTOR, "gas.nozzle_lag", "gas.seed_vaporized"
    inputs = {
        a: {"value": 2.0, "unknown": 0.1, "shared": "a"},
        b: {"value": 0.7, "unknown": 0.02, "shared": "b"},
        c: {"value": 0.8, "unknown": 0.02, "shared": "c"},
    }
    tied = "".join('\n[[correlation]]\nbetween = ["{}", "{}"]\nrank = {}\n' for _ in range(2))
    first = study_of(inputs, tied.format(a, b, 0.6, b, c, 0.6))
    second = study_of(inputs, f'\n[[correlation]]\nbetween = ["{a}", "{c}"]\nrank = -0.6\n')
    with pytest.raises(StudyError, match="the correlations contradict each other"):
        joint_of([first, second], ([], []))
