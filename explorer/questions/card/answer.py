"""`mhdstage card STUDY`: the sheet of a firing; with `--against`, what was read beside what was predicted."""

from collections.abc import Sequence
from pathlib import Path
from typing import Final

import pandas as pd

from explorer.firings import Firing, Step, read_rows
from explorer.page.answer import (
    Answer,
    Envelope,
    Options,
    Question,
    Work,
    addresses_set,
    left_of_template,
    study_of,
)
from explorer.page.cautions import cautions
from explorer.page.document import Lines, Paragraph, Picture, Section, section
from explorer.page.inputs import how_read, notes
from explorer.page.provenance import provenance
from explorer.page.streams import solution_words, streams_table
from explorer.page.text import text_of
from explorer.page.usage import UsageError
from explorer.page.words import listed
from explorer.questions.card import tables, words
from explorer.questions.card.against import Against, against
from explorer.questions.card.brief import of_card, of_firing
from explorer.questions.card.card import Card, card, planned
from explorer.questions.card.pictures import picture
from explorer.study.firing.recorded import firings_file, recorded
from explorer.studyfile import PlannedStep, Study, StudyError

_USE: Final = "A card takes the whole of each, as one firing in many would have it."

_BANDS: Final = (
    "Bars: 19 of 20 firings read within, scatter, what is not known, the instrument's own errors and the model's among"
    " it; lines: 999 of 1000, their ends told to about a tenth."
)

_READ: Final = "Bars: 19 of 20 firings read within; marks: what was read."


def ask(options: Options) -> Question:
    """The question, as asked on the command line."""
    study = study_of(options)
    number = study.run.random_number if options.random_number is None else options.random_number
    if options.against is not None:
        firing, left_out = the_firing(study, options.against, options.firings)
        said = unheeded(addresses_set(options), firing.moments)

        def compared(work: Work) -> Answer:
            found = against(study, firing, rng=number, jobs=options.jobs)
            return told_against(found, work.envelope, left_out, said)

        return Question((study,), compared)
    firing_planned = planned(study, options.firing)
    said = unheeded(addresses_set(options), firing_planned.steps)

    def answer(work: Work) -> Answer:
        return told(card(study, firing_planned, rng=number, jobs=options.jobs), work.envelope, said)

    return Question((study,), answer)


def unheeded(addresses: Sequence[str], steps: Sequence[Step | PlannedStep]) -> tuple[str, ...]:
    """Return what is said of `--set` where steps set the same themselves."""
    found = []
    for address in addresses:
        own = [step.name for step in steps if address in step.settings]
        if own:
            where = f"in {listed(own)}" if any(own) else "here"
            found.append(f"--set {address} changes nothing {where}: the firing itself sets it.")
    return tuple(found)


def the_firing(study: Study, name: str, file: Path | None) -> tuple[Firing, tuple[str, ...]]:
    """Return a firing by its name, from its file, and what is said of it and of the file."""
    path = firings_file(study) if file is None else file
    found = recorded(read_rows(path), study)
    for firing in found.firings:
        if firing.name == name:
            return firing, found.assumed
    for own in found.left_out:
        if own.name == name:
            raise StudyError(f"{name} ({own.where}): {own.why}")
    known = listed([firing.name for firing in found.firings]) or "none that can be used"
    raise UsageError(f"--against {name}: {path} has no such firing (it has {known})")


def told(found: Card, envelope: Envelope, warned: tuple[str, ...] = ()) -> Answer:
    """What is said of a card."""
    head = envelope(found.random_number, warned)
    study, burn = found.steps[-1].moment.study, found.seconds
    solution = None if burn is None else solution_words(study, found.central, burn)
    stops = Lines(tuple(f"  [ ] {text}" for text in words.stop_rules(found)))
    sections = (
        Section(
            f"Card: firing {found.firing.name}",
            (
                Paragraph(found.study.title),
                Paragraph(words.AID, marked=True),
                Paragraph(f"Steps: {words.steps_named(found)}."),
                *(Paragraph(text, marked=True) for text in warned),
                *notes(found.study),
                *left_of_template(found.study),
            ),
            as_written=True,
        ),
        section("Set", [tables.settings_table(found)]),
        section(
            "Read",
            [
                *words.expected(found),
                tables.readings_table(found),
                *(Paragraph(text, marked=True) for text in words.unseen(found)),
                Picture("readings", picture(found), _BANDS),
            ],
        ),
        Section("Stop if", (stops,)),
        section(
            "Loggers",
            [
                *(Paragraph(text, marked=True) for text in words.pulses(found)),
                tables.loggers_table(found),
            ],
        ),
        section(
            "Feed and energy",
            [
                streams_table(study, found.central, burn),
                *([solution] if solution else []),
                words.amounts(found),
            ],
        ),
        section(
            "Would contradict the model too",
            list(words.contradicts(found)) or ["Nothing but those readings."],
        ),
        cautions(study),
        how_read(found.study, use=_USE),
        provenance(head),
    )
    sheet = text_of(part for part in sections if part.audience == "everyone" and not part.folded)
    data = {
        "firing": found.firing.name,
        "readings": found.bands.to_dict("records"),
        "energy": None
        if found.energy is None
        else {"likely": found.energy[0], "most": found.energy[1], "unit": "J"},
    }
    return Answer(
        head, sections, data, {"readings.csv": found.bands, "card.txt": sheet}, brief=of_card(found, warned)
    )


def told_against(
    found: Against, envelope: Envelope, assumed: tuple[str, ...] = (), warned: tuple[str, ...] = ()
) -> Answer:
    """What is said of a firing held against its prediction."""
    head = envelope(found.random_number, warned)
    table = [tables.explanations_table(found.explanations)] if found.explanations else []
    sections = (
        section(
            f"{found.firing.name} against {found.study.title}",
            [
                words.verdict(found),
                *(Paragraph(text, marked=True) for text in warned),
                *(f"{text}." for text in assumed),
            ],
            as_written=True,
        ),
        section("Readings", [tables.held_table(found), Picture("readings", picture(found), _READ)]),
        section(
            "What would explain it", [*filter(None, [words.best(found)]), *table, words.surprising_words()]
        ),
        cautions(found.study),
        how_read(found.study, use=_USE),
        provenance(head),
    )
    rows = pd.DataFrame([{**own._asdict(), "inside": own.inside} for own in found.held])
    return Answer(
        head, sections, tables.data_of(found), {"readings.csv": rows}, brief=of_firing(found, warned)
    )
