"""[vary], [wanted] and [[limit]]: what a search may change, what it is after, and what a design must keep to."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final, Literal, cast

from pydantic import Field

from explorer import registry
from explorer.registry import CHANCE, Choice, Quantity
from explorer.studyfile.document import flattened, is_choice
from explorer.studyfile.error import StudyError, naming, refusal
from explorer.studyfile.inherited import Inheritance
from explorer.studyfile.names import check_pair, known_quantity, option
from explorer.studyfile.sections.table import Share, Table, Text, Written
from explorer.studyfile.sections.target import bounds
from explorer.studyfile.values import as_toml, exact_value, range_of
from explorer.studyfile.values.text import example

#: Chance with which a limit must hold where the study names none; assumed, no source.
CHANCE_OF_LIMIT: Final[float] = 0.9

MOST_WISHES: Final[int] = 2  #: more than two have no trade-off curve


class WantedTable(Table):
    """[wanted], or [[wanted]] twice."""

    quantity: Text
    make: Text


class LimitTable(Table):
    """[[limit]]."""

    quantity: Text
    at_least: Written = None
    at_most: Written = None
    chance: Share | None = Field(default=None, gt=0, lt=1)


@dataclass(frozen=True)
class Varied:
    """An input that a search may change: anywhere in a range, or one of what is in stock."""

    address: str
    low: float | None = None  #: lower end of the range [SI]; None with a stock
    high: float | None = None  #: upper end [SI]
    stock: tuple[object, ...] = ()  #: as written; empty with a range
    values: tuple[float | str, ...] = ()  #: the stock in SI, or its words

    @property
    def is_word(self) -> bool:
        """Whether it is a choice among words, such as a magnet grade."""
        return bool(self.values) and isinstance(self.values[0], str)


@dataclass(frozen=True)
class Wish:
    """What a search makes as small or as large as the limits allow."""

    quantity: str  #: a result, or "chance." and a status, a warning's code or a form of contact
    make: Literal["smallest", "largest"]


@dataclass(frozen=True)
class Limit:
    """What a design must keep to: a result with a chance, or a chance itself."""

    quantity: str  #: a result, or "chance." and a status, a warning's code or a form of contact
    at_least: float | None = None  #: [SI]
    at_most: float | None = None  #: [SI]
    chance: float | None = CHANCE_OF_LIMIT  #: with which it must hold [-]; None where `quantity` is a chance
    chance_origin: str = field(default="assumed", compare=False)  #: "yours" or "assumed"

    @property
    def event(self) -> str | None:
        """The status, warning or form of contact whose chance is limited, None where a result is."""
        return self.quantity.removeprefix(CHANCE) if self.quantity.startswith(CHANCE) else None


def varied_inputs(table: Mapping[str, Any] | None, pairs: tuple[str, ...]) -> tuple[Varied, ...]:
    """Return what [vary] lets a search change, in column order, words last."""
    if table is None:
        return ()
    written = flattened(table)
    if not written:
        raise refusal("vary", "the table is empty: name an input with its range or list, or leave it out")
    found = [_varied(address, item, pairs) for address, item in written.items()]
    return tuple(sorted(found, key=lambda item: (*registry.position(item.address), item.address)))


def _varied(address: str, written: object, pairs: tuple[str, ...]) -> Varied:
    where = f"vary.{address}"
    entry = _input(where, address, pairs)
    if isinstance(written, list):
        return _of_stock(where, address, written, entry)
    if isinstance(entry, Choice):
        stock = as_toml(entry.options[:2])
        raise refusal(where, f"expected a list such as {stock}, got {as_toml(written)}")
    form = f'"1 .. {example(entry, 2).strip(chr(34))}"'
    no_range = f"expected a range such as {form} or a list, got {as_toml(written)}"
    ends = range_of(where, written, entry, no_range)
    for end in ends:
        if not entry.inside(end).all():
            raise refusal(where, f"must be {entry.bounds_words()}; got {entry.shown(end)}")
    if not entry.may_be_uncertain:
        raise refusal(where, "has no range: list what is in stock")
    return Varied(address, *ends)


def _input(where: str, address: str, pairs: tuple[str, ...]) -> Quantity | Choice:
    """Return what the registry says about an input that may be varied."""
    if not is_choice(address):
        return known_quantity(address, pairs, where, "input")
    word = registry.choice(address)
    check_pair(where, address, pairs)
    if not word.options or address == "mode" or address.endswith(".source.kind"):
        raise refusal(where, "cannot be varied: write a study for each and compare them")
    return word


def _of_stock(where: str, address: str, written: list[object], entry: Quantity | Choice) -> Varied:
    if not written:
        raise refusal(where, "the list is empty")
    values: list[float | str] = []
    for item in written:
        if isinstance(entry, Quantity):
            value: float | str = exact_value(where, item, entry)
        elif isinstance(item, str):
            value = option(where, item, entry.options)
        else:
            raise refusal(where, f"expected a word, got {as_toml(item)}")
        if value in values:
            raise refusal(where, f"{as_toml(item)} stands twice")
        values.append(value)
    return Varied(address, stock=tuple(written), values=tuple(values))


def wishes(tables: Iterable[WantedTable], pairs: tuple[str, ...], inherited: Inheritance) -> tuple[Wish, ...]:
    """Return the wishes of [wanted] or [[wanted]]; half of a trade-off is none."""
    return next(iter(inherited.each("wanted", [tables], lambda all_of_them: _wishes(all_of_them, pairs))), ())


def _wishes(tables: Iterable[WantedTable], pairs: tuple[str, ...]) -> tuple[Wish, ...]:
    found: list[Wish] = []
    for table in tables:
        where = "wanted.quantity"
        _result_or_chance(where, table.quantity, pairs)
        if table.make not in ("smallest", "largest"):
            raise refusal("wanted.make", f'write "smallest" or "largest"; got "{table.make}"')
        if table.quantity in [wish.quantity for wish in found]:
            raise StudyError(f"wanted: {table.quantity} stands twice", where)
        found.append(Wish(table.quantity, cast(Literal["smallest", "largest"], table.make)))
    if len(found) > MOST_WISHES:
        most = f"at most {MOST_WISHES} results can be wanted at once; make the others limits"
        raise refusal("wanted", most)
    return tuple(found)


def limits(tables: Iterable[LimitTable], pairs: tuple[str, ...], inherited: Inheritance) -> tuple[Limit, ...]:
    """Return the limits of [[limit]]."""
    found: list[Limit] = []

    def made(numbered: tuple[int, LimitTable]) -> None:
        number, table = numbered
        limit = _limit(f"limit[{number}]", table, pairs)
        if limit in found:
            raise StudyError(f"limit[{number}]: this limit on {limit.quantity} stands twice", "limit")
        found.append(limit)

    inherited.each("limit", enumerate(tables, start=1), made)
    return tuple(found)


def _limit(where: str, table: LimitTable, pairs: tuple[str, ...]) -> Limit:
    quantity = _result_or_chance(f"{where}.quantity", table.quantity, pairs)
    is_chance = table.quantity.startswith(CHANCE)
    if is_chance and table.chance is not None:
        raise refusal(f"{where}.chance", f"{table.quantity} is a chance itself: leave chance out")
    required = bounds(where, table, quantity)
    if required == (None, None):
        raise refusal(where, "needs at_least or at_most or both")
    if is_chance:
        return Limit(table.quantity, *required, chance=None)
    if table.chance is None:
        return Limit(table.quantity, *required)
    return Limit(table.quantity, *required, chance=table.chance, chance_origin="yours")


def _result_or_chance(where: str, address: str, pairs: tuple[str, ...]) -> Quantity:
    """Return what may be wanted or limited: a result or a chance."""
    if not address.startswith(CHANCE):
        return known_quantity(address, pairs, where, "output")
    with naming(where):
        found = registry.quantity(address)
    check_pair(where, address.removeprefix(CHANCE), pairs)
    return found
