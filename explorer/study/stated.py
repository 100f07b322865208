"""What designs state: their inputs beside each other, which they state alike, and which of these they don't share."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final, NamedTuple

from explorer import registry
from explorer.space import Uncertain
from explorer.studyfile import Study

_SAID_BY_ITS_TABLE: Final = frozenset(
    {"magnet.kind", "gas.kind"}
)  #: which table of the magnet, of the gas stands


class Stated(NamedTuple):
    """What a design states of an input or a choice."""

    value: float | str | None  #: [SI], or a word; None where it has no such thing
    standard_uncertainty: float | None  #: [SI]; None of a word


def stated_beside(studies: Sequence[Study]) -> tuple[dict[str, Stated], ...]:
    """Of each design, what it states of the inputs and choices of all of them; choices first."""
    each = [_stated(study) for study in studies]
    numbers = {address for study in studies for address in study.central()}
    every = {address for own in each for address in own}
    order = sorted(every, key=lambda address: (address in numbers, registry.position(address), address))
    nothing = Stated(None, None)
    return tuple({address: own.get(address, nothing) for address in order} for own in each)


def _stated(study: Study) -> dict[str, Stated]:
    spreads = {item.address: item.standard_uncertainty for item in study.space.inputs}
    words = {
        address: Stated(word, None)
        for address, word in study.as_resolved()["choices"].items()
        if address not in _SAID_BY_ITS_TABLE
    }
    return words | {
        address: Stated(value, spreads.get(address, 0.0)) for address, value in study.central().items()
    }


def stated_alike(studies: Sequence[Study], address: str) -> bool:
    """Whether all designs say the same of an input, but for the name under which they share it."""
    first, *others = [_statement(study, address) for study in studies]
    return all(statement == first for statement in others)


def _statement(study: Study, address: str) -> object:
    for item in study.space.inputs:
        if item.address == address:
            return replace(item, shared=None)
    return study.exact.get(address, study.choices.get(address))


def alike_but_apart(studies: Sequence[Study]) -> tuple[str, ...]:
    """Uncertain inputs whose unknown part the first design and another state alike and yet don't share."""
    first, *others = studies
    inputs = [{item.address: item for item in study.space.inputs} for study in others]
    return tuple(
        item.address
        for item in first.space.inputs
        if any(
            _unshared(item, own[item.address])
            for other, own in zip(others, inputs, strict=True)
            if item.address in own and first.rig.thing(item.address) != other.rig.thing(item.address)
        )
    )


def _unshared(one: Uncertain, other: Uncertain) -> bool:
    shares = one.shared is not None and one.shared == other.shared
    return one.unknown is not None and one.unknown == other.unknown and not shares
