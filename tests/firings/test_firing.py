"""What a firing is made of, and what is refused in one sentence."""

import math

import pytest

from explorer.firings import Difference, Firing, FiringError, Reading, Step, firing_of, reading_of


def test_a_pair_is_a_value_with_its_random_uncertainty() -> None:
    assert reading_of((20.0, 0.1)) == Reading(20.0, 0.1)


def test_mappings_make_the_same_firing_as_the_classes() -> None:
    made = firing_of(
        {
            "name": "7",
            "settings": {"magnet.field": "0.48 T"},
            "steps": [
                {"name": "off", "settings": {"v": 0.0}, "readings": {"thrust": (90.0, 0.3)}},
                {
                    "name": "on",
                    "settings": {"v": 100.0},
                    "readings": {"thrust": {"value": 90.2, "random": 0.3}},
                },
            ],
            "differences": [{"quantity": "thrust", "step": "on", "less": "off", "reading": (0.2, 0.02)}],
        }
    )
    off, on = (
        Step(name, {"v": v}, {"thrust": Reading(y, 0.3)})
        for name, v, y in (("off", 0.0, 90.0), ("on", 100.0, 90.2))
    )
    difference = Difference("thrust", "on", "off", Reading(0.2, 0.02))
    assert made == Firing({"magnet.field": "0.48 T"}, name="7", steps=(off, on), differences=(difference,))
    assert made.moments[1].settings == {"magnet.field": "0.48 T", "v": 100.0}


def test_a_firing_that_is_made_of_classes_may_have_readings_that_are_pairs_or_mappings() -> None:
    given = Firing({"v": 1.0}, {"thrust": (90.0, 0.3), "current": {"value": 2.0, "random": 0.1}})
    made = firing_of(given)
    assert made.readings == {"thrust": Reading(90.0, 0.3), "current": Reading(2.0, 0.1)}
    steps = firing_of(Firing(steps=(Step("off", readings={"thrust": (90.0, 0.3)}),)))
    assert steps.steps[0].readings == {"thrust": Reading(90.0, 0.3)}


def test_the_public_reading_is_that_of_a_firing() -> None:
    import explorer

    assert explorer.Reading is Reading


def test_repeats_lessen_the_random_part_alone() -> None:
    reading = Reading(20.0, 0.2, {"shunt": 0.1}, repeats=4)
    assert reading.random_of_mean == pytest.approx(0.1)
    assert reading.common == {"shunt": 0.1}


def test_a_reading_may_be_no_number_but_not_infinite() -> None:
    assert math.isnan(Reading(math.nan, 0.1).value)
    with pytest.raises(FiringError, match="infinity"):
        Reading(math.inf, 0.1)


@pytest.mark.parametrize(
    ("made", "said"),
    [
        ({"readings": {"y": (1.0, 0.0)}}, "above zero"),
        ({"settings": {"x": 1.0}}, "no readings"),
        ({"reading": {"y": (1.0, 0.1)}}, 'no "reading"'),
        ({"readings": {"y": {"value": 1.0}}}, "incomplete"),
        (
            {"readings": {"y": (1.0, 0.1)}, "steps": [{"name": "a", "readings": {"y": (1.0, 0.1)}}]},
            "belong to them",
        ),
        (
            {
                "readings": {"y": (1.0, 0.1)},
                "differences": [{"quantity": "y", "step": "a", "less": "b", "reading": (1.0, 0.1)}],
            },
            'the step "a"',
        ),
    ],
)
def test_what_no_firing_can_be_is_refused_in_one_sentence(made: dict[str, object], said: str) -> None:
    with pytest.raises(FiringError, match=said):
        firing_of(made)
