"""A search for a design as tables: the proposal beside the study, its limits, designs beside each other, changes."""

from collections.abc import Iterator, Mapping, Sequence

from explorer import registry, units
from explorer.page.document import Table
from explorer.page.words import figure_with_sampling, listed, number_with_sampling, percent
from explorer.questions.optimize.names import (
    DIGITS,
    all_at_once,
    asked_text,
    bends,
    central_text,
    chance_text,
    expectation_text,
    in_shown_unit,
    limit_head,
    limit_words,
    range_text,
    setting_text,
    stated,
    wanted_words,
)
from explorer.questions.optimize.obstacles import change_text, left_text
from explorer.questions.optimize.search.proposal import JudgedDesign, JudgedLimit, NearestMiss, Proposal
from explorer.study.limits import MET, is_implied
from explorer.study.shown import scale_of
from explorer.studyfile import Study


def setting_table(found: Proposal, study: Study) -> Table:
    """Return what is varied: the study's value, the design's that is shown, and what was allowed."""
    now: dict[str, float | str] = {**study.choices, **study.as_written()}
    rows = tuple(
        (
            registry.words_of(item.address),
            setting_text(item.address, now.get(item.address, "")),
            setting_text(item.address, found.told.setting[item.address]),
            range_text(item),
        )
        for item in found.varied
    )
    return Table(rows, ("", "now", found.called, "range, or in stock"))


def beside_table(found: Proposal, *, brief: bool = False) -> Table:
    """Return wishes, limits and the study's target at the design told of and at the study as it stands.

    In brief the difference, which the sentences tell, is left out, and heads are short.
    """
    present = found.present
    if present is None:
        raise ValueError("a callable has no design as it stands")
    told, now, robust = found.told, present.design, found.search.robust
    rows = [
        (
            registry.words_of(a.wish.quantity),
            *(registry.quantity(a.wish.quantity).spoken(float(x.expected)) for x in (a, b)),
        )
        for a, b in zip(told.wishes, now.wishes, strict=True)
    ]
    for judged, difference in () if brief else zip(now.wishes, present.differences, strict=True):
        quantity, by = registry.quantity(judged.wish.quantity), float(difference)
        more = figure_with_sampling(quantity, by, difference.error, abs(by))
        rows.append((f"difference in {quantity.words}", more, ""))
    pairs = [
        (a, b)
        for a, b in zip(told.limits, now.limits, strict=True)
        if not is_implied(a.limit) or b.verdict != MET
    ]
    if told.target is not None and now.target is not None:
        pairs.append((told.target, now.target))
    rows += [(limit_words(a.limit), _held(a, robust=robust), _held(b, robust=robust)) for a, b in pairs]
    if told.target is not None:
        place = len(rows) - 1
        rows[place] = (f"target: {rows[place][0]}", *rows[place][1:])
    return Table(tuple(rows), ("", found.called, "now" if brief else "as the study stands"))


def _held(judged: JudgedLimit, *, robust: bool) -> str:
    shown = f"{percent(judged.chance.share, 3)}" if robust else central_text(judged)
    return f"{shown}, {judged.verdict}"


def limits_table(design: JudgedDesign, *, robust: bool) -> Table:
    """Return each limit with the chance that it holds at a design and its verdict."""
    said = stated(design)
    if not robust:
        central = tuple((limit_words(j.limit), central_text(j), j.verdict) for j in said)
        return Table(central, ("limit", "at central values", "verdict"))
    rows: list[tuple[str, ...]] = [
        (limit_head(j.limit), asked_text(j.limit), chance_text(j.chance), j.verdict) for j in said
    ]
    if (chance := all_at_once(design)) is not None:
        rows.append(("all on results at once", "", chance, ""))
    return Table(tuple(rows), ("limit", "asked", "chance", "verdict"))


def levels_table(design: JudgedDesign) -> Table:
    """Return for a reviewer the chance asked, the one that the search was held to, and what fresh points say."""
    rows = tuple(
        (
            limit_head(judged.limit),
            asked_text(judged.limit),
            percent(1.0 - judged.inner_level if judged.forbids else judged.inner_level, 4),
            chance_text(judged.chance),
            "" if judged.limit.event is not None else central_text(judged),
        )
        for judged in design.limits
    )
    return Table(rows, ("limit", "asked", "in the search", "fresh points", "keeps to"))


