"""Learns from firings: the posterior of what is not known, always from the prior with all firings at once."""

from __future__ import annotations  # so that help() shows short names

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final, Literal

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from explorer import run, sampling
from explorer.analysis.calibration.experiments import Experiments, Linear, Particles
from explorer.analysis.calibration.tempering import Impossible, tempered
from explorer.firings import Firing, FiringError, firing_of
from explorer.questions.calibrate.checked import diagnostics, refuse_untrusted
from explorer.questions.calibrate.discrepancy import Discrepancy, discrepancy
from explorer.questions.calibrate.instruments import Instruments, instruments_of
from explorer.questions.calibrate.left_out import Known, LeftOut, known, left_out
from explorer.questions.calibrate.likelihood import Likelihood
from explorer.questions.calibrate.posterior import SURPRISING, NoPosterior, Posterior
from explorer.questions.calibrate.predictions import Aim, Foreseen, aim_of, foreseen
from explorer.questions.calibrate.stand import Stand, stand_of
from explorer.questions.calibrate.surprises import COLUMNS, surprises_of
from explorer.questions.calibrate.unknowns import errors_of, errors_table, inputs_table, physical, unknowns_of
from explorer.sampling import Purpose
from explorer.study.problem import Model
from explorer.studyfile import Study, StudyError

Floats = NDArray[np.float64]

#: Streams of random numbers: the sample, the target's scatter, what is left out, replicas and surprises.
_SAMPLE, _AIM, _ERRORS, _LEFT_OUT, _REPLICAS = 0, 1, 10, 1_000, 2_000

#: Fewest points of a sample [-].
_FEWEST: Final[int] = 200


