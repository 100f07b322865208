"""Designs beside each other: what each will show in one firing, and which of their differences are real.

All designs are tried on the same points: what is one thing is drawn once for all, the rest apart for each, so that a
difference carries its own interval. Designs of one rig are held against each other in one and the same firing, which
leaves what the change does.
"""

from __future__ import annotations  # so that help() shows short names

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import pandas as pd

from explorer import registry, run, sampling
from explorer.analysis.scrambles import Estimate
from explorer.questions.compare.sample import Sample, sample_of
from explorer.study.compared import compared_quantities, of_study
from explorer.study.contrasts import (
    Difference,
    Figures,
    ShareDifference,
    by_design,
    difference_of,
    figures_of,
    figures_row,
    share_difference,
    share_of,
)
from explorer.study.joint import common_share
from explorer.study.limits import (
    LIMIT_COLUMNS,
    Judged,
    contact_chances,
    contact_outputs,
    contacts_of,
    limits_judged,
    outputs_read,
)
from explorer.study.outcomes import MIXTURE, OK
from explorer.study.regimes import BorderSide, sides_of
from explorer.study.shown import Summary, scale_of
from explorer.study.stated import Stated, alike_but_apart, stated_alike, stated_beside
from explorer.study.together import Together, Tried
from explorer.studyfile import Study


@dataclass(frozen=True)
class Compared(Tried):
    """A design, held against the first one."""

    contact: Estimate  #: Chance of it, among points with numbers [-]
    one_rig: bool  #: Whether it is the first design's own rig with a change
    #: By quantity; of the first design from itself none. Of one rig what the change does in one and the same firing,
    #: else one firing of each.
    differences: Mapping[str, Difference]
    #: Of one rig the same between one firing of each, where anything scatters that they have in common.
    between_firings: Mapping[str, Difference]
    #: Both again from the firings that make contact (of a difference: in both designs); none where contact is nearly
    #: sure or nearly excluded in every design.
    figures_given_contact: Mapping[str, Figures]
    differences_given_contact: Mapping[str, Difference]
    contact_differences: Mapping[
        str, ShareDifference
    ]  #: By the address of a chance; of the first design none
    limits: tuple[Judged, ...]
    inputs: Mapping[str, Stated]  #: By input or choice of any of the designs


@dataclass(frozen=True, repr=False)
class Comparison(Together):
    """Designs beside each other, the first being the one that the others are held against.

    Attributes
    ----------
    designs : tuple of Compared
        What is found of each.
    unlike : tuple of str
        Inputs and choices that the designs don't state alike.
    shared : Mapping
        By shared name, who carries it: (design, address).
    apart : tuple of str
        Uncertain inputs that all designs state alike and yet don't share.
    model_share : float
        Share of the variance of the model's own error that is common to all [-].
    samples : int
        Points in all.
    scrambles : int
        Independent repeats.
    random_number : int
    rigs : tuple of tuple of str
        Designs that are one rig with changes.
    """

    designs: tuple[Compared, ...]
    unlike: tuple[str, ...]
    rigs: tuple[tuple[str, ...], ...]

    @property
    def first(self) -> Compared:
        """The design that the others are held against."""
        return self.designs[0]

    @property
    def others(self) -> tuple[Compared, ...]:
        """The designs that are held against it."""
        return self.designs[1:]

    def in_words(self) -> Comparison:
        """Return the same with variants called by words: "magnetic field = 0.6 T" for what was set."""
        designs = tuple(replace(own, name=registry.words_of(own.name)) for own in self.designs)
        rigs = tuple(tuple(map(registry.words_of, rig)) for rig in self.rigs)
        shared = {
            name: tuple((registry.words_of(by), address) for by, address in who)
            for name, who in self.shared.items()
        }
        return replace(self, designs=designs, rigs=rigs, shared=shared)

    @property
    def contact(self) -> Mapping[str, Estimate]:
        """By design, the chance of contact among points with numbers [-]."""
        return {design.name: design.contact for design in self.designs}

    @property
    def differences(self) -> pd.DataFrame:
        """Indexed by quantity, of each design less the first one: figures with errors, which is larger [SI]."""
        return by_design({own.name: own.differences for own in self.others}, figures_row, "quantity")

    @property
    def given_contact(self) -> pd.DataFrame:
        """As `quantities`, of the firings that make contact; without rows where contact is nearly sure or excluded."""
        figures = {own.name: own.figures_given_contact for own in self.designs}
        return by_design(figures, figures_row, "quantity")

    @property
    def differences_given_contact(self) -> pd.DataFrame:
        """As `differences`, of the firings that make contact in both."""
        figures = {own.name: own.differences_given_contact for own in self.others}
        return by_design(figures, figures_row, "quantity")

    @property
    def contact_differences(self) -> pd.DataFrame:
        """How much larger chances of forms of contact are than the first design's [-], and whether that is real."""
        rows = {own.name: own.contact_differences for own in self.others}
        return by_design(rows, ShareDifference.row, "chance")

    @property
    def limits(self) -> pd.DataFrame:
        """What each study requires: source ("target" or "limit"), bounds [SI], chances [-], whether it is met."""
        rows = [{"design": own.name, **judged.row()} for own in self.designs for judged in own.limits]
        return pd.DataFrame(rows, columns=["design", *LIMIT_COLUMNS])

    @property
    def regimes(self) -> pd.DataFrame:
        """On which side of each border designs lie: what is held against it [SI], share of firings past it [-]."""
        return by_design({own.name: own.sides for own in self.designs}, BorderSide.row, "border")

    @property
    def inputs(self) -> pd.DataFrame:
        """Inputs and choices of all designs, value and standard uncertainty [SI or words], whether all are alike."""
        table = by_design({own.name: own.inputs for own in self.designs}, Stated._asdict, "input")
        table = table.astype(object).where(table.notna(), None)
        table["", "alike"] = [address not in self.unlike for address in table.index]
        return table

    def _summary(self) -> Summary:
        targets = dict.fromkeys(own.study.target.quantity for own in self.designs)
        rows = [row for row in (*targets, *_SUMMED_UP) if row in self.first.figures]
        return Summary(
            f"Comparison of {self.samples} points: mean ± standard uncertainty, and whether it is more or less"
            f" than of {self.first.name}",
            ("", *self.names),
            tuple((row, *(_summed_up(own, row) for own in self.designs)) for row in dict.fromkeys(rows)),
        )