def trade_off_table(found: Proposal) -> Table:
    """Return the trade-off curve: what each of its designs gives of both wishes."""
    rows = tuple(
        (
            str(place + 1),
            *(expectation_text(judged) for judged in design.wishes),
            design.verdict,
            (("the knee: proposed" if bends(found) else "proposed") if place == found.knee else ""),
        )
        for place, design in enumerate(found.trade_off)
    )
    return Table(rows, ("", *(wanted_words(wish.quantity) for wish in found.wishes), "limits", ""))


def changes_table(miss: NearestMiss) -> Table:
    """Return the changes that would help, most helpful first."""
    rows = tuple((change_text(change), left_text(change)) for change in miss.changes)
    return Table(rows, ("change", "what is left"))


def designs_table(designs: Mapping[str, JudgedDesign], *, first_stands: bool, wishes: bool) -> Table:
    """Return designs beside each other, a column each, without what is the same in all of them."""
    every = list(designs.values())
    rows = [*_setting_rows(every), *(_wish_rows(every) if wishes else ()), *_verdict_rows(every)]
    numbers = frozenset(range(1, len(every) + 1))
    return Table(tuple(rows), ("", *designs), numbers, standing=2 if first_stands else 1)


def _setting_rows(designs: Sequence[JudgedDesign]) -> Iterator[tuple[str, ...]]:
    for address in _varying(designs):
        yield (
            f"{registry.words_of(address)}{_shown_unit(address)}",
            *(_cell(address, d.setting[address]) for d in designs),
        )


def _varying(designs: Sequence[JudgedDesign]) -> list[str]:
    """The varied addresses in which designs differ."""
    return [
        address for address in designs[0].setting if len({design.setting[address] for design in designs}) > 1
    ]


def _cell(address: str, value: float | str) -> str:
    return (
        value
        if isinstance(value, str)
        else units.number_text(float(in_shown_unit(scale_of(address), value)), DIGITS)
    )


def _wish_rows(designs: Sequence[JudgedDesign]) -> Iterator[tuple[str, ...]]:
    """What is expected of each wish, with the largest of the sampling errors in the row's head."""
    for place, first in enumerate(designs[0].wishes):
        name = first.wish.quantity
        expected = [design.wishes[place].expected for design in designs]
        error = max(float(in_shown_unit(scale_of(name), e.error, difference=True)) for e in expected)
        numbers = [
            number_with_sampling(float(in_shown_unit(scale_of(name), float(e))), error) for e in expected
        ]
        texts = [number.partition(" ") for number in numbers]
        sampling = texts[0][2].strip("()")
        head = f"{registry.words_of(name)}{_shown_unit(name)}{f', sampling {sampling}' if sampling else ''}"
        yield (head, *(number for number, _, _ in texts))


def _verdict_rows(designs: Sequence[JudgedDesign]) -> Iterator[tuple[str, ...]]:
    """Verdicts of the limits that not every design meets."""
    for limits in zip(*(design.limits for design in designs), strict=True):
        if any(judged.verdict != MET for judged in limits):
            yield (limit_words(limits[0].limit), *(judged.verdict for judged in limits))


def _shown_unit(name: str) -> str:
    """The unit in which a quantity is shown, in brackets with a space before; empty for words and numbers."""
    unit = scale_of(name).shown_unit
    return "" if unit in ("", "1") else f" [{unit}]"


def alike_words(designs: Sequence[JudgedDesign]) -> str:
    """Return what is the same in all designs: values, and limits that all of them meet."""
    differing = _varying(designs)
    same = [
        f"{registry.words_of(address)} {setting_text(address, value)}"
        for address, value in designs[0].setting.items()
        if address not in differing
    ]
    met = [
        limit_words(limits[0].limit)
        for limits in zip(*(design.limits for design in designs), strict=True)
        if not is_implied(limits[0].limit) and all(judged.verdict == MET for judged in limits)
    ]
    parts = ([f"The same in all: {listed(same)}."] if same else []) + (
        [f"Met by all: {'; '.join(met)}."] if met else []
    )
    return " ".join(parts)


def curve_words(found: Proposal) -> str:
    """Return what the trade-off curve says, and whether its knee means much."""
    words = "Along the curve more of one costs some of the other."
    if not bends(found):
        return f"{words} It is nearly straight, so that it has no knee: choose by what is needed."
    return f"{words} At the knee it bends most: beyond it, either way, a gain in one costs more of the other."
