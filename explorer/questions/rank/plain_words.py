"""A ranking in plain words: what to pin down first, why, by which measurement, what is not worth its hours.

Only what is unknown can be pinned down. What scatters from firing to firing no test removes, and against the
model's own error no measurement of an input helps. At most three inputs are named, every number wears its unit, and
all is said in 120 words, warnings not counted: what matters less is left out, in a fixed order, where there is no room.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from explorer import registry, units
from explorer.analysis.scrambles import order
from explorer.page.events import at_once
from explorer.page.inputs import origin_words
from explorer.page.words import listed, opened, opening, percent, percent_with_sampling, the, with_uncertainty
from explorer.questions.rank.learning.knowing import Known
from explorer.questions.rank.ranking import RankedRow, Ranking
from explorer.questions.rank.shares import label
from explorer.questions.rank.words import (
    amount,
    contact_share_words,
    left_words,
    not_running_words,
    required_words,
)
from explorer.studyfile import Study

#: Most words, and most inputs named.
MOST_WORDS: Final = 120
_MOST_NAMED: Final = 3

#: Share of the squared uncertainty from which on it is "most of it" [-].
_MOST: Final = 0.5


@dataclass(frozen=True)
class _Sentence:
    text: str
    rank: int = 0  #: 0 is said in any case, a warning (-1) uncounted; of the others the smallest go first
    names: tuple[str, ...] = ()  #: of inputs in it


def plain_words(ranking: Ranking, study: Study) -> tuple[str, ...]:
    """The ranking in plain words, one matter an item, at most 120 words together but for warnings."""
    sentences = [sentence for sentence in _sentences(ranking, study) if sentence.text]
    return tuple(sentence.text for sentence in _fitting(sentences))


def _fitting(sentences: list[_Sentence]) -> list[_Sentence]:
    """The sentences that fit, in their order."""
    room = MOST_WORDS - sum(len(s.text.split()) for s in sentences if s.rank == 0)
    kept = {id(s) for s in sentences if s.rank <= 0}
    for sentence in sorted((s for s in sentences if s.rank > 0), key=lambda s: s.rank):
        if (length := len(sentence.text.split())) <= room:
            room -= length
            kept.add(id(sentence))
    return [sentence for sentence in sentences if id(sentence) in kept]


def _sentences(ranking: Ranking, study: Study) -> Iterator[_Sentence]:
    yield _Sentence(not_running_words(ranking))
    yield _Sentence(contact_share_words(ranking))
    yield _Sentence(at_once(ranking.events), -1)
    spread = float(ranking.standard_uncertainty)
    amount = with_uncertainty(registry.quantity(ranking.target), float(ranking.mean), spread)
    yield _Sentence(f"{opened(ranking.name)} in one firing: {amount} (one standard uncertainty).")
    if ranking.chance_met is not None:
        chance = percent_with_sampling(ranking.chance_met)
        yield _Sentence(f"The chance of {required_words(study)} is {chance}.", 3)
    leading = max(ranking.rows, key=lambda row: float(row.first))
    most = _counts_most(ranking, study, leading)
    yield most
    pinnable = sorted(
        (known for known in ranking.learning.known if known.row.part != "model"),
        key=lambda known: float(known.left),
    )
    if not pinnable:
        yield _Sentence("Nothing is unknown that a test could pin down.")
        return
    pin, following = _pin_down(ranking, study, pinnable)
    yield pin
    yield following
    measure, idle = _measurement(ranking, study)
    yield _Sentence(measure)
    yield _Sentence(_pays(ranking, study), 1)
    yield _Sentence(idle, 1)
    if ranking.guesses is not None and ranking.guesses.changed:
        yield _Sentence("The first choice depends on guessed ranges: see below.", 4)
    yield _second_opinion(ranking, pinnable[0], leading, (*most.names, *pin.names, *following.names))


def _counts_most(ranking: Ranking, study: Study, leading: RankedRow) -> _Sentence:
    """What a reader must know first where no measurement of an input helps much; else empty."""
    scatter = [row for row in ranking.rows if row.part == "scatter"]
    most = _MOST * float(ranking.standard_uncertainty) ** 2
    if float(ranking.shares.scatter_variance) > most and scatter:
        foremost = max(scatter, key=lambda row: float(row.first)).words
        words = f"Most of it is scatter from firing to firing, above all of {the(foremost)}; no test removes that."
        return _Sentence(words, names=(foremost,))
    if leading.part == "scatter":
        words = (
            f"What counts most, {the(leading.words)}, scatters from firing to firing, and no test removes it."
        )
        return _Sentence(words, names=(leading.words,))
    if leading.part == "model":
        own = study.model_error.of(ranking.target)
        size = (
            "" if ranking.against is not None else f" ({percent(own.relative)}, {origin_words(own.origin)})"
        )
        return _Sentence(
            f"What counts most is the model's own error{size}: measuring inputs helps little; only a powered firing"
            " helps."
        )
    return _Sentence("")


def _pin_down(ranking: Ranking, study: Study, pinnable: Sequence[Known]) -> tuple[_Sentence, _Sentence]:
    """What to pin down first, and what comes next."""
    first = pinnable[0]
    if not first.informative:
        return _Sentence(
            "No single input stands out: with any one of them known exactly the answer would be about as uncertain."
        ), _Sentence("")
    name = registry.words_of(first.row.address)
    sentence = _Sentence(
        f"Pin down {the(name)} first, the largest unknown: known exactly, it would leave ±"
        f" {amount(ranking, first.left)}.",
        names=(name,),
    )
    if len(pinnable) == 1:
        return sentence, _Sentence("")
    second = pinnable[1]
    other = registry.words_of(second.row.address)
    if order(second.variance, first.variance) == "level":
        return sentence, _Sentence(f"{opening(other)} is level with it.", 2, (other,))
    if float(second.left) > (1 - study.target.worth) * float(ranking.learning.now):
        return sentence, _Sentence("No other input comes near.", 2)
    return sentence, _Sentence(f"Next comes {the(other)}, ± {amount(ranking, second.left)}.", 2, (other,))


def _measurement(ranking: Ranking, study: Study) -> tuple[str, str]:
    """Which measurement to make first, and which are not worth their hours."""
    found = ranking.learning.measurements
    if found is None:
        return "", ""
    idle = [own.name for own in found.each if float(own.left) > (1 - found.worth) * float(found.now)]
    if len(idle) == len(found.each):
        return "None of the measurements proposed makes the answer noticeably surer.", ""
    if not found.best:
        given = math.inf if study.decision is None or study.decision.hours is None else study.decision.hours
        if math.isinf(given):
            return "None of the measurements proposed is worth its hours.", ""
        return f"No measurement that helps fits into the {units.number_text(given, 3)} h given.", ""
    step = found.best[0]
    hours = units.number_text(step.hours, 3)
    leaves = left_words(ranking, step)
    sentence = f"Make the measurement {step.names[-1]} first ({hours} h with set-up): it leaves {leaves}."
    others = [name for name in idle if name not in found.best[-1].names]
    changes = "they change" if len(others) > 1 else "it changes"
    return (
        sentence,
        f"Not worth their hours: {listed(others[:3])}; {changes} next to nothing." if others else "",
    )


def _pays(ranking: Ranking, study: Study) -> str:
    """What the best set of measurements is worth for the decision and what it costs, where pay-offs are given."""
    found, decision = ranking.learning.measurements, study.decision
    if found is None or decision is None or found.best_value is None:
        return ""
    unit = f" {decision.unit}" if decision.unit else ""
    value, error = float(found.best_value.value), found.best_value.value.error
    what = "It is" if len(found.best) == 1 else "The best set is"
    worth = (
        f"{what} worth {units.number_text(value, 2)}{unit} (sampling ± {units.number_text(error, 1)}{unit})"
    )
    if not decision.cost_per_hour:
        return f"{worth}."
    cost = decision.cost_per_hour * found.best[-1].hours
    return f"{worth} and costs {units.number_text(cost, 3)}{unit}."


def _second_opinion(ranking: Ranking, first: Known, leading: RankedRow, named: Sequence[str]) -> _Sentence:
    """A sentence if another method names another leading row than the ones that were named."""
    opinion = ranking.learning.second_opinion.leading
    if (
        opinion is None
        or opinion == first.row
        or (opinion.address, opinion.part) == (leading.address, leading.part)
    ):
        return _Sentence("")
    name = registry.words_of(label(opinion))
    if len({*named, name}) > _MOST_NAMED:
        name = "another input"
    return _Sentence(f"An independent method puts {the(name)} first.")
