"""The report of a search for a design: plain words first, what a reviewer wants last."""

from collections.abc import Iterator, Mapping
from typing import Any, Final

from matplotlib.figure import Figure

from explorer import registry
from explorer.page.answer import left_of_template
from explorer.page.cautions import cautions
from explorer.page.document import Paragraph, Part, Picture, Section, Table
from explorer.page.events import contact_lines
from explorer.page.inputs import how_read, model_error_table, notes, resolved_inputs, to_look_at
from explorer.page.provenance import provenance
from explorer.page.words import STATUS_WORDS, counted, listed, opened, percent
from explorer.questions.optimize import tables
from explorer.questions.optimize.names import (
    expectation_text,
    quantities_of,
    setting_text,
    wanted_words,
    wished,
)
from explorer.questions.optimize.obstacles import holds_back_words
from explorer.questions.optimize.search.proposal import NearestMiss, Proposal
from explorer.questions.optimize.words import plain_words, warnings_of
from explorer.studyfile import Study

_USE: Final = (
    "`optimize` puts every design through scenarios drawn from the whole of each; what is uncertain about a varied"
    " value moves with it. They were read so:"
)
_CENTRAL_USE: Final = "With --central only the middle of each was used. They were read so:"
_LIMITS: Final = (
    "Chance of what each limit states at the proposal, with its exact 95 % interval, against what was asked: at least"
    " or at most, as the line says."
)

_RANGES: Final = (
    "Searched by differential evolution (Storn and Price 1997, limits after Lampinen 2002), then polished by sequential"
    " quadratic programming (Kraft 1988) from the best places that lie far apart."
)
_LISTS: Final = (
    "Searched by tree-structured Parzen estimation (Bergstra et al. 2011, limits after Watanabe and Hutter 2023), asked"
    " and told in batches. From the best combinations of entries the lists are then searched by steps and the ranges"
    " polished by sequential quadratic programming (Kraft 1988). Lists alone are tried completely where the budget"
    " allows it."
)
_CURVE: Final = (
    "Searched by tree-structured Parzen estimation for both objectives (Bergstra et al. 2011, limits after Watanabe and"
    " Hutter 2023), asked and told in batches. The curve is then sharpened by sequential quadratic programming (Kraft"
    " 1988), one objective made as good as it can be while the other is held at evenly spaced values (Haimes et al."
    " 1971)."
    " The knee lies furthest from the straight line between the curve's ends, each objective over its width."
)
_BETTER: Final = (
    " Of two designs the one that meets all limits is better, of two that don't the one whose shortfalls add up to"
    " less."
)
_SCENARIOS: Final = (
    "Every design meets the same scenarios (common random numbers): points of a scrambled Sobol' sequence over all"
    " uncertain inputs, the model's own error among them. What is uncertain about a varied value moves with it. A limit"
    " is the quantile of its margin at the inner level, over the limit's bound."
)
_FRESH: Final = (
    "Judged on independent pseudo-random points that no search has seen, so that each chance has its exact binomial"
    " interval (Clopper and Pearson 1934). A limit is met where the whole interval lies at the chance asked or above,"
    " not met where it lies below, else not decided."
)
_ROUNDS: Final = (
    " In each round of the refinement a fresh sample of its own must accept the design with two standard errors to"
    " spare; where it doesn't, the inner level is raised. The figures come from one more sample, which no choice has"
    " seen."
)
_ONE_ROUND: Final = (
    " Inner levels lie above the chances asked by what the samples may be off; no further round is made."
)
_CENTRAL: Final = (
    "At central values every design is one operating point; a limit holds or it doesn't, and nothing has a sampling"
    " error."
)
_MARGINS: Final = (
    "Met and not met tell of the search's own scenarios; a margin is zero where a limit is just met."
)


Pictures = Mapping[str, Figure]


def optimisation_report(
    found: Proposal, study: Study, envelope: Mapping[str, Any], drawn: Pictures
) -> tuple[Section, ...]:
    """Return the report of a search for a design."""
    return (
        _heading(found, study),
        _plain(found, study),
        *_found(found, study, drawn),
        *to_look_at(study, {name: setting_text(name, value) for name, value in found.told.setting.items()}),
        how_read(study, use=_USE if found.search.robust else _CENTRAL_USE),
        cautions(study),
        _searched(found, drawn["search"]),
        *((_judged(found), _statuses(found)) if found.search.robust else ()),
        _model(found, study),
        resolved_inputs(study),
        provenance(envelope, {"budget": str(found.search.budget)}),
    )


def _heading(found: Proposal, study: Study) -> Section:
    asked = listed([f"{wanted_words(wish.quantity)} {wish.make}" for wish in found.wishes])
    what = counted(len(found.varied), "input is varied", "inputs are varied")
    line = f"Which design makes {asked} within the limits; {what}."
    return Section(study.title, (Paragraph(line), *notes(study)))


def _plain(found: Proposal, study: Study) -> Section:
    parts: list[Part] = [Paragraph(words) for words in plain_words(found, study)]
    parts += [Paragraph(words, marked=True) for words in warnings_of(found)]
    return Section("In plain words", (*parts, *left_of_template(study)))


