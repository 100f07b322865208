"""Every firing held against the others: its readings as they foresee them, and whether it surprises."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from explorer.firings import Firing
from explorer.questions.calibrate.learning.instruments import Instruments
from explorer.questions.calibrate.learning.left_out import Known, LeftOut
from explorer.questions.calibrate.learning.predictions import Aim, Foreseen, foreseen, variance
from explorer.questions.calibrate.learning.streams import REPLICAS, stream
from explorer.questions.calibrate.posterior import SURPRISING


@dataclass(frozen=True)
class EachFiring:
    """Firings with what is known before, after, and without each."""

    instruments: Instruments
    firings: tuple[Firing, ...]
    aim: Aim | None
    number: int
    prior: Known
    sample: Known
    everyone: Sequence[LeftOut]  #: in the firings' order; none where none is left out

    def _foreseen(self, sample: Known | LeftOut, firing: int) -> Foreseen:
        particles = sample.particles
        expected = self.instruments.expected(particles.simulated, particles.common, sample.errors, firing)
        return foreseen(self.instruments, firing, expected, stream(self.number, REPLICAS + firing))

    def readings(self) -> pd.DataFrame:
        """Every reading before, after, and as the other firings foresee it."""
        rows, index = [], []
        for f, firing in enumerate(self.firings):
            told = {"before": self._foreseen(self.prior, f), "after": self._foreseen(self.sample, f)}
            if self.everyone:
                told["left_out"] = self._foreseen(self.everyone[f], f)
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

    def table(self, impossible: "pd.Series[float]") -> pd.DataFrame:
        """How each firing fits with the others, and what it taught; `impossible` is how often the prior can't."""
        with_all = variance(self.aim, self.sample)
        surprising = self._surprising()
        rows = {}
        for f, firing in enumerate(self.firings):
            row: dict[str, Any] = {"p_before": self._foreseen(self.prior, f).together}
            row["impossible"] = float(impossible[firing.name])
            if self.everyone:
                own = self.everyone[f]
                p = self._foreseen(own, f).together
                without = variance(self.aim, own)
                row |= {"p_left_out": p, "surprise": f in surprising, "taught": 1.0 - with_all / without}
                row["log_predictive"] = own.log_predictive
                row |= {"left_out_by": own.by, "pareto_k": own.shape}
            rows[firing.name] = row
        return pd.DataFrame.from_dict(rows, orient="index")

    def _surprising(self) -> set[int]:
        """Firings that the others contradict: the worst, and what stays a surprise once that one is left out."""
        found = [f for f, own in enumerate(self.everyone) if self._foreseen(own, f).together < SURPRISING]
        if len(found) < 2:
            return set(found)
        worst = min(found, key=lambda f: self.everyone[f].log_predictive)
        without = self.everyone[worst]
        return {f for f in found if f == worst or self._foreseen(without, f).together < SURPRISING}
