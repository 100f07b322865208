"""The one registry of every input and output, choice, name, warning and status.

Schema, bounds, the list of keys, JSON units, axis labels and explanations all read it. An input is a key of a
study ("magnet.field", "electrodes.main.voltage_drop"); an output is "thrust_gain" or, of one pair,
"electrodes.main.current".
"""

import re
from collections.abc import Iterable
from typing import Final

from explorer.registry.chances import CHANCE, chance, event_words, form_of_contact, no_chance
from explorer.registry.flight_quantities import FLIGHT_INPUTS, FLIGHT_OUTPUTS
from explorer.registry.flow_outputs import EXIT_OUTPUTS, INLET_OUTPUTS, SIMILARITY_OUTPUTS
from explorer.registry.gas_inputs import GAS_INPUTS
from explorer.registry.hardware_inputs import HARDWARE_INPUTS
from explorer.registry.mass_inputs import MASS_INPUTS
from explorer.registry.mass_outputs import MASS_OUTPUTS
from explorer.registry.names import (
    CHOICES,
    CONTACT_FORMS,
    FUELS,
    LAYOUTS,
    MAGNET_GRADES,
    MODES,
    OXIDIZERS,
    PULSED_SOURCES,
    SEEDS,
    SOURCE_OF_MODE,
    SOURCES,
    STATUSES,
    WARNINGS,
)
from explorer.registry.pair_outputs import PAIR_OUTPUTS
from explorer.registry.quantity import Choice, Named, PointWarning, Quantity
from explorer.registry.spellings import LIQUIDS, OTHER_SPELLINGS, did_you_mean, house_name, nearest
from explorer.registry.spoken import spoken
from explorer.registry.study_keys import STUDY_KEYS, VALUE_FORMS, VALUE_KEYS, StudyKey

__all__ = [
    "CHANCE",
    "CHOICES",
    "CONTACT_FORMS",
    "FLIGHT_INPUTS",
    "FLIGHT_OUTPUTS",
    "FUELS",
    "INPUTS",
    "LAYOUTS",
    "LIQUIDS",
    "MAGNET_GRADES",
    "MODES",
    "OTHER_SPELLINGS",
    "OUTPUTS",
    "OXIDIZERS",
    "PULSED_SOURCES",
    "SEEDS",
    "SOURCES",
    "SOURCE_OF_MODE",
    "STATUSES",
    "STATUS_CODES",
    "STUDY_KEYS",
    "VALUE_FORMS",
    "VALUE_KEYS",
    "WARNINGS",
    "WARNING_BITS",
    "Choice",
    "Named",
    "PointWarning",
    "Quantity",
    "StudyKey",
    "UnknownAddressError",
    "called",
    "choice",
    "did_you_mean",
    "entry",
    "event_words",
    "form_of_contact",
    "house_name",
    "inputs_of",
    "is_name",
    "nearest",
    "outputs_of",
    "position",
    "quantity",
    "words_of",
]

INPUTS: Final[tuple[Quantity, ...]] = (*GAS_INPUTS, *HARDWARE_INPUTS, *MASS_INPUTS)
OUTPUTS: Final[tuple[Quantity, ...]] = (
    *INLET_OUTPUTS,
    *PAIR_OUTPUTS,
    *EXIT_OUTPUTS,
    *MASS_OUTPUTS,
    *SIMILARITY_OUTPUTS,
)

STATUS_CODES: Final[dict[str, int]] = {status.name: code for code, status in enumerate(STATUSES)}
WARNING_BITS: Final[dict[str, int]] = {warning.code: warning.bit for warning in WARNINGS}

_QUANTITIES: Final = {quantity.address: quantity for quantity in (*INPUTS, *OUTPUTS, *FLIGHT_INPUTS)}
_OF_FLIGHT: Final = {quantity.address: quantity for quantity in FLIGHT_OUTPUTS}
_CHOICES: Final = {choice.address: choice for choice in CHOICES}
_ORDER: Final = {address: number for number, address in enumerate(_QUANTITIES)}
_NAME: Final = re.compile(r"[a-z][a-z0-9_]*")
_OF_PAIR: Final = re.compile(r"electrodes\.([a-z][a-z0-9_]*)\.(.+)")


class UnknownAddressError(LookupError):
    """An address that the registry doesn't hold; the message offers the nearest one, of other names too if given.

    Finding it takes some milliseconds, so that it is looked for when the message is read and not before.
    """

    def __str__(self) -> str:
        """Return the message."""
        name, *others = map(str, self.args)
        return _unknown(name, others)


def is_name(text: str) -> bool:
    """Return whether a name that a user gives keeps to the form of addresses."""
    return _NAME.fullmatch(text) is not None


def _entry_key(address: str) -> tuple[str, str]:
    """Return an address as it stands in the registry, and its pair ("" without one)."""
    match = _OF_PAIR.fullmatch(address)
    if match is None or match[1] == "*":
        return address, ""
    starred = f"electrodes.*.{match[2]}"
    known = starred in _QUANTITIES or starred in _CHOICES
    return (starred if known else match[2]), match[1]


