"""What designs state: their inputs beside each other, which they state alike, and which of these they don't share."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final

import pandas as pd

from explorer import registry
from explorer.space import Uncertain
from explorer.studyfile import Study

_NOT_STATED: Final = frozenset({"magnet.kind"})  #: said by which table of the magnet stands


def stated_table(studies: Sequence[Study], names: Sequence[str]) -> pd.DataFrame:
    """Inputs and choices of designs beside each other."""
    columns: dict[tuple[str, str], dict[str, Any]] = {}
    for study, name in zip(studies, names, strict=True):
        spreads = {item.address: item.standard_uncertainty for item in study.space.inputs}
        words = {a: w for a, w in study.as_resolved()["choices"].items() if a not in _NOT_STATED}
        columns[name, "value"] = {**words, **study.central()}
        columns[name, "standard_uncertainty"] = {
            **dict.fromkeys(words),
            **{address: spreads.get(address, 0.0) for address in study.central()},
        }
    stated = {address for column in columns.values() for address in column}
    numbers = {address for study in studies for address in study.central()}
    order = sorted(stated, key=lambda address: (address in numbers, registry.position(address), address))
    table = pd.DataFrame(
        {
            key: pd.Series([column.get(address) for address in order], index=order, dtype=object)
            for key, column in columns.items()
        }
    )
    table["", "alike"] = [_alike([_statement(study, address) for study in studies]) for address in order]
    table.columns = pd.MultiIndex.from_tuples([*columns, ("", "alike")], names=("design", "figure"))
    return table.rename_axis("input")


def alike_but_apart(studies: Sequence[Study]) -> tuple[str, ...]:
    """Uncertain inputs whose unknown part the first design and another state alike and yet don't share."""
    first, *others = [{item.address: item for item in study.space.inputs} for study in studies]
    return tuple(
        address
        for address, item in first.items()
        if any(_unshared(item, other[address]) for other in others if address in other)
    )


def _unshared(one: Uncertain, other: Uncertain) -> bool:
    shares = one.shared is not None and one.shared == other.shared
    return one.unknown is not None and one.unknown == other.unknown and not shares


def _statement(study: Study, address: str) -> object:
    """All that a design says of an input, but for the name under which it shares it."""
    for item in study.space.inputs:
        if item.address == address:
            return replace(item, shared=None)
    return study.exact.get(address, study.choices.get(address))


def _alike(statements: Sequence[object]) -> bool:
    return all(statement == statements[0] for statement in statements[1:])
