"""What a calibration says on a terminal."""

from collections.abc import Sequence

from explorer.page import brief
from explorer.page.document import Section
from explorer.questions.calibrate import words
from explorer.questions.calibrate.posterior import Posterior


def short_answer(found: Posterior, left_out: Sequence[str], written: str) -> tuple[Section, ...]:
    """Return the short answer: target, surprises, what was learnt, where the updated study stands."""
    studies = () if found.study is None else (found.study,)
    names = ", ".join(firing.name for firing in found.firings)
    return brief.brief(
        studies,
        f"Calibrate: {found.study.title if found.study else 'a callable'} from {names}",
        verdict=(
            words.required(found),
            words.target(found),
            *([words.without_model_error(found)] if words.differs(found) else []),
        ),
        to_do=(*words.learnt(found, 5), words.taught_most(found), written),
        beware=(*left_out, *words.surprises(found)),
    )
