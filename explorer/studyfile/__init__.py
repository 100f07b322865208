"""From text to a study: TOML, units, value grammar, and every check that a study must pass before it runs."""

from explorer.studyfile.document import STREAMS, at
from explorer.studyfile.error import StudyError
from explorer.studyfile.inputs.substances import (
    feed_of,
    field_profile_of,
    fuel_of,
    oxidizer_of,
    propellants_of,
    seed_of,
)
from explorer.studyfile.reading import parse_study, read_inputs, read_study, settings_of
from explorer.studyfile.rig import Rig
from explorer.studyfile.sections.firings import PlannedFiring, PlannedStep
from explorer.studyfile.sections.flight import FlightPlan, Phase
from explorer.studyfile.sections.instruments import Amount, Instrument, ReadingUncertainty, amount
from explorer.studyfile.sections.measurements import Measurement, Setup, measurement_of
from explorer.studyfile.sections.model_error import ModelError
from explorer.studyfile.sections.search import Limit, Varied, Wish, varied_inputs
from explorer.studyfile.sections.target import ASSUMED_WORTH, Decision, Run, Target
from explorer.studyfile.study import Calculation, Study
from explorer.studyfile.template import MARK, SECTIONS, template_text, template_values_left
from explorer.studyfile.values import literal, moved
from explorer.studyfile.variants import at_design, changed, phase_study, uncertain_at
from explorer.studyfile.writing import study_text

__all__ = [
    "ASSUMED_WORTH",
    "MARK",
    "SECTIONS",
    "STREAMS",
    "Amount",
    "Calculation",
    "Decision",
    "FlightPlan",
    "Instrument",
    "Limit",
    "Measurement",
    "ModelError",
    "Phase",
    "PlannedFiring",
    "PlannedStep",
    "ReadingUncertainty",
    "Rig",
    "Run",
    "Setup",
    "Study",
    "StudyError",
    "Target",
    "Varied",
    "Wish",
    "amount",
    "at",
    "at_design",
    "changed",
    "feed_of",
    "field_profile_of",
    "fuel_of",
    "literal",
    "measurement_of",
    "moved",
    "oxidizer_of",
    "parse_study",
    "phase_study",
    "propellants_of",
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
