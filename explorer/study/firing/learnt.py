"""What one study's firings taught of a shared quantity, taken over by the studies that share it."""

from collections.abc import Sequence
from dataclasses import replace

from explorer.space import Distribution, InputSpace
from explorer.studyfile import Study, StudyError


def with_what_was_learnt(studies: Sequence[Study], names: Sequence[str]) -> tuple[Study, ...]:
    """Return the studies, with what a calibrated one learnt where another shares that and states it as it was stated.

    Raises
    ------
    StudyError
        If of one hardware only some studies take what firings taught.
    """
    _refuse_half_learnt(studies, names)
    learnt = dict(own for study in studies for own in _learnt(study))
    return tuple(study if study.calibrated is not None else _taught(study, learnt) for study in studies)


def _refuse_half_learnt(studies: Sequence[Study], names: Sequence[str]) -> None:
    for study, name in zip(studies, names, strict=True):
        for other, called in zip(studies, names, strict=True):
            if study.calibrated and not other.calibrated and study.rig.drawing == other.rig.drawing:
                raise StudyError(
                    f"{name} and {called} are one hardware, and only the first takes what firings taught: write its"
                    f" [calibrated] table into {called} too, or compare it with another design"
                )


def _learnt(study: Study) -> list[tuple[tuple[str, Distribution], Distribution]]:
    """By shared name and what was stated, what was learnt."""
    if study.calibrated is None:
        return []
    before = {item.address: item.unknown for item in study.calibrated.before.inputs}
    found = []
    for item in study.space.inputs:
        stated = before.get(item.address)
        if item.shared and item.address in study.calibrated.learnt and stated and item.unknown:
            found.append(((item.shared, stated), item.unknown))
    return found


def _taught(study: Study, learnt: dict[tuple[str, Distribution], Distribution]) -> Study:
    inputs = tuple(
        replace(item, unknown=learnt.get((item.shared, item.unknown), item.unknown))
        if item.shared and item.unknown
        else item
        for item in study.space.inputs
    )
    if inputs == study.space.inputs:
        return study
    return replace(study, space=InputSpace(inputs, study.space.correlations))