def _found(found: Proposal, study: Study, drawn: Pictures) -> Iterator[Section]:
    if found.miss is not None:
        yield Section("The nearest miss", _design(found, study, drawn))
        if found.miss.changes:
            yield _changes(found.miss)
        return
    ready = Paragraph("proposal.toml is the study with the proposal put in, ready to run.")
    proposal = Section("The proposal", (*_design(found, study, drawn), ready))
    if found.trade_off:  # its picture shows what there is to choose from, and so leads the page
        yield from (_trade_off(found, drawn["trade_off"]), proposal)
    else:
        yield from (proposal, _near_equal(found, drawn))
    yield Section("What holds it back", tuple(Paragraph(words) for words in holds_back_words(found)))


def _design(found: Proposal, study: Study, drawn: Pictures) -> tuple[Part, ...]:
    parts: list[Part] = [tables.setting_table(found, study)]
    if found.told.limits:
        parts.append(tables.limits_table(found.told, robust=found.search.robust))
    if "limits" in drawn:
        parts.append(Picture("limits", drawn["limits"], _LIMITS))
    if found.present is not None:
        parts.append(tables.beside_table(found))
    return tuple(parts)


def _changes(miss: NearestMiss) -> Section:
    words = "Each by itself, most helpful first; what is left is told of the search's own scenarios."
    return Section("What would help", (tables.changes_table(miss), Paragraph(words)))


def _trade_off(found: Proposal, picture: Figure) -> Section:
    first, second = (wanted_words(wish.quantity) for wish in found.wishes)
    words = f"{opened(first)} against {second} along the trade-off curve, with their sampling errors (95 %)."
    parts: tuple[Part, ...] = (
        Picture("trade_off", picture, words),
        tables.trade_off_table(found),
        Paragraph(f"{tables.curve_words(found)} {tables.alike_words(found.trade_off)}"),
        tables.designs_table(found.beside, first_stands=False, wishes=False),
    )
    return Section("The trade-off curve", parts)


def _near_equal(found: Proposal, drawn: Pictures) -> Section:
    title = "Designs nearly as good"
    if not found.near_equal:
        words = f"No other design was found that comes within 2 % of the proposal's {wished(found.wishes)}."
        return Section(title, (Paragraph(words),))
    parts: list[Part] = [
        Paragraph(
            f"Within 2 % of the proposal's {wished(found.wishes)}, and elsewhere in the ranges: choose by what is"
            f" easier to build, buy or hold steady. {tables.alike_words((found.told, *found.near_equal))}"
        ),
        tables.designs_table(found.beside, first_stands=True, wishes=True),
    ]
    differ = [
        f"{name} in {listed([registry.words_of(own) for own in design.differs_in])}"
        for name, design in found.beside.items()
        if design.differs_in
    ]
    if differ:
        parts.append(Paragraph(f"They differ from the proposal most: {'; '.join(differ)}."))
    words = "Where each design stands within its ranges."
    return Section(title, (*parts, Picture("near_equal", drawn["near_equal"], words)))


def _reviewer(title: str, *parts: Part) -> Section:
    return Section(title, parts, audience="reviewer")


def _searched(found: Proposal, picture: Figure) -> Section:
    search, tried, met = found.search, len(found.designs), int(found.designs.met.sum())
    rows = {
        "designs tried in the search": search.searched,
        "designs allowed in it (budget)": search.budget,
        "different designs tried in all, with what follows the search": search.tried,
        "of these from a run that was broken off": search.resumed,
    }
    if search.robust:
        rows |= {
            "scenarios a design in the search": search.scenarios,
            "scenarios a design in the refinement": search.fine_scenarios,
            "fresh points of each judgement": search.fresh_points,
            "rounds of refinement": search.rounds,
        }
    rows["random number"] = search.random_number
    how = _LISTS if any(item.values for item in found.varied) else _RANGES
    if len(found.wishes) > 1:
        how = _CURVE
    designs = f"{counted(tried, 'design')} on the search's own scenarios, {met} of which met all limits."
    return _reviewer(
        "How it was searched",
        Paragraph(f"{how}{_BETTER}"),
        Paragraph(_SCENARIOS if search.robust else _CENTRAL),
        Table(tuple((what, str(number)) for what, number in rows.items()), (), frozenset({1})),
        Picture("search", picture, f"{designs} {_MARGINS}"),
    )


def _judged(found: Proposal) -> Section:
    rows = tuple(
        (
            wanted_words(judged.wish.quantity),
            registry.quantity(judged.wish.quantity).spoken(judged.by_search),
            expectation_text(judged),
        )
        for judged in found.told.wishes
    )
    rounds = "" if found.best is None else _ONE_ROUND if len(found.wishes) > 1 else _ROUNDS
    return _reviewer(
        "How the limits were judged",
        Paragraph(f"{_FRESH}{rounds}"),
        tables.levels_table(found.told),
        Table(rows, ("expectation over firings", "in the search", "fresh points")),
    )


def _statuses(found: Proposal) -> Section:
    rows = tuple((STATUS_WORDS[name], percent(share, 3)) for name, share in found.told.status_shares.items())
    words = "How the points of the design ended; expectations are over those that carry a number."
    table = Table(rows, ("", "share"), frozenset({1}))
    contacts = (Paragraph(text) for text in contact_lines(found.told.contacts, 0.0, full=True))
    return _reviewer("How the points ended", Paragraph(words), table, *contacts)


def _model(found: Proposal, study: Study) -> Section:
    drawn = "drawn with the rest" if found.search.robust else "left aside here"
    words = f"How far the calculation may be off even with every input right; {drawn}:"
    return _reviewer(
        "The model's own error", Paragraph(words), model_error_table(study, quantities_of(found))
    )
