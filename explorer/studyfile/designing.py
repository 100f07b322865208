"""Builds what a search may vary, what it makes small or large, and what a design must keep to."""

from collections.abc import Iterable, Mapping
from typing import Any, Final, Literal, cast

from explorer import registry
from explorer.registry import Choice, Quantity
from explorer.space import Rectangular
from explorer.studyfile import schema
from explorer.studyfile.choices import option
from explorer.studyfile.document import is_choice
from explorer.studyfile.error import StudyError
from explorer.studyfile.grammar import as_toml, exact_value
from explorer.studyfile.measuring import check_pair, flattened, known_quantity
from explorer.studyfile.sections import CHANCE, CHANCE_OF_LIMIT, Limit, Varied, Wish
from explorer.studyfile.texts import example, value_of_text
from explorer.units import UnitError

MOST_WISHES: Final[int] = 2  #: more than two have no trade-off curve

_EVENTS: Final = (*registry.STATUS_CODES, *registry.WARNING_BITS)  #: whose chance may be limited
_SHARE: Final = Quantity(
    "chance", "input", "1", "1", "", "", low=0.0, low_open=False, high=1.0, high_open=False
)


def varied_inputs(table: Mapping[str, Any] | None, pairs: tuple[str, ...]) -> tuple[Varied, ...]:
    """Return what [vary] lets a search change, in column order, words last."""
    if table is None:
        return ()
    written = flattened(table)
    if not written:
        raise StudyError(
            "vary: the table is empty: name an input with its range or list, or leave it out", "vary"
        )
    found = [_varied(address, item, pairs) for address, item in written.items()]
    return tuple(sorted(found, key=lambda item: (*registry.position(item.address), item.address)))


def _varied(address: str, written: object, pairs: tuple[str, ...]) -> Varied:
    where = f"vary.{address}"
    entry = _input(where, address, pairs)
    if isinstance(written, list):
        return _of_stock(where, address, written, entry)
    if isinstance(entry, Choice):
        stock = as_toml(entry.options[:2])
        raise StudyError(f"{where}: expected a list such as {stock}, got {as_toml(written)}", where)
    low, high = _range(where, written, entry)
    if not entry.may_be_uncertain:
        raise StudyError(f"{where}: has no range: list what is in stock", where)
    return Varied(address, low, high)


def _input(where: str, address: str, pairs: tuple[str, ...]) -> Quantity | Choice:
    """Return what the registry says about an input that may be varied."""
    if not is_choice(address):
        return known_quantity(address, pairs, where, "input")
    word = registry.choice(address)
    check_pair(where, address, pairs)
    if not word.options or address == "mode" or address.endswith(".source.kind"):
        raise StudyError(f"{where}: cannot be varied: write a study for each and compare them", where)
    return word


def _range(where: str, written: object, quantity: Quantity) -> tuple[float, float]:
    try:
        found = value_of_text(written, quantity)
    except UnitError as error:
        raise StudyError(f"{where}: {error}", where) from error
    if not isinstance(found, Rectangular):
        form = f'"1 .. {example(quantity, 2).strip(chr(34))}"'
        raise StudyError(f"{where}: expected a range such as {form} or a list, got {as_toml(written)}", where)
    for end in (found.low, found.high):
        if not quantity.inside(end).all():
            raise StudyError(f"{where}: must be {quantity.bounds_words()}; got {quantity.shown(end)}", where)
    return found.low, found.high


def _of_stock(where: str, address: str, written: list[object], entry: Quantity | Choice) -> Varied:
    if not written:
        raise StudyError(f"{where}: the list is empty", where)
    values: list[float | str] = []
    for item in written:
        if isinstance(entry, Quantity):
            value: float | str = exact_value(where, item, entry)
        elif isinstance(item, str):
            value = option(where, item, entry.options)
        else:
            raise StudyError(f"{where}: expected a word, got {as_toml(item)}", where)
        if value in values:
            raise StudyError(f"{where}: {as_toml(item)} stands twice", where)
        values.append(value)
    return Varied(address, stock=tuple(written), values=tuple(values))


def wishes(tables: Iterable[schema.WantedTable], pairs: tuple[str, ...]) -> tuple[Wish, ...]:
    """Return the wishes of [wanted] or [[wanted]]."""
    found: list[Wish] = []
    for table in tables:
        where = "wanted.quantity"
        _result_or_chance(where, table.quantity, pairs)
        if table.make not in ("smallest", "largest"):
            raise StudyError(f'wanted.make: write "smallest" or "largest"; got "{table.make}"', "wanted.make")
        if table.quantity in [wish.quantity for wish in found]:
            raise StudyError(f"wanted: {table.quantity} stands twice", where)
        found.append(Wish(table.quantity, cast(Literal["smallest", "largest"], table.make)))
    if len(found) > MOST_WISHES:
        raise StudyError(
            f"wanted: at most {MOST_WISHES} results can be wanted at once; make the others limits", "wanted"
        )
    return tuple(found)


def limits(tables: Iterable[schema.LimitTable], pairs: tuple[str, ...]) -> tuple[Limit, ...]:
    """Return the limits of [[limit]]."""
    found: list[Limit] = []
    for number, table in enumerate(tables, start=1):
        limit = _limit(f"limit[{number}]", table, pairs)
        if limit in found:
            raise StudyError(f"limit[{number}]: this limit on {limit.quantity} stands twice", "limit")
        found.append(limit)
    return tuple(found)


def _limit(where: str, table: schema.LimitTable, pairs: tuple[str, ...]) -> Limit:
    quantity = _result_or_chance(f"{where}.quantity", table.quantity, pairs)
    is_chance = table.quantity.startswith(CHANCE)
    if is_chance and table.chance is not None:
        raise StudyError(
            f"{where}.chance: {table.quantity} is a chance itself: leave chance out", f"{where}.chance"
        )
    bounds = {
        key: exact_value(f"{where}.{key}", written, quantity)
        for key, written in (("at_least", table.at_least), ("at_most", table.at_most))
        if written is not None
    }
    if not bounds:
        raise StudyError(f"{where}: needs at_least or at_most or both", where)
    if len(bounds) == 2 and not bounds["at_least"] < bounds["at_most"]:
        raise StudyError(f"{where}: at_least must lie below at_most", where)
    sides = table.quantity, bounds.get("at_least"), bounds.get("at_most")
    if is_chance:
        return Limit(*sides, chance=None)
    if table.chance is None:
        return Limit(*sides, chance=CHANCE_OF_LIMIT, chance_origin="assumed")
    return Limit(*sides, chance=float(table.chance), chance_origin="yours")


def _result_or_chance(where: str, address: str, pairs: tuple[str, ...]) -> Quantity:
    """Return what may be wanted or limited: a result, or the chance of a status or a warning."""
    if not address.startswith(CHANCE):
        return known_quantity(address, pairs, where, "output")
    event = address.removeprefix(CHANCE)
    if event not in _EVENTS:
        guess = registry.nearest(event, _EVENTS)
        hint = f'did you mean "{CHANCE}{guess}"?' if guess else f"known: {', '.join(_EVENTS)}"
        raise StudyError(f'{where}: "{event}" is no status and no warning: {hint}', where)
    return _SHARE
