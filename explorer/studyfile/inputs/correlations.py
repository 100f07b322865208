"""[[correlation]]: the space of what is uncertain, and which of it hangs together."""

from collections.abc import Mapping
from typing import cast

from pydantic import Field

from explorer.space import Correlation, CorrelationError, InputSpace, Part, Uncertain
from explorer.studyfile.error import refusal
from explorer.studyfile.names import known_quantity
from explorer.studyfile.sections.table import Table, Text


class CorrelationTable(Table):
    """[[correlation]]."""

    between: list[str] = Field(min_length=2, max_length=2)
    rank: float = Field(gt=-1, lt=1)
    part: Text = "unknown"


def space_of(
    values: Mapping[str, float | Uncertain],
    tables: list[CorrelationTable],
    pairs: tuple[str, ...],
    made_exact: set[str],
    notes: list[str],
) -> InputSpace:
    """Return the uncertain inputs and their correlations, without those that a replacement left without object."""
    uncertain = {address: item for address, item in values.items() if isinstance(item, Uncertain)}
    correlations = []
    for table in tables:
        first, second = table.between
        for address in table.between:
            known_quantity(address, pairs, "correlation", "input")
            if address not in uncertain and address not in made_exact:
                raise refusal("correlation", f"{address} is not uncertain in this study")
        if first not in uncertain or second not in uncertain:
            notes.append(f"the correlation of {first} and {second} is left out: one of them is now exact")
            continue
        if table.part not in ("unknown", "scatter"):
            raise refusal("correlation", f'part must be "unknown" or "scatter"; got {table.part}')
        correlations.append(Correlation((first, second), table.rank, cast(Part, table.part)))
    try:
        return InputSpace.in_registry_order(uncertain.values(), correlations)
    except CorrelationError as error:
        raise refusal("correlation", error) from error
