"""A burn at points of what is uncertain: its steps one by one, what scatters from firing to firing common to all."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from explorer import sampling
from explorer.run import Evaluated
from explorer.sampling import Purpose
from explorer.space import InputSpace, Uncertain
from explorer.study.engine import Evaluator, stage_of
from explorer.study.firing.recorded import settings_of
from explorer.study.model_error import model_factor, off_found, with_parts
from explorer.studyfile import Study

FloatArray = NDArray[np.float64]

#: Points of a burn's sample, of which one in a thousand can be told.
POINTS: Final[int] = 4096


@dataclass(frozen=True)
class Moment:
    """A step of a burn as a stage of its own."""

    name: str
    seconds: float | None  #: [s]
    settings: Mapping[str, Any]  #: by address, as written
    study: Study  #: with the settings put in


@dataclass(frozen=True)
class Burn:
    """What is computed of a burn, at points of what is uncertain."""

    study: Study  #: as it stands, without the settings
    moments: tuple[Moment, ...]
    stages: tuple[Evaluator, ...]  #: one a moment
    quantities: tuple[str, ...]
    cube: FloatArray  #: shape (points, rows of the study's space) [-]
    factors: Mapping[str, FloatArray]  #: by quantity, what the model may be off by at each point [-]
    apart: Mapping[
        str, FloatArray
    ]  #: by input that a setting makes uncertain anew, its values at each point [SI]
    number: int

    @property
    def points(self) -> int:
        """Points of its sample [-]."""
        return int(self.cube.shape[0])

    def at(self, rows: NDArray[np.intp]) -> "Burn":
        """Return the same burn at some of its points, which may recur."""
        return replace(
            self,
            cube=self.cube[rows],
            factors={quantity: values[rows] for quantity, values in self.factors.items()},
            apart={name: values[rows] for name, values in self.apart.items()},
        )

    def inputs(self, moment: int) -> dict[str, FloatArray]:
        """Values of the uncertain inputs of one moment at each point [SI]."""
        drawn = self.study.space.values(self.cube)
        own = self.moments[moment].study.space.inputs
        return {
            item.address: self.apart[f"{moment}: {item.address}"]
            if f"{moment}: {item.address}" in self.apart
            else drawn[item.address]
            for item in own
        }

    def found(self, moment: int, changes: Mapping[str, FloatArray] | None = None) -> Evaluated:
        """Quantities of one moment with the model's own error on, at all points or where inputs are changed [SI]."""
        given = {**self.inputs(moment), **(changes or {})}
        found = self.stages[moment].points(given)
        study = self.moments[moment].study
        numbers = {
            quantity: off_found(study, quantity, found.quantities, self.factors[quantity], given)
            if quantity in self.factors
            else values
            for quantity, values in found.quantities.items()
        }
        return Evaluated(numbers, found.outcomes, found.warnings)


def moment_of(study: Study, name: str, seconds: float | None, settings: Mapping[str, Any]) -> Moment:
    """Return a step of a burn; its mode may stand among the settings.

    Raises
    ------
    StudyError
        If the stage doesn't stand with the settings.
    """
    rest = {address: written for address, written in settings.items() if address != "mode"}
    whole = settings_of(rest, str(settings.get("mode", "")), study)
    return Moment(name, seconds, whole, study.replaced(whole) if whole else study)


def burn_of(
    study: Study,
    moments: Sequence[Moment],
    quantities: Sequence[str],
    number: int,
    *,
    points: int = POINTS,
    jobs: int = 1,
) -> Burn:
    """Return a burn ready to be computed.

    Parameters
    ----------
    quantities : sequence of str
        Outputs that every moment has.
    number : int
        [-] random number.
    points : int
        [-] of the sample.
    """
    wanted = tuple(dict.fromkeys(quantities))
    rng = sampling.generator(number, Purpose.FIRING)
    cube = np.clip(rng.random((points, study.space.dimension)), 2.0**-53, 1.0 - 2.0**-53)
    known = {item.address: item for item in study.space.inputs}
    apart: dict[str, FloatArray] = {}
    for place, moment in enumerate(moments):
        for item in moment.study.space.inputs:
            if known.get(item.address) != item:
                apart[f"{place}: {item.address}"] = _values(item, rng, points)
    factors = {}
    for quantity in wanted:
        relative = study.model_error.of(quantity).relative
        if relative:
            factors[quantity] = model_factor(ndtr(rng.standard_normal(points)), relative)
    stages = [stage_of(moment.study, with_parts(moment.study, wanted), jobs=jobs) for moment in moments]
    return Burn(study, tuple(moments), tuple(stages), wanted, cube, factors, apart, number)


def _values(item: Uncertain, rng: np.random.Generator, points: int) -> FloatArray:
    space = InputSpace((item,), ())
    cube = np.clip(rng.random((points, space.dimension)), 2.0**-53, 1.0 - 2.0**-53)
    return space.values(cube)[item.address]
