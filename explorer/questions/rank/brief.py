"""What a ranking says on a terminal: verdict, what to measure, whether instruments see the effect, the order."""

from collections.abc import Iterator, Sequence
from typing import Final

from explorer import registry
from explorer.page import brief
from explorer.page.document import Paragraph, Section, Table
from explorer.page.events import beware
from explorer.page.words import number_with_sampling
from explorer.questions.rank.measurements import instruments_section
from explorer.questions.rank.plain_words import plain_words
from explorer.questions.rank.ranking import Ranking
from explorer.questions.rank.words import (
    amount,
    how_shares_were_told,
    not_running_words,
    required_words,
    rough_words,
)
from explorer.studyfile import Study

#: Most rows of the order.
_MOST_ROWS: Final = 6


def short_answer(rankings: Sequence[Ranking], study: Study) -> tuple[Section, ...]:
    """The short answer; of several targets the first is told, the others by their first sentences."""
    ranking = rankings[0]
    against = () if ranking.against is None else (ranking.against,)
    return brief.brief(
        [study, *against],
        f"Rank: {study.title}",
        verdict=_verdict(ranking, study),
        to_do=[
            *_to_do(ranking, study),
            *_said_of_instruments(ranking, "Fire to read"),
            *_others(rankings, study),
        ],
        beware=[
            not_running_words(ranking),
            *_said_of_instruments(ranking, "cannot see"),
            *beware(ranking.events),
            *how_shares_were_told(ranking),
            rough_words(ranking),
        ],
        numbers=_order(ranking),
        notes=["Share: of the squared uncertainty, alone, ± 95 % sampling. Left: ± if known exactly."],
    )


def _verdict(ranking: Ranking, study: Study) -> Iterator[str]:
    if ranking.chance_met is not None:
        words = registry.words_of(ranking.target)
        yield brief.verdict_line(ranking.chance_met, study.target.chance, f"{words} {required_words(study)}")


def _to_do(ranking: Ranking, study: Study) -> Iterator[str]:
    """The plain words, the measurement to make before the others; what stands elsewhere here is left out."""
    said = [
        text
        for text in plain_words(ranking, study)
        if not text.startswith(("Beware", "The chance of", "The stage does not"))
    ]
    measure = [text for text in said if text.startswith("Make the measurement ")]
    yield from measure
    yield from (text for text in said if text not in measure)


def _others(rankings: Sequence[Ranking], study: Study) -> Iterator[str]:
    for ranking in rankings[1:]:
        yield next(text for text in plain_words(ranking, study) if not text.startswith("Beware"))


def _said_of_instruments(ranking: Ranking, words: str) -> Iterator[str]:
    """What is said of instruments with some words in it: what to fire for, which cannot see the effect."""
    for section in instruments_section(ranking):
        for part in section.parts:
            if isinstance(part, Paragraph) and words in part.text:
                yield part.text.partition(" Beware")[0]


def _order(ranking: Ranking) -> Table:
    rows = []
    in_order = sorted(ranking.rows, key=lambda row: -float(row.first))  # as the sentences name them
    for row in in_order[:_MOST_ROWS]:
        share, left = row.first, row.left
        cells = (
            number_with_sampling(100 * float(share), 100 * share.half_width),
            "" if left is None else f"± {amount(ranking, left)}",
        )
        rows.append((row.called, *cells))
    return Table(tuple(rows), ("what makes it uncertain", "share %", "left"), frozenset({1, 2}))
