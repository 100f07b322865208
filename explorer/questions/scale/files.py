"""The points of a ladder as studies, ready to run."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from explorer.page.cautions import CAUTIONS
from explorer.page.words import percent
from explorer.questions.scale.path.ladder import Rung
from explorer.questions.scale.path.scaling import Scaling
from explorer.questions.scale.rows import point_name
from explorer.studyfile import study_text


def point_studies(found: Scaling, envelope: Mapping[str, Any]) -> dict[str, str]:
    """Return each point of the ladder as a study, by file name."""
    if found.ladder is None:
        return {}
    return {
        f"{point_name(number).replace(' ', '-')}.toml": _text(found, number, rung, envelope)
        for number, rung in enumerate(found.ladder.rungs, start=1)
    }


def _text(found: Scaling, number: int, rung: Rung, envelope: Mapping[str, Any]) -> str:
    if found.ladder is None:
        raise ValueError("there is no ladder")
    step = found.path.steps[rung.design - 1]
    first, last = found.names[0], found.names[-1]
    head = [
        f"Scale-up point {number} of {len(found.ladder.rungs)} from {first} to {last}, {percent(step.place)} of the"
        f" way, by mhdstage {envelope['version']}.",
        f"Study hashes {', '.join(envelope['study_hash'])}, random number {found.random_number}.",
        f"Values and their ± are those of {first if step.place < 0.5 else last}, moved; instruments are {first}'s.",
        *(f"{note}." for note in step.notes),
        "",
        "A prediction with limits, not a permission to build or to fire.",
        *CAUTIONS,
    ]
    title = f"Scale-up point {number} from {first} to {last}"
    return study_text(replace(step.study, document={**step.study.document, "title": title}), head=head)
