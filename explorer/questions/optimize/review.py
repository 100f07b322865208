"""What a reviewer wants of a search for a design: how it was searched, on what it was judged, how points ended."""

from typing import Final

from matplotlib.figure import Figure

from explorer import registry
from explorer.page.document import Paragraph, Part, Picture, Section, Table
from explorer.page.words import STATUS_WORDS, counted, percent
from explorer.questions.optimize.names import expectation_text, quantities_of
from explorer.questions.optimize.search.proposal import Proposal
from explorer.questions.optimize.tables import levels_table
from explorer.studyfile import Study

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
    "Searched by tree-structured Parzen estimation for both wishes (Bergstra et al. 2011, limits after Watanabe and"
    " Hutter 2023), asked and told in batches. The curve is then sharpened by sequential quadratic programming (Kraft"
    " 1988), one wish made as good as it can be while the other is held at evenly spaced values (Haimes et al. 1971)."
    " The knee lies furthest from the straight line between the curve's ends, each wish over its width."
)
_BETTER: Final = (
    " Of two designs the one that meets all limits is better, of two that don't the one whose shortfalls add up to"
    " less."
)
_SCENARIOS: Final = (
    "Every design meets the same scenarios (common random numbers): points of a scrambled Sobol' sequence over all"
    " uncertain rows, the model's own error among them. What is uncertain about a varied value moves with it. A limit"
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
_TRIED_ON: Final = "designs tried, looking for the nearest miss and for what would help included"
_MARGINS: Final = (
    "Met and not met tell of the search's own scenarios; a margin is zero where a limit is just met."
)


def review(found: Proposal, study: Study, picture: Figure) -> tuple[Section, ...]:
    """Return the sections for a reviewer."""
    judged = (_judged(found), _statuses(found)) if found.search.robust else ()
    return (_searched(found, picture), *judged, _model(found, study))


def _reviewer(title: str, *parts: Part) -> Section:
    return Section(title, parts, audience="reviewer")


def _searched(found: Proposal, picture: Figure) -> Section:
    search, tried, met = found.search, len(found.designs), int(found.designs.met.sum())
    rows = {
        "designs tried" if found.best is not None else _TRIED_ON: tried,
        "of these met all limits": met,
        "designs allowed (budget)": search.budget,
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
    designs = f"{counted(tried, 'design')} tried, {met} of which met all limits."
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
            judged.wish.quantity,
            registry.quantity(judged.wish.quantity).shown(judged.by_search),
            expectation_text(judged),
        )
        for judged in found.told.wishes
    )
    rounds = "" if found.best is None else _ONE_ROUND if len(found.wishes) > 1 else _ROUNDS
    return _reviewer(
        "How the limits were judged",
        Paragraph(f"{_FRESH}{rounds}"),
        levels_table(found.told),
        Table(rows, ("expectation over firings", "in the search", "fresh points")),
    )


def _statuses(found: Proposal) -> Section:
    rows = tuple((STATUS_WORDS[name], percent(share, 3)) for name, share in found.told.status_shares.items())
    words = "How the points of the design ended; expectations are over those that carry a number."
    return _reviewer("How the points ended", Paragraph(words), Table(rows, ("", "share"), frozenset({1})))


def _model(found: Proposal, study: Study) -> Section:
    rows = []
    for name in quantities_of(found):
        own = study.model_error.of(name)
        rows.append((name, percent(own.relative) if own.relative else "none stated", own.origin))
    drawn = "drawn with the rest" if found.search.robust else "left aside here"
    words = f"How far the calculation may be off though every input were right; {drawn}:"
    table = Table(tuple(rows), ("", "standard uncertainty", "whose"))
    return _reviewer("The model's own error", Paragraph(words), table)
