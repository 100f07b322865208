"""Everything in the registry can be explained, and nothing is missing from the list."""

import contextlib
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, get_origin

import pytest
from pydantic import BaseModel
from pydantic.fields import FieldInfo

from explorer import registry
from explorer.cli.explanation import everything, explanation
from explorer.cli.glossary import ALSO, GLOSSARY
from explorer.cli.questions import COMMANDS
from explorer.page.text import text_of
from explorer.registry import STUDY_KEYS, UnknownAddressError
from explorer.studyfile.schema import document_model, model_in

STUDIES = Path(__file__).parents[1] / "studies"

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
    every = (*NAMES, *GLOSSARY, *(command.name for command in COMMANDS), *STUDY_KEYS)
    assert [name for name in every if name not in text] == []


def _keys_of(document: Mapping[str, Any], head: str = "") -> Iterator[str]:
    """Keys of a study file as TOML reads them, without names of the user's own and without values' tables."""
    for key, item in document.items():
        address = f"{head}{key}"
        if address in ("vary", "model_error") or address.rpartition(".")[2] in (
            "pins",
            "observes",
            "settings",
        ):
            yield address  # below it stand addresses
        elif isinstance(item, list) and item and isinstance(item[0], dict):
            yield address
            for table in item:
                yield from _keys_of(table, f"{address}.")
        elif isinstance(item, dict) and (head.count(".") < 1 or key == "source"):
            yield address
            yield from _keys_of(item, f"{address}.")
        else:
            yield address


@pytest.mark.parametrize("study", sorted(STUDIES.glob("*.toml")), ids=lambda path: path.stem)
def test_every_key_that_stands_in_a_demo_study_is_explained(study: Path) -> None:
    text = study.read_text(encoding="utf-8")
    keys = set(_keys_of(tomllib.loads(text)))
    assert len(keys) > (4 if "like =" in text else 15)
    for key in keys:
        assert text_of(explanation(key)), key


def test_every_key_that_a_study_may_have_is_explained_with_a_sentence_of_its_own() -> None:
    assert {
        "target.worth",
        "measurement.pins",
        "instrument.reads",
        "wanted.make",
        "flight.phase.mode",
    } <= set(STUDY_KEYS)
    for address, word in STUDY_KEYS.items():
        assert word.sentence.endswith("."), address
        assert " ".join(word.sentence.split()[:3]) in " ".join(text_of(explanation(address)).split())


def _in_schema(model: type[BaseModel], head: str = "") -> Iterator[tuple[str, FieldInfo]]:
    """Keys of the schema that are no inputs of the registry."""
    inputs = {entry.address.partition(".")[0] for entry in (*registry.INPUTS, *registry.CHOICES)}
    flight = {quantity.address for quantity in registry.FLIGHT_INPUTS}
    for name, field in model.model_fields.items():
        if f"{head}{name}" in flight or (not head and name in inputs):
            continue
        yield f"{head}{name}", field
        with contextlib.suppress(StopIteration):
            yield from _in_schema(model_in(field.annotation), f"{head}{name}.")


def test_the_keys_that_are_explained_are_those_of_the_schema_and_state_its_defaults() -> None:
    schema = dict(_in_schema(document_model()))
    assert set(schema) - set(STUDY_KEYS) == set()
    assert set(STUDY_KEYS) - set(schema) == {"like", "rig", "model_error.shared"}
    for address, field in schema.items():
        key = STUDY_KEYS[address]
        if key.heading:
            assert key.heading.startswith("[[") == (get_origin(field.annotation) is list)
            continue
        default = None if field.is_required() else field.get_default(call_default_factory=True)
        left_out = "may be left out" if default in (None, "", {}, []) else f"{default} if left out"
        assert key.stated == ("must be stated" if field.is_required() else left_out.replace(".0 ", " ")), (
            address
        )


@pytest.mark.parametrize("command", [command.name for command in COMMANDS])
def test_every_command_is_explained_with_its_options(command: str) -> None:
    text = text_of(explanation(command))
    assert f"{command} (command)" in text
    assert f"mhdstage {command} [-h]" in text


@pytest.mark.parametrize("word", [*GLOSSARY, *ALSO])
def test_every_word_of_the_page_is_explained(word: str) -> None:
    assert " ".join(GLOSSARY[ALSO.get(word, word)].split()[:3]) in " ".join(
        text_of(explanation(word)).split()
    )


@pytest.mark.parametrize(
    ("words", "titles"),
    [
        ("thrust gain", ["thrust_gain"]),
        ("magnetic field", ["magnet.field", "field"]),
        ("voltage drop of the rear pair", ["electrodes.rear.voltage_drop"]),
        ("break-even specific power", ["break_even_specific_power"]),
    ],
)
def test_what_sentences_call_a_quantity_is_explained(words: str, titles: list[str]) -> None:
    assert [section.title for section in explanation(words)] == titles


def test_words_that_are_explained_stand_in_what_commands_say() -> None:
    said = " ".join(
        " ".join(path.read_text(encoding="utf-8").split()).lower()
        for path in (Path(__file__).parents[1] / "goldens" / "said").glob("*.txt")
        if not path.stem.startswith("explain")
    )
    assert [word for word in GLOSSARY if word not in said] == []


def test_a_word_that_is_a_key_and_a_table_and_a_command_tells_of_each() -> None:
    assert [part.title for part in explanation("flight")] == [
        "[flight]",
        "Inputs of flight",
        "flight (command)",
    ]
    titles = [part.title for part in explanation("shared")]
    assert titles == ["shared (in the table of a value)", "model_error.shared"]
    assert explanation("[[measurement]]") == explanation("measurement")


@pytest.mark.parametrize(
    "slip,meant",
    [
        ("mesurement.pins", "measurement.pins"),
        ("laddr", "ladder"),
        ("optimise", "optimize"),
        ("instrumnt", "instrument"),
    ],
)
def test_a_slip_in_a_key_a_command_or_a_word_offers_the_nearest(slip: str, meant: str) -> None:
    with pytest.raises(UnknownAddressError, match=f'did you mean "{meant}"'):
        explanation(slip)


def test_an_unknown_name_offers_the_nearest() -> None:
    with pytest.raises(UnknownAddressError, match=r"magnet\.field"):
        explanation("magnet.feild")