#: Quantities that a comparison shows at a prompt beside the studies' targets.
_SUMMED_UP: Final = ("thrust", "current", "stage_mass")


def _summed_up(own: Compared, row: str) -> str:
    figures, scale = own.figures[row], scale_of(row)
    if not figures.is_told:
        return "none"
    text = (
        f"{scale.text(float(figures.mean), 3)} ± {scale.difference(float(figures.standard_uncertainty), 2)}"
    )
    verdict = own.differences[row].verdict if row in own.differences else ""
    return f"{text}, {verdict}" if verdict else text


def compared_studies(
    studies: Sequence[Study],
    quantities: Sequence[str],
    rng: int | np.random.Generator | None,
    samples: int,
    *,
    jobs: int,
    progress: run.Progress | None,
) -> Comparison:
    """Hold studies against the first of them."""
    number = sampling.random_number(studies[0].run.random_number if rng is None else rng)
    rows = compared_quantities(studies, quantities)
    sample = sample_of(
        studies,
        [_needed(study, rows, quantities) for study in studies],
        number,
        samples,
        jobs=jobs,
        progress=progress,
    )
    designs = _compared(studies, sample, rows)
    return Comparison(
        designs=designs,
        shared=sample.joint.shared,
        apart=alike_but_apart(studies),
        model_share=common_share(studies),
        samples=sample.plan.size,
        scrambles=sample.plan.scrambles,
        random_number=number,
        rigs=sample.joint.rigs,
        unlike=tuple(address for address in designs[0].inputs if not stated_alike(studies, address)),
    )


def _needed(study: Study, rows: Sequence[str], wanted: Sequence[str]) -> tuple[str, ...]:
    """Outputs of a study for the rows and its limits."""
    limited = [output for limit in study.limits for output in outputs_read(limit.quantity, study.pairs)]
    told = (*of_study(study, rows, wanted), study.target.quantity, *limited, *contact_outputs(study))
    return tuple(dict.fromkeys(told))


def _compared(studies: Sequence[Study], sample: Sample, rows: Sequence[str]) -> tuple[Compared, ...]:
    places = range(len(studies))
    contact = [share_of(found.outcomes == OK, sample.numbered(k)) for k, found in enumerate(sample.found)]
    mixed = rows if any(MIXTURE[0] < float(chance) < MIXTURE[1] for chance in contact) else ()
    statuses = sample.shares([status.name for status in registry.STATUSES])
    warnings = sample.shares([warning.code for warning in registry.WARNINGS])
    sides = sides_of(sample.calculated, [study.pairs for study in studies])
    inputs = stated_beside(studies)
    values, given = sample.values, sample.in_contact
    contacts = [contacts_of(study, own) for study, own in zip(studies, sample.found, strict=True)]
    chances = [contact_chances(own) for own in contacts]
    same = [k > 0 and study.rig.drawing == studies[0].rig.drawing for k, study in enumerate(studies)]
    anew = [own and sample.again is not None for own in same]
    return tuple(
        Compared(
            name=sample.names[k],
            study=studies[k],
            figures={row: figures_of(values(k, row), sample.centres[k].get(row, math.nan)) for row in rows},
            statuses=statuses[k],
            warnings=warnings[k],
            sides=sides[k],
            contacts=contacts[k],
            contact_differences={
                name: share_difference(own, chances[0][name])
                for name, own in chances[k].items()
                if k and name in chances[0]
            },
            contact=contact[k],
            one_rig=same[k],
            differences={row: difference_of(values(k, row), values(0, row)) for row in rows if k},
            between_firings={
                row: difference_of(values(k, row), sample.first_again(row)) for row in rows if anew[k]
            },
            figures_given_contact={row: figures_of(given(k, row)) for row in mixed},
            differences_given_contact={
                row: difference_of(given(k, row), given(0, row)) for row in mixed if k
            },
            limits=tuple(limits_judged(studies[k], sample.found[k])),
            inputs=inputs[k],
        )
        for k in places
    )
