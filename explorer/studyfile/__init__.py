"""From text to a study: TOML, units, value grammar, and every check that a study must pass before it runs."""

from explorer.studyfile.error import StudyError
from explorer.studyfile.propellants import field_profile_of, fuel_of, oxidizer_of, seed_of
from explorer.studyfile.reading import parse_study, read_inputs, read_study, settings_of
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
from explorer.studyfile.template import template_text, template_values_left

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
    "field_profile_of",
    "fuel_of",
    "oxidizer_of",
    "parse_study",
    "read_inputs",
    "read_study",
    "seed_of",
    "settings_of",
    "template_text",
    "template_values_left",
]