def quantity(address: str) -> Quantity:
    """Return a numeric input, output or chance by its address; a pair's comes back under its own address."""
    if address.startswith(CHANCE):
        if (likely := chance(address)) is None:
            raise UnknownAddressError(address)
        return likely
    key, pair = _entry_key(address)
    found = _QUANTITIES.get(key)
    if found is None or (pair and not found.per_pair):
        raise UnknownAddressError(address)
    return found.of_pair(pair) if pair else found


def words_of(address: str) -> str:
    """Return how a sentence calls a quantity: "thrust gain"; what the registry doesn't hold, as it is.

    Of an input among several studies, "bench: gas.nozzle_lag" or "gas.nozzle_lag of both", the study stays where it is.
    """
    if " = " in address:  # a variant, called by what is set in it
        own, _, written = address.partition(" = ")
        value, more, others = written.partition("; ")
        return f"{words_of(own)} = {value}{f'; {words_of(others)}' if more else ''}"
    if ": " in address:
        study, _, own = address.partition(": ")
        return f"{words_of(study)}: {words_of(own)}"
    own, of, studies = address.partition(" of ")
    if of:
        return f"{words_of(own)} of {words_of(studies)}"
    if address.startswith(CHANCE):
        return event_words(address.removeprefix(CHANCE))
    if address in _OF_FLIGHT:
        return _OF_FLIGHT[address].words
    try:
        return quantity(address).words
    except UnknownAddressError:
        return _word_of_choice(address)


def called(words: str) -> tuple[str, ...]:
    """Return the addresses of what sentences call so: "thrust gain", "voltage drop of the rear pair"."""
    bare, of, rest = words.casefold().partition(" of the ")
    pair = rest.removesuffix(" pair") if of and rest.endswith(" pair") else ""
    every = (*INPUTS, *OUTPUTS, *FLIGHT_INPUTS, *FLIGHT_OUTPUTS)
    whole = tuple(own.address for own in every if own.words.casefold() == words.casefold())
    of_pair = (own for own in every if pair and own.per_pair and own.words.casefold() == bare)
    return whole or tuple(own.of_pair(pair).address for own in of_pair)


def _word_of_choice(address: str) -> str:
    key, pair = _entry_key(address)
    if key not in _CHOICES:
        return address
    return f"{spoken(key)} of the {pair} pair" if pair else spoken(key)


def choice(address: str) -> Choice:
    """Return a choice (a word or text among the inputs) by its address, "electrodes.main.layout" included."""
    found = _CHOICES.get(_entry_key(address)[0])
    if found is None:
        raise UnknownAddressError(address)
    return found


def entry(name: str) -> Quantity | Choice | Named | PointWarning:
    """Return what the registry says about a name: an input, output, choice, fuel, seed, status, warning."""
    key, _ = _entry_key(name)
    if key in _QUANTITIES or key.startswith(CHANCE):
        return quantity(name)
    if key in _CHOICES:
        return _CHOICES[key]
    if key in _OF_FLIGHT:
        return _OF_FLIGHT[key]
    groups = (FUELS, OXIDIZERS, SEEDS, MAGNET_GRADES, STATUSES)
    by_name = {named.name: named for group in reversed(groups) for named in group}  # the fuel of two "custom"
    known = house_name(name, by_name)
    if known is not None:
        return by_name[known[0]]
    for warning in WARNINGS:
        if name.lower() in (warning.code, warning.title.lower()):
            return warning
    raise UnknownAddressError(name)


def _unknown(name: str, others: Iterable[str]) -> str:
    if name.startswith(CHANCE):
        return no_chance(name)
    words = [named.name for group in (FUELS, OXIDIZERS, SEEDS, MAGNET_GRADES, STATUSES) for named in group]
    codes = [warning.code for warning in WARNINGS]
    match = _OF_PAIR.fullmatch(name)
    pair = match[1] if match else "main"
    per_pair = [q.of_pair(pair).address for q in _QUANTITIES.values() if q.per_pair]
    choices = [address.replace("*", pair) for address in _CHOICES]
    hint = did_you_mean(name, [*_QUANTITIES, *per_pair, *choices, *words, *codes, *others])
    return f'"{name}" is not known{hint.replace("*", pair)}'


def position(address: str) -> tuple[int, str]:
    """Return an address's sort key: the registry's order, then the pair's name; unknown ones come last."""
    key, pair = _entry_key(address)
    return _ORDER.get(key, len(_ORDER)), pair


def inputs_of(pairs: Iterable[str]) -> tuple[str, ...]:
    """Return the addresses of all numeric inputs for these pairs, in column order."""
    names = sorted(pairs)
    return tuple(
        address
        for q in INPUTS
        for address in ([q.of_pair(name).address for name in names] if q.per_pair else [q.address])
    )


def outputs_of(pairs: Iterable[str]) -> tuple[str, ...]:
    """Return the addresses of all outputs for these pairs: top level first, then pair by pair."""
    per_pair = [q for q in OUTPUTS if q.per_pair]
    return (
        *(q.address for q in OUTPUTS),
        *(q.of_pair(pair).address for pair in pairs for q in per_pair),
    )
