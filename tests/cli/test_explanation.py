"""Everything in the registry can be explained, and nothing is missing from the list."""

import pytest

from explorer import registry
from explorer.cli.explanation import everything, explanation
from explorer.page.text import text_of
from explorer.registry import UnknownAddressError

NAMES = [
    *(quantity.address for quantity in (*registry.INPUTS, *registry.OUTPUTS)),
    *(choice.address for choice in registry.CHOICES),
    *(warning.code for warning in registry.WARNINGS),
    *(
        item.name
        for group in (
            registry.FUELS,
            registry.OXIDIZERS,
            registry.SEEDS,
            registry.MAGNET_GRADES,
            registry.STATUSES,
        )
        for item in group
    ),
]


@pytest.mark.parametrize("name", NAMES)
def test_every_name_of_the_registry_is_explained(name: str) -> None:
    assert len(text_of(explanation(name)).splitlines()) >= 2


def test_an_input_is_explained_with_all_that_the_registry_says() -> None:
    text = text_of(explanation("electrodes.main.voltage_drop"))
    assert text.startswith("electrodes.main.voltage_drop\n")
    for words in (
        "V_0",
        "0 V or more",
        "stands in explorer.physics.electrodes",
        "none: a study that needs it",
    ):
        assert words in text


def test_the_beginning_of_addresses_lists_what_follows() -> None:
    text = text_of(explanation("electrodes.main.source"))
    for key in ("kind", "voltage", "current_limit", "resistance"):
        assert f"electrodes.main.source.{key}" in text


def test_the_list_of_everything_holds_every_name() -> None:
    text = text_of(everything())
    assert [name for name in NAMES if name not in text] == []


def test_an_unknown_name_offers_the_nearest() -> None:
    with pytest.raises(UnknownAddressError, match=r"magnet\.field"):
        explanation("magnet.feild")
