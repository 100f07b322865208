"""What is found of designs tried together: their figures, how their points end, on which side of borders they lie."""

from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd

from explorer.analysis.scrambles import Estimate
from explorer.study.contrasts import Figures, by_design, figures_row, share_row
from explorer.study.limits import Contacts, contact_chances
from explorer.study.regimes import BorderSide
from explorer.study.shown import Shown
from explorer.studyfile import Study


@dataclass(frozen=True)
class Tried:
    """What is found of a design among others."""

    name: str
    study: Study
    figures: Mapping[str, Figures]  #: By quantity
    statuses: Mapping[str, Estimate]  #: Of all its points, by status [-]
    warnings: Mapping[str, Estimate]  #: Of all its points, by a warning's code [-]
    sides: Mapping[str, BorderSide]  #: By border
    contacts: Contacts  #: Of points with numbers


@dataclass(frozen=True, repr=False)
class Together(Shown):
    """Designs tried on the same points, and what they share."""

    designs: tuple[Tried, ...]
    shared: Mapping[str, tuple[tuple[str, str], ...]]
    apart: tuple[str, ...]
    model_share: float
    samples: int
    scrambles: int
    random_number: int

    @property
    def names(self) -> tuple[str, ...]:
        """What the designs are called."""
        return tuple(design.name for design in self.designs)

    @property
    def studies(self) -> tuple[Study, ...]:
        """The designs' studies."""
        return tuple(design.study for design in self.designs)

    @property
    def quantities(self) -> pd.DataFrame:
        """Every quantity of every design [SI]."""
        return by_design({design.name: design.figures for design in self.designs}, figures_row, "quantity")

    @property
    def statuses(self) -> pd.DataFrame:
        """How the points of every design ended [-]."""
        return by_design({design.name: design.statuses for design in self.designs}, share_row, "event")

    @property
    def contacts(self) -> pd.DataFrame:
        """In which form the pairs of every design conduct, where that is worked out, among points with numbers [-]."""
        rows = {design.name: contact_chances(design.contacts) for design in self.designs}
        return by_design(rows, share_row, "chance")

    @property
    def warnings(self) -> pd.DataFrame:
        """Which warnings the points of every design carry [-]."""
        return by_design({design.name: design.warnings for design in self.designs}, share_row, "event")
