"""What is known once firings are learnt from: the unknowns, the target, and every firing held against the others."""

from __future__ import annotations  # so that help() shows short names

from dataclasses import dataclass
from typing import Final

import pandas as pd

from explorer.firings import Firing
from explorer.study.shown import Shown, Summary, scale_of
from explorer.studyfile import Study

#: Predictive p-value below which a firing is a surprise (common practice, no source).
SURPRISING: Final[float] = 0.01

#: Head of a sample's column for a named error of an instrument, and for what the model is off by on an output.
COMMON_ERROR, MODEL_ERROR = "common error: ", "model error: "


class NoPosterior(RuntimeError):
    """The sample can't be trusted, or no point explains the firings; the text says what to change."""


@dataclass(frozen=True)
class Diagnostics:
    """How the sample came about."""

    temperatures: int  #: steps from the prior to the posterior [-]
    #: By step, columns exponent, effective_size, moves, acceptance, unique, correlation_left.
    path: pd.DataFrame
    acceptance: float  #: share of proposals accepted in the last step [-]
    unique: int  #: distinct particles at the end [-]
    correlation_left: float  #: with where the moves of the last step began, of the coordinate with most [-]
    effective_size: float  #: independent draws that the sample is worth, at least [-]
    evaluations: int  #: firings computed, one point and step of a burn each [-]
    impossible: pd.Series  #: by firing, share of prior points that give no number where it gave readings [-]


@dataclass(frozen=True)
class WithoutModelError:
    """What is known if the model has no error of its own."""

    why: str  #: why there is no posterior; empty where there is one
    inputs: pd.DataFrame | None = None  #: as `Posterior.inputs`
    #: Of the target, as a row of `Posterior.prediction`; None without one.
    prediction: pd.Series[float] | None = None
    log_evidence: float = float("nan")  #: [-]
    log_evidence_error: float = float("nan")  #: sampling error [-]
    diagnostics: Diagnostics | None = None


@dataclass(frozen=True, repr=False)
class Posterior(Shown):
    """What is known after firings.

    Attributes
    ----------
    study : Study or None
        None for a plain callable.
    firings : tuple of Firing
        As they were taken: each with a name, in an order that doesn't hang on that of the call.
    target : str
        The quantity that is predicted; empty for a callable without one.
    inputs : DataFrame
        By address of each input of which something is unknown: ``unit``, ``shared``; then ``mean``,
        ``standard_uncertainty``, ``low``, ``high`` (ends of the 95 % interval), each with ``_before`` and ``_after``;
        ``shift``, of the mean in standard uncertainties of before; ``left``, the standard uncertainty as a share of
        that before; ``far_out``, whether the firings push it where hardly any of the prior lies. [SI]
    errors : DataFrame
        By name as in `sample`, of each named error of an instrument (in its own standard uncertainties) and of what the
        model is off by on an observed quantity (a factor): ``kind`` ("instrument" or "model"), ``mean``,
        ``standard_uncertainty``, ``low``, ``high``, before and after. [-]
    prediction : DataFrame
        Of the target in one future firing of the study as it stands; index (``before`` or ``after``, whether the
        model's own error is put on): ``mean``, ``standard_uncertainty``, ``low``, ``high``, ``without_scatter`` (the
        standard uncertainty that is unknown), ``chance_met``, ``no_number`` (share of points). [SI]
    sample : DataFrame
        Equally weighted draws of what is fixed but not known [SI]: inputs by address, ``common error: <name>``,
        ``model error: <quantity>`` (a factor at the study as it stands).
    readings : DataFrame
        By firing, step and quantity (a difference's step is "on less off"): ``value``, ``random``, ``common``, then
        ``mean``, ``low``, ``high`` of what the instrument should read (scatter, noise and all) ``_before`` any firing,
        ``_after`` all, and ``_left_out``, from the other firings alone; ``p_before``, ``p_left_out``, two-sided. [SI]
    by_firing : DataFrame
        By firing: ``p_before``, ``p_left_out`` of all its readings together; ``log_predictive``, the density
        that the others foresee for them; ``surprise``, also without the worst one; ``taught``, the share of the
        target's variance that comes back if it is left out; ``left_out_by`` ("weights" or "moves"), ``pareto_k`` of
        those weights, ``impossible``.
    surprises : DataFrame
        Of each surprising firing the single inputs or instruments that could explain it, best first: ``firing``,
        ``what``, ``value`` that the model takes, ``needed``, ``low``, ``high``, ``log_gain`` (of the predictive
        density), ``score`` (that gain less what it costs to lie so far out), ``p`` with it.
        [SI; an instrument's in its own standard uncertainties]
    log_evidence, log_evidence_error : float
        Of all readings under the model, and its sampling error [-].
    model_error : bool
        Whether what the model may be off by was learnt too.
    without : WithoutModelError or None
        The same if the model had no error of its own; None where it has none, or `explain` was off.
    diagnostics : Diagnostics
    random_number : int
    """

    study: Study | None
    firings: tuple[Firing, ...]
    target: str
    inputs: pd.DataFrame
    errors: pd.DataFrame
    prediction: pd.DataFrame
    sample: pd.DataFrame
    readings: pd.DataFrame
    by_firing: pd.DataFrame
    surprises: pd.DataFrame
    log_evidence: float
    log_evidence_error: float
    model_error: bool
    without: WithoutModelError | None
    diagnostics: Diagnostics
    random_number: int

    @property
    def taught_most(self) -> str:
        """The firing without which the target's variance would be largest."""
        return str(self.by_firing["taught"].idxmax())

    def _summary(self) -> Summary:
        of = f' of "{self.study.title}"' if self.study else ""
        rows = []
        for address, row in self.inputs.sort_values("left").iterrows():
            scale = scale_of(str(address))
            cells = [
                f"{scale.text(row[f'mean_{when}'], 3)} ± {scale.difference(row[f'standard_uncertainty_{when}'], 2)}"
                for when in ("before", "after")
            ]
            rows.append((str(address), *cells))
        firings = f"{len(self.firings)} firing{'s' if len(self.firings) > 1 else ''}"
        return Summary(
            f"Calibration{of} from {firings}, {len(self.sample)} draws", ("unknown", "was", "is"), tuple(rows)
        )
