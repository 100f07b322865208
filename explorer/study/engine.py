"""A study as something to evaluate: its design, the ranges that its gas table must cover, and the callable."""

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from explorer import registry, run
from explorer.physics.field_profile import FieldProfile
from explorer.space import Uncertain
from explorer.stage.design import Design, Pair
from explorer.stage.evaluate import Profile, profile
from explorer.stage.stated_gas import gas_values, refuse_unfed_gas
from explorer.study.outcomes import outcomes_of
from explorer.studyfile import Calculation, Study, StudyError, feed_of, field_profile_of, propellants_of

#: What a setting may be: SI, or a text of the value grammar.
Setting = float | str

#: Tail of an uncertain input beyond which its gas table need not reach, and the most standard uncertainties.
_TAIL: Final[float] = 1e-8
_MOST_UNCERTAINTIES: Final[float] = 8.0


def _profile(study: Study) -> FieldProfile | None:
    """The measured field, where the study has one; it must cover the channel."""
    profile = field_profile_of(study.choices)
    if profile is None:
        return None
    length = study.central()["channel.length"]
    if profile.x[0] > 0.0 or profile.x[-1] < length:
        raise StudyError(
            f"magnet.profile.file covers {profile.x[0] * 1e3:g} … {profile.x[-1] * 1e3:g} mm, but the channel"
            f" runs from 0 to {length * 1e3:g} mm: measure or extend the field map over the whole channel"
        )
    return profile


def design_of(study: Study) -> Design:
    """The study's choices as the stage reads them."""
    pairs = tuple(
        Pair(
            name,
            study.choices[f"electrodes.{name}.layout"] == "segmented",
            study.choices[f"electrodes.{name}.source.kind"] == "supply",
            study.choices[f"electrodes.{name}.layer"] == "computed",
            study.choices[f"electrodes.{name}.struck"] == "yes",
            study.choices.get(f"electrodes.{name}.material"),
            kind
            if (kind := study.choices[f"electrodes.{name}.source.kind"]) in registry.PULSED_SOURCES
            else None,
        )
        for name in study.pairs
    )
    values = study.central()
    return Design(
        propellants_of(study.choices, values),
        pairs,
        study.choices["magnet.kind"],
        _profile(study),
        feed_of(study.choices, values),
        study.choices.get("gas.ionization") == "relaxing",
    )


def reach_of(item: Uncertain) -> tuple[float, float]:
    """Between which values an uncertain input is worth covering [SI]."""
    parts = [part for part in (item.unknown, item.scatter) if part is not None]
    ends = np.array([part.quantile(np.array([_TAIL, 1 - _TAIL])) - part.mean for part in parts]).sum(axis=0)
    reach = _MOST_UNCERTAINTIES * item.standard_uncertainty
    low, high = item.centre + max(ends[0], -reach), item.centre + min(ends[1], reach)
    return max(low, item.low), min(high, item.high)


def ranges_of(study: Study, samples: Mapping[str, ArrayLike]) -> dict[str, tuple[float, float]]:
    """Lowest and highest value of every input over the study's distributions and the samples. [SI]"""
    ranges = {address: (value, value) for address, value in study.central().items()}
    ranges |= {item.address: reach_of(item) for item in study.space.inputs}
    for address, given in samples.items():
        values = np.asarray(given, dtype=np.float64)
        if address == "gas.seed_fraction" and np.any(values > 0.0):
            values = values[values > 0.0]  # unseeded points have a table of their own
        low, high = ranges[address]
        if address in study.space.central():
            ranges[address] = (min(low, float(np.min(values))), max(high, float(np.max(values))))
        else:
            ranges[address] = (float(np.min(values)), float(np.max(values)))
    return ranges


def _spread(study: Study, ranges: Mapping[str, tuple[float, float]]) -> dict[str, float]:
    """Standard uncertainty [SI] of the inputs whose ranges are those of their distributions."""
    inputs = study.space.inputs
    return {
        item.address: item.standard_uncertainty
        for item in inputs
        if ranges.get(item.address) == reach_of(item)
    }


