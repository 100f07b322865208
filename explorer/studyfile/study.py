"""A study as resolved: every input in SI or as an uncertain one, who says so, and what is asked of it."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from explorer import registry
from explorer.space import InputSpace
from explorer.studyfile.flights import FlightPlan
from explorer.studyfile.sections import (
    Decision,
    Instrument,
    Limit,
    Measurement,
    ModelError,
    Run,
    Setup,
    Target,
    Varied,
    Wish,
)


@dataclass(frozen=True)
class Study:
    """Everything that a command needs to know; made by `read_study` and friends."""

    title: str
    mode: str  #: "acceleration" or "extraction"
    path: Path | None
    choices: Mapping[str, str]  #: words and texts by address
    exact: Mapping[str, float]  #: inputs known exactly, defaults included [SI]
    space: InputSpace  #: uncertain inputs
    origin: Mapping[str, str]  #: who says a value: "yours", "default" or "assumed"
    pairs: tuple[str, ...]  #: along the flow
    target: Target
    run: Run
    model_error: ModelError
    instruments: tuple[Instrument, ...] = ()
    setups: tuple[Setup, ...] = ()
    measurements: tuple[Measurement, ...] = ()
    decision: Decision | None = None
    vary: tuple[Varied, ...] = ()  #: in column order, words last
    wishes: tuple[Wish, ...] = ()  #: none, one, or two for a trade-off curve
    limits: tuple[Limit, ...] = ()
    flight: FlightPlan | None = None
    notes: tuple[str, ...] = ()  #: what a reader must know of how it was resolved
    document: Mapping[str, Any] = field(default_factory=dict, repr=False, compare=False)
    replacements: Mapping[str, object] = field(default_factory=dict, repr=False, compare=False)

    def central(self) -> dict[str, float]:
        """Return every numeric input at its central value [SI], in column order."""
        values = {**self.exact, **self.space.central()}
        return dict(sorted(values.items(), key=lambda item: registry.position(item[0])))

    def replaced(self, replacements: Mapping[str, object]) -> "Study":
        """Return the study with values replaced whole, as `--set` does: {"magnet.field": "0.6 T"}."""
        from explorer.studyfile import (
            reading,  # which makes studies, so that it cannot be imported before them
        )

        return reading.replaced(self, replacements)

    def words(self) -> dict[str, str]:
        """Return in words how each uncertain input was read."""
        scales = {item.address: registry.quantity(item.address).scale for item in self.space.inputs}
        return self.space.words(scales)

    def as_resolved(self) -> dict[str, Any]:
        """Return the study as plain data for reports and for its hash: nothing of its spelling is left."""
        words = self.words()
        inputs = {
            address: {
                "value": value,
                "unit": registry.quantity(address).unit,
                "shown": registry.quantity(address).shown(value),
                "origin": self.origin.get(address, "yours"),
                "words": words.get(address),
            }
            for address, value in self.central().items()
        }
        return {
            "mode": self.mode,
            "pairs": list(self.pairs),
            "choices": {address: _short(address, word) for address, word in sorted(self.choices.items())},
            "inputs": inputs,
            "distributions": {item.address: repr(item) for item in self.space.inputs},
            "correlations": [asdict(item) for item in self.space.correlations],
            "target": asdict(self.target),
            "model_error": asdict(self.model_error),
            "instruments": [asdict(item) for item in self.instruments],
            "setups": [asdict(item) for item in self.setups],
            "measurements": [asdict(item) for item in self.measurements],
            "decision": None if self.decision is None else asdict(self.decision),
            **self._search_as_resolved(),
            **({} if self.flight is None else {"flight": self.flight.as_resolved()}),
        }

    def _search_as_resolved(self) -> dict[str, Any]:
        """Return what is varied, wanted and limited; without any of it a study is what it was before."""
        search = {
            "vary": [asdict(item) for item in self.vary],
            "wishes": [asdict(item) for item in self.wishes],
            "limits": [asdict(item) for item in self.limits],
        }
        for item in search["vary"]:
            del item["stock"]  # a spelling; its values stay
        return {key: items for key, items in search.items() if items}

    @property
    def study_hash(self) -> str:
        """SHA-256 over the resolved values; title, comments, spelling and random number leave it alone."""
        resolved = self.as_resolved()
        profile = self.choices.get("magnet.profile.file")
        if profile is not None:  # what stands in the file counts, not where it lies
            resolved["choices"]["magnet.profile.file"] = hashlib.sha256(
                Path(profile).read_bytes()
            ).hexdigest()
        text = json.dumps(resolved, sort_keys=True, ensure_ascii=True)
        return hashlib.sha256(text.encode()).hexdigest()


def _short(address: str, word: str) -> str:
    """Return a choice as a report shows it: of a file its name, for folders differ between machines."""
    return Path(word).name if address == "magnet.profile.file" else word
