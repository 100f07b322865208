"""[[correlation]]: the space of what is uncertain, and which of it hangs together."""

from collections.abc import Mapping
from typing import Any, Final, cast

from pydantic import Field

from explorer import registry
from explorer.space import Correlation, CorrelationError, InputSpace, Part, SharedError, Uncertain
from explorer.studyfile.error import StudyError, refusal
from explorer.studyfile.inherited import Inheritance
from explorer.studyfile.names import known_quantity
from explorer.studyfile.sections.table import Table, Text

_KEY: Final = "correlation"


class CorrelationTable(Table):
    """[[correlation]]."""

    between: list[str] = Field(min_length=2, max_length=2)
    rank: float = Field(gt=-1, lt=1)
    part: Text = "unknown"


def correlation_of(written: Correlation | Mapping[str, Any]) -> Correlation:
    """Return a correlation given as such, or as a mapping of between, rank and part."""
    if isinstance(written, Correlation):
        return written
    try:
        first, second = written["between"]
        return Correlation((first, second), float(written["rank"]), written.get("part", "unknown"))
    except (KeyError, TypeError, ValueError) as error:
        raise StudyError(
            f"a correlation needs between = [a, b] and a rank, as a mapping or a Correlation; got {written!r}"
        ) from error


def space_of(
    values: Mapping[str, float | Uncertain],
    tables: list[CorrelationTable],
    pairs: tuple[str, ...],
    made_exact: set[str],
    inherited: Inheritance,
) -> InputSpace:
    """Return the uncertain inputs and their correlations, without those that a change left without object."""
    uncertain = {address: item for address, item in values.items() if isinstance(item, Uncertain)}
    gone = set(values) if inherited.holds(_KEY) else made_exact

    def stated(table: CorrelationTable) -> Correlation | None:
        first, second = table.between
        for address in table.between:
            known_quantity(address, pairs, _KEY, "input")
            if address not in uncertain and address not in gone:
                raise refusal(_KEY, f"{address} is not uncertain in this study")
        if first not in uncertain or second not in uncertain:
            both = f"{registry.words_of(first)} and {registry.words_of(second)}"
            inherited.left_out(f"the correlation of {both} is left out: one of them is now exact")
            return None
        if table.part not in ("unknown", "scatter"):
            raise refusal(_KEY, f'part must be "unknown" or "scatter"; got {table.part}')
        return Correlation((first, second), table.rank, cast(Part, table.part))

    correlations = [item for item in inherited.each(_KEY, tables, stated) if item is not None]
    try:
        return InputSpace.in_registry_order(uncertain.values(), correlations)
    except CorrelationError as error:
        raise refusal(_KEY, error) from error
    except SharedError as error:
        raise StudyError(str(error)) from error