def with_settings(study: Study, settings: Mapping[str, Setting]) -> Study:
    """The study with settings replaced, each now exact."""
    if not settings:
        return study
    texts = {
        address: value
        if isinstance(value, str)
        else f"{float(value)!r} {unit}".strip()
        if (unit := registry.quantity(address).unit) != "1"
        else float(value)
        for address, value in settings.items()
    }
    return study.replaced(texts)


class Stage:
    """A study's stage as a callable on arrays: values by address in, quantities by address out (SI).

    Its gas table reaches as far as `ranges` say, or over its distributions and the samples.
    """

    def __init__(
        self,
        study: Study,
        quantities: Sequence[str],
        *,
        samples: Mapping[str, ArrayLike] | None = None,
        at_samples_only: bool = False,
        ranges: Mapping[str, tuple[float, float]] | None = None,
        jobs: int = 1,
        progress: run.Progress | None = None,
    ) -> None:
        self.study = study
        self.quantities = tuple(quantities)
        self.jobs = jobs
        self.design = design_of(study)
        self.central = study.central()
        self.grade = study.choices.get("magnet.blocks.grade")
        given = dict(samples or {})
        if ranges is None and at_samples_only:
            values = {**self.central, **given}
            ranges = {a: (float(np.min(v)), float(np.max(v))) for a, v in values.items()}
        elif ranges is None:
            ranges = ranges_of(study, given)
        try:
            refuse_unfed_gas(self.design, self.central)
            self.tables = run.Tables(
                self.design, ranges, spread=_spread(study, ranges), jobs=jobs, progress=progress
            )
        except (ArithmeticError, ValueError) as error:
            if str(error).startswith("gas."):
                raise StudyError(str(error)) from error
            raise StudyError(f"the gas can't be modelled: {error}") from error
        self._refuse_weak_chargers()

    def _refuse_weak_chargers(self) -> None:
        """Refuse a capacitor's charger that can't keep the rate at central values."""
        for pair in self.design.pairs:
            head = f"electrodes.{pair.name}"
            charger = self.central.get(f"{head}.source.charger_power")
            if charger is None:
                continue
            point = run.chunk(self.design, self.central, self.tables, (f"{head}.source_power",), self.grade)
            needed = float(point.quantities[f"{head}.source_power"][0])
            if needed > charger:
                power = registry.quantity("source_power")
                raise StudyError(
                    f"{head}.source.charger_power: {power.spoken(charger)} can't keep the rate, whose pulses take"
                    f" {power.spoken(needed)}: lower the rate or the voltage, or state a larger charger"
                )

    def values(self, samples: Mapping[str, ArrayLike]) -> dict[str, ArrayLike]:
        """All inputs: the samples, and the central value of what isn't sampled."""
        return {**self.central, **samples}

    def profile(self) -> Profile | None:
        """The central point along the channel, None where it carries no numbers."""
        values, unfed = gas_values(self.design, self.central, self.tables)
        return None if unfed is not None and unfed[0] else profile(self.design, values, self.tables)

    def chunk(self, samples: Mapping[str, ArrayLike]) -> run.Evaluated:
        """One chunk of points, in this thread."""
        return run.chunk(self.design, self.values(samples), self.tables, self.quantities, self.grade)

    def points(
        self, samples: Mapping[str, ArrayLike], *, progress: run.Progress | None = None
    ) -> run.Evaluated:
        """A series of points, in threads."""
        return run.points(
            self.design,
            self.values(samples),
            self.tables,
            self.quantities,
            grade=self.grade,
            jobs=self.jobs,
            progress=progress,
        )

    def __call__(self, samples: Mapping[str, ArrayLike]) -> dict[str, NDArray[np.float64]]:
        """The contract's model: quantities by address, NaN where a point carries no number."""
        return self.points(samples).quantities


