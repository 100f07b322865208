"""`mhdstage compare STUDY STUDY …`, or STUDY with changes: designs beside each other, which differences are real."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import pandas as pd

from explorer import registry
from explorer.analysis.scrambles import Estimate
from explorer.page.answer import Answer, Envelope, Options, Question, Work, refuse_few, study_of
from explorer.page.designs import shared_data
from explorer.page.figures import with_standard_errors
from explorer.page.usage import UsageError
from explorer.questions.compare.brief import short_answer
from explorer.questions.compare.changes import change_of
from explorer.questions.compare.comparison import Compared, Comparison
from explorer.questions.compare.entry import compare
from explorer.questions.compare.report import report
from explorer.questions.compare.words import missing_words, plain_words
from explorer.study.contrasts import Difference, Figures, figures_row, share_row
from explorer.study.limits import contact_chances
from explorer.study.regimes import parting
from explorer.studyfile import changed

#: Which figures of a design.
Of = Callable[[Compared], Mapping[str, Figures]]


def ask(options: Options) -> Question:
    """The question, as asked on the command line."""
    changes = [change_of(text) for text in options.changes]
    if len(options.studies) + len(changes) < 2:
        raise UsageError(
            f"compare takes two studies or more, or one with a --change; {options.studies[0]} stands alone"
        )
    refuse_few(options.samples)
    stated = [study_of(options, path) for path in options.studies]
    designs = (*stated, *(changed(stated[0], change) for change in changes))

    def answer(work: Work) -> Answer:
        found = compare(
            designs,
            quantities=options.quantities or (),
            rng=options.random_number,
            samples=options.samples,
            jobs=options.jobs,
            progress=work.progress("gas tables and operating points"),
        )
        return told(found, work.envelope, asked=options.samples)

    return Question(designs, answer)


def told(found: Comparison, envelope: Envelope, *, asked: int | None = None) -> Answer:
    """What is said of a comparison; `asked` is the number of points that was asked for."""
    spoken = found.in_words()
    head = envelope(found.random_number, missing_words(spoken))
    files = {
        "comparison.csv": _rows(
            found.designs, lambda own: own.figures, lambda own: own.figures_given_contact
        ),
        "differences.csv": _rows(
            found.others,
            lambda own: own.differences,
            lambda own: own.differences_given_contact,
            less=found.first.name,
        ),
    }
    return Answer(head, report(spoken, head, asked=asked), _data(found), files, brief=short_answer(spoken))


def _data(found: Comparison) -> dict[str, Any]:
    """What the JSON holds behind its envelope."""
    return {
        "designs": [_design(own) for own in found.designs],
        "differences": [
            {
                "design": own.name,
                "less": found.first.name,
                "quantities": {row: _figures(row, each) for row, each in own.differences.items()},
                "contacts": {name: less.row() for name, less in own.contact_differences.items()},
                "one_rig": own.one_rig,
                "between_firings": {row: _figures(row, each) for row, each in own.between_firings.items()},
                "contact_in_both": {
                    row: _figures(row, each) for row, each in own.differences_given_contact.items()
                },
            }
            for own in found.others
        ],
        "changes_of_regime": [regime.name for regime in parting([own.sides for own in found.designs])],
        "shared": shared_data(found.shared),
        "rigs": [list(rig) for rig in found.rigs],
        "alike_but_drawn_apart": list(found.apart),
        "model_error_in_common": found.model_share,
        "samples": found.samples,
        "scrambles": found.scrambles,
        "words": " ".join(plain_words(found.in_words())),
    }


def _design(own: Compared) -> dict[str, Any]:
    return {
        "name": own.name,
        "title": own.study.title,
        "mode": own.study.mode,
        "contact": {"chance": float(own.contact), "standard_error": own.contact.error},
        "quantities": {row: _figures(row, each) for row, each in own.figures.items()},
        "given_contact": {row: _figures(row, each) for row, each in own.figures_given_contact.items()},
        "limits": [judged.row() for judged in own.limits],
        "statuses": {name: share_row(share) for name, share in own.statuses.items()},
        "warnings": {name: share_row(share) for name, share in own.warnings.items()},
        "contacts": {name: share_row(share) for name, share in contact_chances(own.contacts).items()},
        "regimes": {name: side.row() for name, side in own.sides.items()},
        "inputs": {
            address: {**stated._asdict(), "unit": _unit_of_input(address)}
            for address, stated in own.inputs.items()
        },
    }


def _unit_of_input(address: str) -> str | None:
    entry = registry.entry(address)
    return entry.unit if isinstance(entry, registry.Quantity) else None


def _figures(row: str, own: Figures) -> dict[str, Any]:
    figures: dict[str, Estimate | tuple[Estimate, Estimate] | None] = {
        "mean": own.mean,
        "median": own.median,
        "standard_uncertainty": own.standard_uncertainty,
        **({"larger": own.larger} if isinstance(own, Difference) else {}),
        "interval_95": (own.low, own.high),
    }
    return {
        "unit": registry.quantity(row).unit,
        **({"verdict": own.verdict} if isinstance(own, Difference) else {"centre": own.centre}),
        **with_standard_errors(figures),
        "missing": own.missing,
    }


def _rows(designs: Sequence[Compared], of: Of, given: Of, **more: str) -> pd.DataFrame:
    """All figures of all designs, SI with the unit beside; where contact is not sure, given contact once more."""
    rows = [
        {
            "quantity": row,
            "design": design.name,
            **more,
            "firings": firings,
            "unit": registry.quantity(row).unit,
            **figures_row(each(design)[row]),
        }
        for firings, each in (("all", of), ("with contact", given))
        for row in each(designs[0])
        for design in designs
        if each(design)[row].is_told
    ]
    return pd.DataFrame(rows)
