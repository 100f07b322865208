"""One calibration, from the sample before any firing to what is known after all of them."""

from collections.abc import Callable, Iterable, Sequence
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from explorer import run
from explorer.analysis.calibration.chains import Chains
from explorer.analysis.calibration.tempering import Impossible, Tempered, tempered
from explorer.firings import Firing
from explorer.questions.calibrate.learning.beginning import Begun
from explorer.questions.calibrate.learning.checked import diagnostics, refuse_untrusted
from explorer.questions.calibrate.learning.each_firing import EachFiring
from explorer.questions.calibrate.learning.left_out import Known, LeftOut, known, left_out
from explorer.questions.calibrate.learning.predictions import Aim, aim_of, prediction_table
from explorer.questions.calibrate.learning.streams import AIM, ERRORS, LEFT_OUT, REPLICAS, SAMPLE, stream
from explorer.questions.calibrate.learning.surprises import COLUMNS, surprises_of
from explorer.questions.calibrate.learning.unknowns import (
    errors_of,
    errors_table,
    inputs_table,
    physical,
    unknowns_of,
)
from explorer.questions.calibrate.learning.without_model_error import without_model_error
from explorer.questions.calibrate.posterior import NoPosterior, Posterior, WithoutModelError

Floats = NDArray[np.float64]


#: Points of a sample from which on more seldom help [-].
_USUALLY_ENOUGH: Final[int] = 1000


class Learning:
    """One calibration, from the prior sample on."""

    def __init__(
        self,
        begun: Begun,
        firings: tuple[Firing, ...],
        number: int,
        target: str,
        *,
        explain: bool,
        jobs: int,
    ) -> None:
        self.instruments, self.experiments = begun.instruments, begun.experiments
        nothing = np.zeros(len(firings))
        self.prior = known(self.experiments, begun.prior, nothing, stream(number, ERRORS))
        self.firings, self.number, self.explain, self.jobs = firings, number, explain, jobs
        self.aim: Aim | None = None
        if target:
            self.aim = aim_of(self.instruments, target, begun.prior.count, stream(number, AIM))

    def posterior(self, model_error: bool) -> Posterior:
        """Sample, check, and hold every firing against the others."""
        impossible = self._impossible()
        try:
            found = tempered(
                self.experiments, self.prior.particles, stream(self.number, SAMPLE + 2), mapper=self.mapper
            )
        except Impossible as error:
            raise NoPosterior(f"no posterior: {error}. {self._advice()}") from error
        checked = diagnostics(found, impossible, len(self.instruments.stand.moments))
        refuse_untrusted(checked, self._advice)
        stand, common = self.instruments.stand, found.particles.common
        unknowns = unknowns_of(stand)
        sample = known(
            self.experiments, found.particles, np.ones(len(self.firings)), stream(self.number, ERRORS + 1)
        )
        errors = [
            errors_of(self.instruments, self.aim, own.particles.common, own.errors)
            for own in (self.prior, sample)
        ]
        everyone = self._left_out(sample, found.chains) if self.explain else []
        firings = EachFiring(
            self.instruments, self.firings, self.aim, self.number, self.prior, sample, everyone
        )
        by_firing = firings.table(impossible)
        return Posterior(
            study=stand.study,
            firings=self.firings,
            target=self.aim.quantity if self.aim else "",
            inputs=inputs_table(stand, unknowns, common),
            errors=errors_table(*errors),
            prediction=prediction_table(self.aim, self.prior, sample),
            sample=pd.DataFrame({**physical(stand, unknowns, common), **errors[1]}),
            readings=firings.readings(),
            by_firing=by_firing,
            surprises=self._surprises(by_firing, everyone),
            log_evidence=found.log_evidence,
            log_evidence_error=found.log_evidence_error,
            model_error=model_error,
            without=self._without(found) if model_error and self.explain else None,
            diagnostics=checked,
            random_number=self.number,
        )

    def mapper(self, function: Callable[..., Any], calls: Sequence[tuple[Any, ...]]) -> Iterable[Any]:
        """A function's results for several calls, side by side in threads."""
        return run.in_threads(function, calls, jobs=self.jobs, total=len(calls))

    def _impossible(self) -> pd.Series:
        """Share of prior points at which each firing's readings are impossible [-]."""
        likelihood = self._each_likelihood()
        shares = np.isneginf(likelihood).mean(axis=0)
        found = pd.Series(shares, index=[firing.name for firing in self.firings])
        never = [str(name) for name, share in found.items() if share == 1.0]
        if never:
            raise NoPosterior(
                f"no posterior: at no point does the model give a number for {', '.join(never)}, which gave readings:"
                " check the settings, widen what is uncertain, or leave the firing out"
            )
        return found

    def _each_likelihood(self) -> Floats:
        assert self.experiments.linear is not None
        return self.experiments.linear.given(
            self.prior.particles, self.prior.errors, np.ones(len(self.firings)), self.experiments.exact
        )

    def _advice(self) -> str:
        """What to change where there is no posterior."""
        if self.prior.particles.count < _USUALLY_ENOUGH:
            return f"{self.prior.particles.count} points are few: ask for {_USUALLY_ENOUGH} or more"
        worst = int(np.argmin(self._each_likelihood().max(axis=0)))
        return (
            f"Of all firings {self.firings[worst].name} is explained worst: check its readings and uncertainties, or"
            " leave it out; or ask for more points, or state more widely what may be off"
        )

    def _left_out(self, found: Known, chains: Chains) -> list[LeftOut]:
        return [
            left_out(
                self.experiments, found, self.prior, f, stream(self.number, LEFT_OUT + f), self.mapper, chains
            )
            for f in range(len(self.firings))
        ]

    def _without(self, found: Tempered) -> WithoutModelError:
        stand, experiments = self.instruments.stand, self.experiments
        return without_model_error(
            stand, experiments, self.aim, found, self.number, self.mapper, self._advice
        )

    def _surprises(self, by_firing: pd.DataFrame, everyone: Sequence[LeftOut]) -> pd.DataFrame:
        found = [
            surprises_of(
                self.instruments, firing.name, f, everyone[f], stream(self.number, REPLICAS + 500 + f)
            )
            for f, firing in enumerate(self.firings)
            if everyone and by_firing.loc[firing.name, "surprise"]
        ]
        found = [table for table in found if len(table)]
        return pd.concat(found, ignore_index=True) if found else pd.DataFrame(columns=list(COLUMNS))