def calibrate(
    model: Study | Model,
    inputs: Mapping[str, object] | None = None,
    firings: Sequence[Firing | Mapping[str, Any]] = (),
    *,
    rng: int | np.random.Generator | None = None,
    particles: int = 4000,
    model_error: Literal["study"] | Mapping[str, float] | None = "study",
    target: str | None = None,
    explain: bool = True,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> Posterior:
    """Learn from firings what a study's (or a callable's) unknown inputs are.

    Parameters
    ----------
    model : Study or callable
        With a study `inputs` is None: its own.
    inputs : mapping, optional
        For a callable: values of the grammar by name.
    firings : sequence of Firing or mapping
        What was set and what was read: ``{"settings": {address: value}, "readings": {quantity: (value, random)}}`` in
        SI, or with steps. Their order doesn't matter.
    rng : int or Generator, optional
        Random number; a study's own if left out.
    particles : int
        [-] points of the sample.
    model_error : "study", mapping or None
        Whether the model itself may be off on what is observed: as the study's [model_error] says, as relative standard
        uncertainties by quantity [-], or not at all.
    target : str, optional
        What is predicted; a study's own target if left out. A callable has one only if it is named.
    explain : bool
        [-] whether each firing is left out in turn, and surprises are looked into.
    jobs : int
        [-] threads.
    progress : callable, optional
        Told (chunks done, chunks) of a gas table.

    Returns
    -------
    Posterior

    Raises
    ------
    StudyError
        If a firing can't be one of this study.
    NoPosterior
        If no point explains the firings, or the sample can't be trusted; it says what to change.
    """
    taken = _in_order(firings)
    if particles < _FEWEST:
        raise StudyError(f"{particles} points are too few for a posterior: ask for {_FEWEST} or more")
    study = model if isinstance(model, Study) else None
    aimed = target or (study.target.quantity if study else "")
    number = sampling.random_number((study.run.random_number if study else 1) if rng is None else rng)
    stand = stand_of(model, inputs, taken, aimed, jobs=jobs, progress=progress)
    relative = _relative(study, stand, model_error)
    # Results must not hang on how many threads linear algebra takes.
    with threadpool_limits(limits=1, user_api="blas"):
        start = _begun(stand, taken, relative, particles, _stream(number, _SAMPLE))
        return _Calibration(start, taken, number, aimed, explain=explain, jobs=jobs).posterior(bool(relative))


def _stream(number: int, place: int) -> np.random.Generator:
    return sampling.generator(number, Purpose.CALIBRATION, chunk=place)


def _in_order(firings: Sequence[Firing | Mapping[str, Any]]) -> tuple[Firing, ...]:
    """Firings with names, in an order of their own: that of the call must not matter."""
    try:
        given = [firing_of(firing) for firing in firings]
    except FiringError as error:
        raise StudyError(str(error)) from error
    if not given:
        raise StudyError("there are no firings to learn from")
    named = [
        firing if firing.name else replace(firing, name=f"firing {place}")
        for place, firing in enumerate(given, 1)
    ]
    names = [firing.name for firing in named]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice:
        raise StudyError(f'two firings are called "{twice}": give each a name of its own')
    order = sorted(range(len(given)), key=lambda i: (given[i].name, repr(given[i])))
    return tuple(named[i] for i in order)


def _relative(
    study: Study | None, stand: Stand, model_error: Literal["study"] | Mapping[str, float] | None
) -> dict[str, float]:
    """Relative standard uncertainty of the model itself, of each observed quantity [-]."""
    observed = dict.fromkeys(q for moment in stand.moments for q in moment.quantities)
    if model_error is None or (model_error == "study" and study is None):
        return {}
    if model_error == "study":
        assert study is not None
        return {q: study.model_error.of(q).relative for q in observed}
    if not isinstance(model_error, Mapping):
        raise StudyError(f'model_error is "study", a mapping or None; got {model_error!r}')
    return {q: float(model_error.get(q, 0.0)) for q in observed}


@dataclass(frozen=True)
class _Begun:
    """The prior sample, and what firings are held against it with."""

    instruments: Instruments
    experiments: Experiments
    prior: Particles


def _begun(
    stand: Stand,
    firings: Sequence[Firing],
    relative: Mapping[str, float],
    points: int,
    rng: np.random.Generator,
) -> _Begun:
    draft = instruments_of(stand, firings, _errors(stand, relative, {}))
    common = rng.standard_normal((points, draft.common))
    own = rng.standard_normal((points, len(firings), draft.own))
    simulated = draft.simulate(common, own)
    typical: dict[str, float] = {}
    for each in draft.shown:
        column = simulated[:, each.firing, each.column]
        if np.isfinite(column).any():
            typical[each.quantity] = max(typical.get(each.quantity, 0.0), float(np.nanmedian(np.abs(column))))
    instruments = replace(draft, discrepancy=_errors(stand, relative, typical))
    likelihood = Likelihood(instruments)
    experiments = Experiments(
        instruments.common,
        instruments.own,
        len(firings),
        instruments.columns,
        instruments.simulate,
        likelihood.log_likelihood,
        tuple(range(stand.common, instruments.common)),
        Linear(likelihood.drawn, likelihood.given),
    )
    return _Begun(instruments, experiments, Particles(common, own, simulated))


def _errors(stand: Stand, relative: Mapping[str, float], typical: Mapping[str, float]) -> Discrepancy:
    """What the model may be off by at the firings' settings and, last, at the study as it stands."""
    moments = stand.moments
    settings = [*(moment.settings for moment in moments), {}]
    words = [*(moment.words for moment in moments), {}]
    if stand.study is not None:
        own = {**stand.study.choices, "mode": stand.study.mode}
        words = [{a: each.get(a, own.get(a, "")) for w in words for a in w} for each in words]
    return discrepancy(relative, typical, settings, words, stand.sides[0].central)


class _Calibration:
    """One calibration, from the prior sample on."""

    def __init__(
        self,
        begun: _Begun,
        firings: tuple[Firing, ...],
        number: int,
        target: str,
        *,
        explain: bool,
        jobs: int,
    ) -> None:
        self.instruments, self.experiments = begun.instruments, begun.experiments
        nothing = np.zeros(len(firings))
        self.prior = known(self.experiments, begun.prior, nothing, _stream(number, _ERRORS))
        self.firings, self.number, self.explain, self.jobs = firings, number, explain, jobs
        self.aim: Aim | None = None
        if target:
            self.aim = aim_of(self.instruments, target, begun.prior.count, _stream(number, _AIM))

    def posterior(self, model_error: bool) -> Posterior:
        """Sample, check, and hold every firing against the others."""
        impossible = self._impossible()
        try:
            found = tempered(
                self.experiments, self.prior.particles, _stream(self.number, _SAMPLE + 2), mapper=self.mapper
            )
        except Impossible as error:
            raise NoPosterior(f"no posterior: {error}. {self._advice()}") from error
        checked = diagnostics(found, impossible, len(self.instruments.stand.moments))
        refuse_untrusted(checked, self._advice)
        stand, common = self.instruments.stand, found.particles.common
        unknowns = unknowns_of(stand)
        sample = known(
            self.experiments, found.particles, np.ones(len(self.firings)), _stream(self.number, _ERRORS + 1)
        )
        errors = [
            errors_of(self.instruments, self.aim, own.particles.common, own.errors)
            for own in (self.prior, sample)
        ]
        everyone = self._left_out(sample) if self.explain else []
        by_firing = self._by_firing(sample, everyone, impossible)
        return Posterior(
            study=stand.study,
            firings=self.firings,
            target=self.aim.quantity if self.aim else "",
            inputs=inputs_table(stand, unknowns, common),
            errors=errors_table(*errors),
            prediction=self._prediction(sample),
            sample=pd.DataFrame({**physical(stand, unknowns, common), **errors[1]}),
            readings=self._readings(sample, everyone),
            by_firing=by_firing,
            surprises=self._surprises(by_firing, everyone),
            log_evidence=found.log_evidence,
            log_evidence_error=found.log_evidence_error,
            model_error=model_error,
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
        return self.experiments.linear.given(self.prior.particles, self.prior.errors, self.experiments.exact)

    def _advice(self) -> str:
        """What to change where there is no posterior."""
        worst = int(np.argmin(self._each_likelihood().max(axis=0)))
        return (
            f"Of all firings {self.firings[worst].name} is explained worst: check its readings and uncertainties, or"
            " leave it out; or ask for more points, or state more widely what may be off"
        )

    def _left_out(self, found: Known) -> list[LeftOut]:
        return [
            left_out(self.experiments, found, self.prior, f, _stream(self.number, _LEFT_OUT + f), self.mapper)
            for f in range(len(self.firings))
        ]

    def _foreseen(self, sample: Known | LeftOut, firing: int) -> Foreseen:
        particles = sample.particles
        expected = self.instruments.expected(particles.simulated, particles.common, sample.errors, firing)
        return foreseen(self.instruments, firing, expected, _stream(self.number, _REPLICAS + firing))

    def _readings(self, found: Known, everyone: Sequence[LeftOut]) -> pd.DataFrame:
        rows, index = [], []
        for f, firing in enumerate(self.firings):
            told = {"before": self._foreseen(self.prior, f), "after": self._foreseen(found, f)}
            if everyone:
                told["left_out"] = self._foreseen(everyone[f], f)
            for place, read in enumerate(self.instruments.of(f)):
                own = read.reading
                row: dict[str, float] = {
                    "value": own.value,
                    "random": own.random_of_mean,
                    "common": float(np.sqrt(sum(u**2 for u in own.common.values()))),
                }
                for when, seen in told.items():
                    row |= {f"mean_{when}": float(seen.mean[place]), f"low_{when}": float(seen.low[place])}
                    row |= {f"high_{when}": float(seen.high[place])}
                    if when != "after":
                        row[f"p_{when}"] = float(seen.p[place])
                rows.append(row)
                index.append((firing.name, read.step, read.quantity))
        names = ["firing", "step", "quantity"]
        return pd.DataFrame(rows, index=pd.MultiIndex.from_tuples(index, names=names))

    def _by_firing(self, found: Known, everyone: Sequence[LeftOut], impossible: pd.Series) -> pd.DataFrame:
        with_all = self._variance(found)
        surprising = self._surprising(everyone)
        rows = {}
        for f, firing in enumerate(self.firings):
            row: dict[str, Any] = {"p_before": self._foreseen(self.prior, f).together}
            row["impossible"] = float(impossible[firing.name])
            if everyone:
                own = everyone[f]
                p = self._foreseen(own, f).together
                without = self._variance(own)
                row |= {"p_left_out": p, "surprise": f in surprising, "taught": 1.0 - with_all / without}
                row["log_predictive"] = own.log_predictive
                row |= {"left_out_by": own.by, "pareto_k": own.shape}
            rows[firing.name] = row
        return pd.DataFrame.from_dict(rows, orient="index")

    def _surprising(self, everyone: Sequence[LeftOut]) -> set[int]:
        """Firings that the others contradict: the worst, and what stays a surprise once that one is left out."""
        found = [f for f, own in enumerate(everyone) if self._foreseen(own, f).together < SURPRISING]
        if len(found) < 2:
            return set(found)
        worst = min(found, key=lambda f: everyone[f].log_predictive)
        without = everyone[worst]
        return {f for f in found if f == worst or self._foreseen(without, f).together < SURPRISING}

    def _variance(self, sample: Known | LeftOut) -> float:
        """Variance of the target [SI²]; not a number without a target."""
        if self.aim is None:
            return float("nan")
        values = self.aim.values(sample.particles.common, sample.errors)[1]
        return float(np.nanvar(values)) if np.isfinite(values).any() else float("nan")

    def _prediction(self, sample: Known) -> pd.DataFrame:
        rows: dict[tuple[str, bool], dict[str, float]] = {}
        aim = self.aim
        if aim is not None:
            study = self.instruments.stand.study
            still = replace(aim, scatter=np.column_stack([aim.scatter[:, :1], 0.0 * aim.scatter[:, 1:]]))
            for when, own in (("before", self.prior), ("after", sample)):
                latents = own.particles.common, own.errors
                pairs = zip(aim.values(*latents), still.values(*latents), strict=True)
                for put_on, (values, fixed) in zip((False, True), pairs, strict=True):
                    rows[when, put_on] = _figures(values, fixed, study, aim.quantity)
        index = pd.MultiIndex.from_tuples([*rows], names=["when", "model_error"]) if rows else None
        return pd.DataFrame([*rows.values()], index=index)

    def _surprises(self, by_firing: pd.DataFrame, everyone: Sequence[LeftOut]) -> pd.DataFrame:
        found = [
            surprises_of(
                self.instruments, firing.name, f, everyone[f], _stream(self.number, _REPLICAS + 500 + f)
            )
            for f, firing in enumerate(self.firings)
            if everyone and by_firing.loc[firing.name, "surprise"]
        ]
        found = [table for table in found if len(table)]
        return pd.concat(found, ignore_index=True) if found else pd.DataFrame(columns=list(COLUMNS))


def _figures(values: Floats, fixed: Floats, study: Study | None, quantity: str) -> dict[str, float]:
    whole = values[np.isfinite(values)]
    if not whole.size:
        return dict.fromkeys(
            ("mean", "standard_uncertainty", "low", "high", "without_scatter", "chance_met"), np.nan
        )
    low, high = np.quantile(whole, [0.025, 0.975])
    chance = np.nan
    if study is not None and quantity == study.target.quantity and study.target.has_requirement:
        least = -np.inf if study.target.at_least is None else study.target.at_least
        most = np.inf if study.target.at_most is None else study.target.at_most
        chance = float(np.mean((whole >= least) & (whole <= most)))
    return {
        "mean": float(whole.mean()),
        "standard_uncertainty": float(whole.std()),
        "low": float(low),
        "high": float(high),
        "without_scatter": float(np.nanstd(fixed)),
        "chance_met": chance,
        "no_number": 1.0 - whole.size / values.size,
    }
