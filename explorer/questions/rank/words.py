"""A ranking in plain words: what to pin down first, why, by which measurement, what not to bother with.

Only what is unknown can be pinned down. What scatters from firing to firing no test removes, and against the
model's own error no measurement of an input helps. At most three inputs are named, every number wears its unit, and
all is said in 120 words: what matters less is left out, in a fixed order, where there is no room.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, Final

from explorer import registry, units
from explorer.page.words import (
    listed,
    percent,
    percent_with_sampling,
    requirement,
    with_sampling,
    with_uncertainty,
)
from explorer.questions.rank.notes import NOT_WORTH, contact_share_words, not_running_words, worthwhile_steps
from explorer.questions.rank.ranking import Ranking
from explorer.questions.rank.tables import label, ranked, target_words
from explorer.studyfile import Study

#: Most words, and most inputs named.
MOST_WORDS: Final = 120
_MOST_NAMED: Final = 3

#: Share of the squared uncertainty from which on it is "most of it" [-].
_MOST: Final = 0.5


@dataclass(frozen=True)
class _Sentence:
    text: str
    rank: int = 0  #: 0 is said in any case; of the others the smallest go first


def plain_words(ranking: Ranking, study: Study) -> tuple[str, ...]:
    """Return the ranking in plain words, one matter an item, at most 120 words together."""
    sentences = [sentence for sentence in _sentences(ranking, study) if sentence.text]
    return tuple(sentence.text for sentence in _fitting(sentences))


def _fitting(sentences: list[_Sentence]) -> list[_Sentence]:
    """The sentences that fit, in their order."""
    room = MOST_WORDS - sum(len(s.text.split()) for s in sentences if s.rank == 0)
    kept = {id(s) for s in sentences if s.rank == 0}
    for sentence in sorted((s for s in sentences if s.rank > 0), key=lambda s: s.rank):
        if (length := len(sentence.text.split())) <= room:
            room -= length
            kept.add(id(sentence))
    return [sentence for sentence in sentences if id(sentence) in kept]


def _sentences(ranking: Ranking, study: Study) -> Iterator[_Sentence]:
    yield _Sentence(not_running_words(ranking) or "")
    yield _Sentence(contact_share_words(ranking) or "")
    amount = with_uncertainty(
        registry.quantity(ranking.target), ranking.mean[0], ranking.standard_uncertainty[0]
    )
    yield _Sentence(f"{target_words(ranking)} in one firing: {amount} (one standard uncertainty).")
    yield _Sentence(_chance(ranking, study), 3)
    leading = max(ranked(ranking), key=lambda row: row["first"])
    named = [_counts_most(ranking, study, leading)]
    yield _Sentence(named[0])
    pinnable = _pinnable(ranking)
    if not pinnable:
        yield _Sentence("Nothing is unknown that a test could pin down.")
        return
    pin, following = _pin_down(ranking, pinnable)
    yield _Sentence(pin)
    yield _Sentence(following, 2)
    measure, idle = _measurement(ranking, study)
    yield _Sentence(measure)
    yield _Sentence(_pays(ranking, study), 1)
    yield _Sentence(idle, 1)
    yield _Sentence(_hangs_on_guesses(ranking), 4)
    yield _Sentence(_second_opinion(ranking, pinnable[0]["name"], leading["name"], [*named, pin, following]))


def _chance(ranking: Ranking, study: Study) -> str:
    """The chance that what is required is met."""
    if ranking.chance_met is None:
        return ""
    target = study.target
    bounds = requirement(registry.quantity(target.quantity), at_least=target.at_least, at_most=target.at_most)
    chance = percent_with_sampling(float(ranking.chance_met.value), float(ranking.chance_met.standard_error))
    return f"The chance of {bounds} is {chance}."


def _counts_most(ranking: Ranking, study: Study, leading: dict[str, Any]) -> str:
    """What a reader must know first where no measurement of an input helps much; else empty."""
    scatter = [row for row in ranked(ranking) if row["part"] == "scatter"]
    if (
        float(ranking.shares.scatter_variance.value) > _MOST * ranking.standard_uncertainty[0] ** 2
        and scatter
    ):
        foremost = label(max(scatter, key=lambda row: row["first"]))
        return f"Most of it is scatter from firing to firing, {foremost} foremost, which no test removes."
    if leading["part"] == "scatter":
        return f"What counts most, {label(leading)}, falls anew at each firing, and no test removes it."
    if leading["part"] == "model":
        own = _own_error(ranking, study)
        return f"What counts most is {own}: measuring inputs helps little, only a powered firing does."
    return ""


def _own_error(ranking: Ranking, study: Study) -> str:
    own = study.model_error.of(ranking.target)
    size = "" if ranking.against is not None else f" ({percent(own.relative)}, {own.origin})"
    return f"the model's own error{size}"


def _pinnable(ranking: Ranking) -> list[dict[str, Any]]:
    """Unknown inputs with what each would leave, least first; within a group too."""
    models = {row["name"] for row in ranked(ranking) if row["part"] == "model"}
    table = ranking.learning.left.table
    rows = [
        {
            "name": str(name),
            "label": str(name).removesuffix(" (unknown)"),
            **{str(key): value for key, value in row.items()},
        }
        for name, row in zip(table.index, table.to_dict("records"), strict=True)
    ]
    return sorted((row for row in rows if row["name"] not in models), key=lambda row: row["left"])


def _pin_down(ranking: Ranking, pinnable: list[dict[str, Any]]) -> tuple[str, str]:
    """What to pin down first, and what comes next."""
    first = pinnable[0]
    if not first["informative"]:
        return (
            "No single input stands out: knowing any one of them exactly would leave the answer about as unsure.",
            "",
        )
    quantity = registry.quantity(ranking.target)

    def left(row: dict[str, Any]) -> str:
        return with_sampling(quantity, row["left"], row["left_standard_error"])

    sentence = (
        f"Pin down {first['label']} first, the largest unknown input: if known exactly, {left(first)} would be"
        " left."
    )
    if len(pinnable) == 1:
        return sentence, ""
    second, found = pinnable[1], ranking.learning.left
    if found.order_of.loc[second["name"], first["name"]] == "level":
        return sentence, f"{second['label']} is level with it."
    if second["left"] > (1 - NOT_WORTH) * float(found.now.value):
        return sentence, "No other input comes near."
    return sentence, f"Next comes {second['label']}, {left(second)}."


def _measurement(ranking: Ranking, study: Study) -> tuple[str, str]:
    """Which measurement to make first, and which not to bother with."""
    table, best = ranking.measurements, ranking.best_set
    if table is None or best is None or ranking.learning.measurements is None:
        return "", ""
    now = float(ranking.learning.measurements.now.value)
    idle = [str(name) for name, row in table.iterrows() if row["left"] > (1 - NOT_WORTH) * now]
    if len(idle) == len(table):
        return "None of the measurements proposed would make the answer noticeably surer.", ""
    if best.empty:
        return f"No measurement that helps fits into the {_hours_given(study)} given.", ""
    step = best.iloc[0]
    left = with_sampling(registry.quantity(ranking.target), step["left"], step["left_standard_error"])
    hours = units.number_text(step["hours"], 3)
    sentence = f"Measure by {step['name']} first ({hours} h, set-up included): after it {left} would be left."
    others = [name for name in idle if name not in worthwhile_steps(best, now)]
    changes = "they change" if len(others) > 1 else "it changes"
    return (
        sentence,
        f"Don't bother with {listed(others[:3], 'or')}: {changes} next to nothing." if others else "",
    )


def _pays(ranking: Ranking, study: Study) -> str:
    """What the best set of measurements is worth for the decision and what it costs, where pay-offs are given."""
    found, decision = ranking.learning.measurements, study.decision
    if found is None or decision is None or found.best_value is None or found.best_set.empty:
        return ""
    unit = f" {decision.unit}" if decision.unit else ""
    value, error = float(found.best_value.value.value), float(found.best_value.value.standard_error)
    what = "It is" if len(found.best_set) == 1 else "The best set is"
    worth = (
        f"{what} worth {units.number_text(value, 2)}{unit} (sampling ± {units.number_text(error, 1)}{unit})"
    )
    if not decision.cost_per_hour:
        return f"{worth}."
    cost = decision.cost_per_hour * float(found.best_set["hours"].iloc[-1])
    return f"{worth} and costs {units.number_text(cost, 3)}{unit}."


def _hours_given(study: Study) -> str:
    hours = math.inf if study.decision is None or study.decision.hours is None else study.decision.hours
    return f"{units.number_text(hours, 3)} h"


def _hangs_on_guesses(ranking: Ranking) -> str:
    if ranking.guesses is None or not ranking.guesses.changes:
        return ""
    return "The first choice hangs on guessed ranges: see below."


def _second_opinion(ranking: Ranking, first: str, leading: str, said: Iterable[str]) -> str:
    """A sentence if another method names another leading row than the ones that were named."""
    opinion = ranking.learning.second_opinion.leading
    if opinion is None or opinion in (first, leading):
        return ""
    rows = {row["name"]: label(row) for row in ranked(ranking)}
    known = [*rows.values(), *(row["label"] for row in _pinnable(ranking))]
    name, text = rows.get(opinion, opinion.removesuffix(" (unknown)")), " ".join(said)
    named = {other for other in known if f" {other}" in text}
    if len(named | {name}) > _MOST_NAMED:
        name = "another input"
    return f"A method that shares nothing with this one puts {name} first."
