"""Design-space explorer for a seeded rocket exhaust fired through a magnetic channel: the public names.

They are imported when first used, so that `mhdstage --help` doesn't wait for a compiler.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from explorer.firings import Difference, Firing, Reading, Step
    from explorer.questions.calibrate.calibrate import calibrate
    from explorer.questions.calibrate.posterior import NoPosterior, Posterior
    from explorer.questions.card.against import Against, against
    from explorer.questions.card.card import Card, card
    from explorer.questions.compare.comparison import Comparison
    from explorer.questions.compare.entry import compare
    from explorer.questions.compare.models import ModelComparison
    from explorer.questions.flight.flight import Flight, flight
    from explorer.questions.optimize.search.optimisation import optimize
    from explorer.questions.optimize.search.proposal import Proposal
    from explorer.questions.propagate.propagation import Propagation, propagate
    from explorer.questions.rank.learning.readings import draws
    from explorer.questions.rank.rank import rank
    from explorer.questions.rank.ranking import Ranking
    from explorer.questions.scale.entry import scale
    from explorer.questions.scale.models import ModelScaling
    from explorer.questions.scale.scaling import Scaling
    from explorer.questions.solve.point import Point, solve, solve_many
    from explorer.space import Correlation
    from explorer.studyfile import (
        Amount,
        Measurement,
        ReadingUncertainty,
        Study,
        StudyError,
        parse_study,
        read_study,
    )

__all__ = [
    "Against",
    "Amount",
    "Card",
    "Comparison",
    "Correlation",
    "Difference",
    "Firing",
    "Flight",
    "Measurement",
    "ModelComparison",
    "ModelScaling",
    "NoPosterior",
    "Point",
    "Posterior",
    "Propagation",
    "Proposal",
    "Ranking",
    "Reading",
    "ReadingUncertainty",
    "Scaling",
    "Step",
    "Study",
    "StudyError",
    "against",
    "calibrate",
    "card",
    "compare",
    "draws",
    "flight",
    "optimize",
    "parse_study",
    "propagate",
    "rank",
    "read_study",
    "scale",
    "solve",
    "solve_many",
]

_HOMES = {
    "firings": ("Difference", "Firing", "Reading", "Step"),
    "questions.calibrate.calibrate": ("calibrate",),
    "questions.calibrate.posterior": ("NoPosterior", "Posterior"),
    "questions.card.against": ("Against", "against"),
    "questions.card.card": ("Card", "card"),
    "questions.compare.comparison": ("Comparison",),
    "questions.compare.entry": ("compare",),
    "questions.compare.models": ("ModelComparison",),
    "questions.flight.flight": ("Flight", "flight"),
    "questions.optimize.search.optimisation": ("optimize",),
    "questions.optimize.search.proposal": ("Proposal",),
    "questions.propagate.propagation": ("Propagation", "propagate"),
    "questions.rank.rank": ("rank",),
    "questions.rank.ranking": ("Ranking",),
    "questions.rank.learning.readings": ("draws",),
    "questions.scale.entry": ("scale",),
    "questions.scale.models": ("ModelScaling",),
    "questions.scale.scaling": ("Scaling",),
    "questions.solve.point": ("Point", "solve", "solve_many"),
    "space": ("Correlation",),
    "studyfile": (
        "Amount",
        "Measurement",
        "ReadingUncertainty",
        "Study",
        "StudyError",
        "parse_study",
        "read_study",
    ),
}


def __getattr__(name: str) -> Any:
    """A public name, imported now."""
    for home, names in _HOMES.items():
        if name in names:
            return getattr(import_module(f"explorer.{home}"), name)
    raise AttributeError(f"module 'explorer' has no attribute {name!r}")