class Calculated:
    """A study computed by a callable in place of its stage."""

    def __init__(self, study: Study, calculation: Calculation, quantities: Sequence[str]) -> None:
        self.study = study
        self.quantities = tuple(quantities)
        self._calculation = calculation
        self._central = study.central()

    def chunk(self, samples: Mapping[str, ArrayLike]) -> run.Evaluated:
        """One chunk of points, in this thread."""
        size = max((np.size(values) for values in samples.values()), default=1)
        values = {
            address: np.broadcast_to(np.asarray(value, dtype=np.float64), size)
            for address, value in {**self._central, **samples}.items()
        }
        found = self._calculation(values)
        numbers = {q: np.broadcast_to(np.asarray(found[q], np.float64), size) for q in self.quantities}
        outcomes = outcomes_of(found, numbers, (size,))
        return run.Evaluated(numbers, outcomes, np.zeros(size, np.uint32))

    def points(
        self, samples: Mapping[str, ArrayLike], *, progress: run.Progress | None = None
    ) -> run.Evaluated:
        """A series of points, all at once."""
        return self.chunk(samples)


Evaluator = Stage | Calculated


def stage_of(
    study: Study,
    quantities: Sequence[str],
    *,
    samples: Mapping[str, ArrayLike] | None = None,
    at_samples_only: bool = False,
    ranges: Mapping[str, tuple[float, float]] | None = None,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> Evaluator:
    """What computes a study: its stage, or the callable that it was given in place of one."""
    if study.calculation is not None:
        return Calculated(study, study.calculation, quantities)
    return Stage(
        study,
        quantities,
        samples=samples,
        at_samples_only=at_samples_only,
        ranges=ranges,
        jobs=jobs,
        progress=progress,
    )


def quantities_of(study: Study, quantities: Sequence[str] | None) -> tuple[str, ...]:
    """The outputs wanted, checked; all of them if None."""
    known = registry.outputs_of(study.pairs)
    if quantities is None:
        return known
    for address in quantities:
        if address not in known:
            guess = registry.nearest(address, known)
            hint = f'; did you mean "{guess}"?' if guess else ""
            raise StudyError(f'"{address}" is not an output of this study{hint}')
    return tuple(quantities)


def refuse_bad_samples(study: Study, samples: Mapping[str, ArrayLike]) -> None:
    """Raise if a column isn't an input of the study, or holds values that it can't have, alone or together."""
    known = study.central()
    for address, values in samples.items():
        if address not in known:
            guess = registry.nearest(str(address), known)
            hint = f'; did you mean "{guess}"?' if guess else ""
            raise StudyError(f'"{address}" is not an input of this study{hint}')
        quantity = registry.quantity(address)
        if not quantity.may_be_uncertain:
            raise StudyError(
                f"{address} is the same for all points of a study: change it with a setting instead"
            )
        inside = quantity.inside(np.asarray(values, dtype=np.float64))
        if not np.all(inside):
            worst = np.asarray(values, dtype=np.float64).ravel()[np.argmin(np.ravel(inside))]
            raise StudyError(f"{address} must lie {quantity.bounds_words()}; got {worst:g} {quantity.unit}")
    for pair in study.pairs:
        _refuse_arcs_below_drops(f"electrodes.{pair}", known, samples)


def _refuse_arcs_below_drops(head: str, known: Mapping[str, float], samples: Mapping[str, ArrayLike]) -> None:
    """Refuse a point whose constricted discharge would drop less than its sheaths: a study can't say so either."""
    names = f"{head}.arc_voltage", f"{head}.voltage_drop"
    if not set(names) & set(samples) or not all(name in known for name in names):
        return
    arc, drop = np.broadcast_arrays(
        *(np.asarray(samples.get(name, known[name]), dtype=float) for name in names)
    )
    if np.any(arc < drop):
        first = np.argmax(np.ravel(arc < drop))
        raise StudyError(
            f"{names[0]} ({arc.ravel()[first]:g} V) lies below {names[1]} ({drop.ravel()[first]:g} V) at point {first}"
        )
