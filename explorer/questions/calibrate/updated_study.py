"""The study as it is after firings: its joint sample, and a study file that is like the original and names both."""

from dataclasses import replace
from pathlib import Path

import numpy as np

from explorer.questions.calibrate.posterior import COMMON_ERROR, MODEL_ERROR, Posterior
from explorer.store import Column, JointSample, write_joint_sample
from explorer.studyfile import Study, StudyError, study_text
from explorer.studyfile.document import document_of_file


def joint_sample(found: Posterior) -> JointSample:
    """Return a posterior's draws with what they are about."""
    study = _study(found)
    stated = study.space if study.calibrated is None else study.calibrated.before
    priors = {item.address: repr(item.unknown) for item in stated.inputs}
    columns = []
    for name in found.sample.columns:
        if name.startswith(COMMON_ERROR):
            columns.append(Column("instrument", name.removeprefix(COMMON_ERROR)))
        elif name.startswith(MODEL_ERROR):
            columns.append(Column("model", name.removeprefix(MODEL_ERROR)))
        else:
            shared = str(found.inputs.loc[name, "shared"])
            columns.append(Column("input", name, shared, priors.get(name, "")))
    draws = np.ascontiguousarray(found.sample.to_numpy(dtype=np.float64))
    firings = tuple(firing.name for firing in found.firings)
    return JointSample(tuple(columns), draws, study.title, study.study_hash, firings)


def updated_text(found: Posterior, sample: str) -> str:
    """Return the text of a study that is like the original, with a joint sample of this name beside it.

    Whole where the original is itself like another, or was calibrated with other values than its file states.
    """
    study = _study(found)
    if study.path is None:
        raise StudyError("a study without a file has none to be like: read it from a file")
    title = f"{study.title}, after {len(found.firings)} firings"
    table = {"sample": sample, "of": study.path.name, "firings": [firing.name for firing in found.firings]}
    whole = document_of_file(study.path) != study.document
    document = {**study.document} if whole else {"like": study.path.name}
    return study_text(replace(study, document={**document, "title": title, "calibrated": table}))


def write_updated(found: Posterior, path: Path) -> tuple[Path, Path]:
    """Write the updated study and its joint sample beside it, both under its name; what stands there is replaced."""
    sample = path.with_suffix(".npz")
    text = updated_text(found, sample.name)
    write_joint_sample(sample, joint_sample(found))
    path.write_text(text, encoding="utf-8")
    return path, sample


def _study(found: Posterior) -> Study:
    if found.study is None:
        raise StudyError("only a study can be updated; a callable's posterior is in its sample")
    return found.study
