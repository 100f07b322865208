"""From text to a study: TOML, units, value grammar, and every check that a study must pass before it runs."""

from explorer.studyfile.error import StudyError
from explorer.studyfile.reading import parse_study, read_inputs, read_study
from explorer.studyfile.sections import (
    Amount,
    Decision,
    Instrument,
    Measurement,
    ModelError,
    Reading,
    Run,
    Setup,
    Target,
)
from explorer.studyfile.study import Study

__all__ = [
    "Amount",
    "Decision",
    "Instrument",
    "Measurement",
    "ModelError",
    "Reading",
    "Run",
    "Setup",
    "Study",
    "StudyError",
    "Target",
    "parse_study",
    "read_inputs",
    "read_study",
]
