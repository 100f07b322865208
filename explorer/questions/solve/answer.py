"""`mhdstage solve STUDY`: the operating point at central values."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from explorer import registry, units
from explorer.page.answer import (
    Answer,
    Envelope,
    Options,
    Question,
    Work,
    before_setting,
    left_of_template,
    study_of,
)
from explorer.page.cautions import cautions
from explorer.page.document import Paragraph, Part, Picture, Section
from explorer.page.inputs import how_read, notes, to_try
from explorer.page.provenance import provenance
from explorer.page.streams import solution_words, streams_table
from explorer.page.usage import UsageError
from explorer.page.words import STATUS_WORDS
from explorer.questions.solve import tables, words
from explorer.questions.solve.before import before_and_after, before_data
from explorer.questions.solve.brief import short_answer
from explorer.questions.solve.electron_words import electron_words
from explorer.questions.solve.hand_calculation import hand_table
from explorer.questions.solve.pictures import picture
from explorer.questions.solve.point import Point, solve

#: SI unit of each column of the channel's profile.
PROFILE_UNITS: Final[dict[str, str]] = {
    "x": "m",
    "pressure": "Pa",
    "temperature": "K",
    "velocity": "m/s",
    "mach": "1",
    "conductivity": "S/m",
    "electron_density": "1/m^3",
    "unaided_density": "1/m^3",
    "current_density": "A/m^2",
    "magnetic_field": "T",
    "electric_field": "V/m",
    "electrode_drop": "V",
    "gap": "m",
    "width": "m",
    "friction_per_length": "N/m",
    "wall_heat_per_length": "W/m",
    "momentum_flux": "N",
    "total_enthalpy": "J/kg",
}

_USE: Final = (
    "`solve` takes each at its centre, the expectation of what is written; `rank` tries the whole of it. They were"
    " read so:"
)

_BY_HAND: Final = (
    "Redo these on paper before believing the rest. The field's force must come out near I·B·g; beyond j·B·volume the"
    " discharge is no longer diffuse. Gap and width are those at the pair's middle."
)

_FLOWS: Final = (
    "Flows at the operating point, without start-up, purge or reserve. Volumes of liquids at 20 °C; densities of"
    " solutions are estimates to 3 %: weigh before they decide a test."
)

_ALONG: Final = "Along the channel; the electrodes are shaded. The upright axes do not begin at zero."

_ALONG_WITHOUT: Final = (
    f"{_ALONG} Broken: the electrons that there would be without pre-ioniser or a discharge upstream."
)


def ask(options: Options) -> Question:
    """The question, as asked on the command line."""
    burn = None if options.burn is None else burn_time(options.burn)
    study, as_written = study_of(options), before_setting(options)

    def answer(work: Work) -> Answer:
        point = solve(study, progress=work.progress("gas table"))
        before = None if as_written is None else solve(as_written)
        return told(point, work.envelope, burn=burn, before=before, left_of_template=left_of_template(study))

    return Question((study,), answer)


def burn_time(text: str) -> float:
    """Return the duration of a burn such as "6 s". [s]"""
    try:
        duration = units.si_text(text, "s")
    except units.UnitError as error:
        raise UsageError(f'--burn: {error}; write it as "6 s"') from error
    if not duration > 0.0:
        raise UsageError(f"--burn: a burn takes some time; got {text}")
    return duration


def told(
    point: Point,
    envelope: Envelope,
    *,
    burn: float | None = None,
    before: Point | None = None,
    left_of_template: Sequence[Paragraph] = (),
) -> Answer:
    """What is said of an operating point, of one before it, with amounts for a burn [s], where these are given."""
    warnings = words.warning_sentences(point)
    head = envelope(point.study.run.random_number, warnings)
    data = _data(point) if before is None else {**_data(point), "before": before_data(before)}
    beside = () if before is None else (before_and_after(before, point),)
    marked = [Paragraph(sentence, marked=True) for sentence in warnings]
    if point.along is None:
        failure = words.failure_words(point)
        in_short: list[Part] = [Paragraph(f"No operating point: {failure}"), *marked]
        sections = [_heading(point), Section("In short", tuple(in_short)), *beside, *_foot(point, head)]
        return Answer(head, tuple(sections), data, brief=_brief(point, beside), failure=failure)
    said = [
        Paragraph(text)
        for text in (
            *words.contact_words(point),
            *electron_words(point),
            *words.worth_words(point),
            *words.granted(point),
        )
    ]
    sections = [
        _heading(point),
        Section("In short", (*said, *marked, *left_of_template)),
        *beside,
        Section("Along the channel", (Picture("channel", picture(point), _along_words(point)),)),
        *(Section(block, tables.block_tables(point, block)) for block in tables.BLOCKS),
        Section("Limits", (tables.limits_table(point),)),
        Section("By hand", (Paragraph(_BY_HAND), hand_table(point))),
        Section("Streams", tuple(_streams(point, burn))),
        *_foot(point, head),
    ]
    return Answer(
        head, tuple(sections), data, {"profile.csv": profile_csv(point.along)}, brief=_brief(point, beside)
    )


def _brief(point: Point, beside: Sequence[Section]) -> tuple[Section, ...]:
    verdict, *rest = short_answer(point)
    return verdict, *beside, *rest


def _heading(point: Point) -> Section:
    accelerates = point.study.mode == "acceleration"
    does = "power pushed in for thrust" if accelerates else "power pulled out into a load"
    line = f"Operating point at central values, {does}. Status: {STATUS_WORDS[point.status]}."
    return Section(point.study.title, (Paragraph(line), *notes(point.study)))


def _streams(point: Point, burn: float | None) -> Iterator[Part]:
    yield Paragraph("As set at the stand:")
    yield streams_table(point.study, point.quantities, burn)
    yield Paragraph("As the gas sees it:")
    yield tables.gas_table(point)
    solution = None if burn is None else solution_words(point.study, point.quantities, burn)
    if solution is not None:
        yield Paragraph(solution)
    yield Paragraph(_FLOWS)


def _foot(point: Point, head: Mapping[str, Any]) -> tuple[Section, ...]:
    study = point.study
    return *to_try(study, "solve"), how_read(study, use=_USE), cautions(study), provenance(head)


def _data(point: Point) -> dict[str, Any]:
    """What the JSON holds behind its envelope."""
    return {
        "status": point.status,
        "quantities": {
            address: {"value": value, "unit": registry.quantity(address).unit}
            for address, value in point.quantities.items()
        },
        "notes": list(point.study.notes),
    }


def _along_words(point: Point) -> str:
    """What stands under the picture along the channel."""
    along = point.along or {}
    helped = along and np.any(along["electron_density"] != along["unaided_density"])
    return _ALONG_WITHOUT if helped else _ALONG


def profile_csv(along: Mapping[str, NDArray[np.float64]]) -> str:
    """Return the channel's profile as CSV: SI, the unit in each head, two rows where a pair begins or ends."""
    heads = (f"{name} [{unit}]" for name, unit in PROFILE_UNITS.items())
    rows = zip(*(along[name] for name in PROFILE_UNITS), strict=True)
    lines = [",".join(heads), *(",".join(f"{value:.12g}" for value in row) for row in rows)]
    return "\n".join(lines) + "\n"
