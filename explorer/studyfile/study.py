"""A study as resolved: every input in SI or as an uncertain one, who says so, and what is asked of it."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from explorer import registry
from explorer.space import InputSpace
from explorer.studyfile import choices as choosing
from explorer.studyfile import designing, document, measuring, propellants, resolve, schema, varying
from explorer.studyfile.flights import FlightPlan, flight_plan
from explorer.studyfile.geometry import check_geometry
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
from explorer.studyfile.values import Known, known_values, values_of


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
        raw = document.replaced(dict(self.document), replacements)
        return study_of(raw, self.path, {**self.replacements, **replacements}, self)

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


def study_of(
    raw: document.Document,
    path: Path | None,
    replacements: Mapping[str, object],
    earlier: Study | None = None,
) -> Study:
    """Return the study of a raw document."""
    model = schema.checked(raw)
    pairs = resolve.pair_names(raw)
    notes: list[str] = []
    choices, origin = choosing.choices_of(raw, pairs)
    choosing.check_alternatives(raw, choices)
    values = values_of(raw, choices, pairs, origin, notes, _known(earlier))
    exact = {address: item for address, item in values.items() if isinstance(item, float)}
    vary = designing.varied_inputs(model.vary, pairs)
    made_exact = resolve.made_exact(replacements, vary, choices)
    space = resolve.space(values, model.correlation, pairs, made_exact, notes)
    central = exact | space.central()
    if choices["magnet.kind"] == "blocks" and "magnet.blocks.position" not in central:
        exact["magnet.blocks.position"] = 0.5 * central["channel.length"]
        origin["magnet.blocks.position"] = "default"
    pairs = tuple(sorted(pairs, key=lambda pair: central[f"electrodes.{pair}.start"]))
    check_geometry(central, pairs, propellants.field_profile_of(choices))
    propellants.check_gas(choices, central)
    instruments = measuring.instruments(model.instrument, pairs)
    setups = measuring.setups(model.setup)
    measurements = measuring.measurements(model.measurement, pairs, instruments, setups)
    resolve.check_settings(measurements, values)
    given = varying.Given(raw, choices, values, known_values(raw, values, origin))
    vary = varying.still_varied(vary, given, replacements, notes)
    notes += [resolve.replacement_note(address, exact) for address in replacements if address in values]
    return Study(
        title=model.title,
        mode=choices["mode"],
        path=path,
        choices=choices,
        exact=dict(sorted(exact.items(), key=lambda item: registry.position(item[0]))),
        space=space,
        origin=origin,
        pairs=pairs,
        target=measuring.target(model.target, pairs),
        run=Run(model.run.random_number),
        model_error=measuring.model_error(model.model_error, pairs),
        instruments=instruments,
        setups=setups,
        measurements=resolve.pinning_something(measurements, space, made_exact, notes),
        decision=measuring.decision(model.decision),
        vary=vary,
        wishes=designing.wishes(model.wanted, pairs),
        limits=designing.limits(model.limit, pairs),
        flight=flight_plan(model.flight, replacements, notes),
        notes=tuple(notes),
        document=raw,
        replacements=dict(replacements),
    )


def _known(earlier: Study | None) -> Known:
    if earlier is None:
        return {}
    uncertain = {item.address: item for item in earlier.space.inputs}
    return known_values(earlier.document, {**earlier.exact, **uncertain}, earlier.origin)
