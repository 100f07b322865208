"""From text to a study: TOML, units, value grammar, and every check that a study must pass before it runs."""

from explorer.studyfile.designing import varied_inputs
from explorer.studyfile.designs import at_design, phase_study, uncertain_at
from explorer.studyfile.document import at
from explorer.studyfile.error import StudyError
from explorer.studyfile.flights import FlightPlan, Phase
from explorer.studyfile.moving import literal, moved
from explorer.studyfile.propellants import field_profile_of, fuel_of, oxidizer_of, seed_of
from explorer.studyfile.reading import parse_study, read_inputs, read_study, settings_of
from explorer.studyfile.sections import (
    CHANCE,
    Amount,
    Decision,
    Instrument,
    Limit,
    Measurement,
    ModelError,
    Reading,
    Run,
    Setup,
    Target,
    Varied,
    Wish,
)
from explorer.studyfile.study import Study
from explorer.studyfile.template import template_text, template_values_left
from explorer.studyfile.writing import study_text

__all__ = [
    "CHANCE",
    "Amount",
    "Decision",
    "FlightPlan",
    "Instrument",
    "Limit",
    "Measurement",
    "ModelError",
    "Phase",
    "Reading",
    "Run",
    "Setup",
    "Study",
    "StudyError",
    "Target",
    "Varied",
    "Wish",
    "at",
    "at_design",
    "field_profile_of",
    "fuel_of",
    "literal",
    "moved",
    "oxidizer_of",
    "parse_study",
    "phase_study",
    "read_inputs",
    "read_study",
    "seed_of",
    "settings_of",
    "study_text",
    "template_text",
    "template_values_left",
    "uncertain_at",
    "varied_inputs",
]
