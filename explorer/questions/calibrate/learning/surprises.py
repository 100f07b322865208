"""A firing that contradicts the others: which single input, or which instrument, would have to be off, and to what
value.

Each candidate is given a series of values in that firing alone, all else staying as the other firings say; best is the
one under which what was read was most likely, less what it costs to lie so far out. It is a pointer to where to look,
not a finding.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import logsumexp

from explorer import registry
from explorer.questions.calibrate.learning.instruments import Instruments
from explorer.questions.calibrate.learning.left_out import LeftOut
from explorer.questions.calibrate.learning.predictions import together
from explorer.questions.calibrate.posterior import COMMON_ERROR
from explorer.study.firing.far_out import SLIP, penalty

Floats = NDArray[np.float64]

#: Points and values of the first look, and of the second at the best few [-].
_FIRST, _SECOND, _BEST = (48, 15), (256, 31), 8

#: Values between two that are computed, with what they lead to drawn straight from one to the next [-].
_IN_BETWEEN: Final[int] = 16

#: Logarithm of a density that stands for less [-].
_LEAST_DENSITY: Final[float] = -1e6

#: How far an uncertain input is moved, in standard uncertainties; one that is exact, as a share of itself; an error of
#: an instrument, in its own [-].
_FAR, _SHARE, _ERRORS = 8.0, 1.0, 12.0

#: The same where a gas table must be laid out for it [-].
_FAR_IN_TABLE: Final[float] = 4.0

#: What slips at a stand whatever is known of it, and the share of it that is looked for at least: its line clogs, its
#: valve opens late [-].
_SEED, _CLOGGED = "gas.seed_fraction", 0.2

#: What is as it was built in every firing, where it is stated without an uncertainty and no firing sets it.
_BUILT: Final = ("channel.", "nozzle.", "magnet.", "exit.", "mass.")

#: Fall of the logarithm of the density from its peak that bounds a 95 % interval [-].
_FALL: Final[float] = 1.92

#: Least gain of that logarithm that is worth telling [-].
_WORTH: Final[float] = 2.0

COLUMNS: Final = ("firing", "what", "value", "needed", "low", "high", "log_gain", "score", "p")


@dataclass(frozen=True)
class _Candidate:
    what: str
    value: float  #: what the model takes
    lowest: float
    highest: float
    spread: float  #: its standard uncertainty, zero where it is exact
    positive: bool = False  #: whether it can't fall below zero, so that it is off in proportion

    def cost(self, needed: Floats) -> Floats:
        """What it costs to lie elsewhere than it is taken to [-]."""
        if self.spread > 0.0:
            far = penalty((needed - self.value) / self.spread)
            return np.minimum(far, SLIP) if self.what == _SEED else far
        return np.where(needed == self.value, 0.0, SLIP)

    def off(self, own: Floats, needed: Floats) -> Floats:
        """Every point's own value, as far off as the value needed is from what the model takes.

        A value in its place would tear what hangs together at each point asunder, and so explain anything.
        """
        moved = own * (needed / self.value) if self.positive else own + (needed - self.value)
        return np.clip(moved, self.lowest, self.highest)

    def values(self, count: int) -> Floats:
        found = np.linspace(self.lowest, self.highest, count)
        return np.unique(np.append(found, self.value))


def surprises_of(
    instruments: Instruments, name: str, firing: int, others: LeftOut, rng: np.random.Generator
) -> pd.DataFrame:
    """What single change would explain a firing, best first."""
    look = _Look(instruments, firing, others, rng)
    first = [(_score(own, look.best(own, *_FIRST)), own) for own in look.candidates()]
    kept = [own for _, own in sorted(first, key=lambda pair: -pair[0])[:_BEST]]
    rows = [
        {"firing": name, "what": own.what, "value": own.value, **look.best(own, *_SECOND)} for own in kept
    ]
    for own, row in zip(kept, rows, strict=True):
        row["score"] = _score(own, row)
    found = pd.DataFrame(rows, columns=list(COLUMNS)).sort_values("score", ascending=False)
    return found[found["log_gain"] > _WORTH].reset_index(drop=True)


def _score(candidate: "_Candidate", best: Mapping[str, Any]) -> float:
    """How much likelier the readings are with it, less what it costs to lie so far out [-]."""
    return float(best["log_gain"]) - float(candidate.cost(np.asarray(best["needed"])))


class _Look:
    """One firing, computed with single inputs changed."""

    def __init__(
        self, instruments: Instruments, firing: int, others: LeftOut, rng: np.random.Generator
    ) -> None:
        self._instruments, self._firing, self._rng = instruments, firing, rng
        self._common, self._own = others.particles.common, others.particles.own[:, firing]
        self._errors = others.errors
        self._moments = instruments.stand.of_firing(firing)
        self._side = instruments.stand.sides[self._moments[0].side]

    def candidates(self) -> list[_Candidate]:
        """Every input and named error that could be off in the firing."""
        found = [own for address in self._addresses() if (own := self._candidate(address)) is not None]
        errors = dict.fromkeys(n for read in self._instruments.of(self._firing) for n in read.reading.common)
        return [
            *found,
            *(_Candidate(f"{COMMON_ERROR}{name}", 0.0, -_ERRORS, _ERRORS, 1.0) for name in errors),
        ]

    def _addresses(self) -> Sequence[str]:
        settings = {a for moment in self._moments for a in moment.settings}
        known = [a for a in self._side.central if _may_move(a)]
        return list(dict.fromkeys((*known, *sorted(settings))))

    def _candidate(self, address: str) -> _Candidate | None:
        values, prior = self._last.get(address), self._prior.get(address)
        centre = float(np.mean(values)) if values is not None else self._side.central.get(address, 0.0)
        spread = float(np.std(prior)) if prior is not None and np.size(prior) > 1 else 0.0
        if spread == 0.0 and self._built(address):
            return None
        quantity = _known(address)
        far = _FAR_IN_TABLE if quantity.shapes_gas_table else _FAR
        reach = far * spread if spread > 0.0 else _SHARE * abs(centre)
        if not reach > 0.0:
            return None
        margin = 1e-6 * reach
        lowest = max(centre - reach, quantity.low + margin)
        highest = min(centre + reach, quantity.high - margin)
        if address == _SEED:
            lowest = min(lowest, _CLOGGED * centre)
        positive = quantity.low >= 0.0 and centre > 0.0
        return _Candidate(address, centre, lowest, highest, spread, positive) if lowest < highest else None

    def _built(self, address: str) -> bool:
        """Whether something is as it was built in every firing."""
        moments = self._instruments.stand.moments
        return address.startswith(_BUILT) and not any(address in moment.settings for moment in moments)

    @cached_property
    def _last(self) -> dict[str, Floats]:
        """Inputs of the firing's last step at every point [SI]."""
        return self._inputs(self._moments[-1], slice(None))

    @cached_property
    def _prior(self) -> dict[str, Floats]:
        """Inputs before any firing [SI]: how far to look."""
        rng = np.random.default_rng(0)
        drawn = [rng.standard_normal(latents.shape) for latents in (self._common, self._own)]
        return self._side.values(self._instruments.stand.drawn(*drawn))

    def _inputs(self, moment: Any, places: Any) -> dict[str, Floats]:
        stand, common, own = self._instruments.stand, self._common[places], self._own[places]
        return stand.inputs(moment, common, own, stand.drawn(common, own))

    def best(self, candidate: _Candidate, points: int, count: int) -> dict[str, float]:
        """The value under which what was read was most likely, how much more than as it stands, and p with it."""
        values = candidate.values(count)
        places = np.linspace(0, len(self._common) - 1, min(points, len(self._common))).astype(np.intp)
        every = np.tile(places, values.size)
        common, errors = self._common[every], self._errors[every].copy()
        moved = np.repeat(values, places.size)
        inputs = [self._inputs(moment, every) for moment in self._moments]
        if candidate.what.startswith(COMMON_ERROR):
            error = self._instruments.errors.index(candidate.what.removeprefix(COMMON_ERROR))
            errors[:, error] += moved
        else:
            stated = self._side.central.get(candidate.what, 0.0)
            for one in inputs:
                own = one.get(candidate.what, np.full(every.size, stated))
                one[candidate.what] = candidate.off(own, moved)
        shown = self._instruments.simulate_one(self._firing, inputs, every.size)
        expected = self._instruments.expected(shown, common, errors, self._firing, at=0)
        values, expected = _between(values, expected.reshape(values.size, places.size, -1))
        logs = self._instruments.density(expected.reshape(values.size * places.size, -1), self._firing)
        density = logsumexp(logs.reshape(values.size, -1), axis=1) - np.log(places.size)
        plain = max(float(density[values == candidate.value][0]), _LEAST_DENSITY)
        found = int(np.argmax(density - candidate.cost(values)))
        inside = values[density > density[found] - _FALL]
        return {
            "needed": float(values[found]),
            "low": float(inside.min()) if inside.size else np.nan,
            "high": float(inside.max()) if inside.size else np.nan,
            "log_gain": float(density[found] - plain) if np.isfinite(density[found]) else -np.inf,
            "p": self._p(expected[found]),
        }

    def _p(self, expected: Floats) -> float:
        replicas = self._instruments.replicas(expected, self._firing, self._rng)
        whole = replicas[np.isfinite(replicas).all(axis=1)]
        read = np.array([own.reading.value for own in self._instruments.of(self._firing)])
        if len(whole) <= 2 * read.size or np.isnan(read).any():
            return float("nan")
        return together(whole, read)


def _between(values: Floats, expected: Floats) -> tuple[Floats, Floats]:
    """Return values and what is expected under them with more in between: sharp readings fit in a narrow range only."""
    share = np.arange(_IN_BETWEEN)[:, None, None] / _IN_BETWEEN
    # A place without a number takes no neighbour along.
    after = np.where(share > 0.0, expected[1:, None], 0.0) * share
    finer = (expected[:-1, None] * (1.0 - share) + after).reshape(-1, *expected.shape[1:])
    places = np.arange(values.size)
    finest = np.linspace(0, values.size - 1, (values.size - 1) * _IN_BETWEEN + 1)
    return np.interp(finest, places, values), np.concatenate([finer, expected[-1:]])


def _known(address: str) -> registry.Quantity:
    """Return the registry's quantity; one without bounds for what only a callable knows."""
    try:
        return registry.quantity(address)
    except registry.UnknownAddressError:
        return registry.Quantity(address=address, may_be_uncertain=True)


def _may_move(address: str) -> bool:
    quantity = _known(address)
    return quantity.may_be_uncertain and not quantity.constant
