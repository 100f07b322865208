"""A study as resolved: every input in SI or as an uncertain one, who says so, and what is asked of it."""

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from explorer import registry
from explorer.space import InputSpace, Uncertain
from explorer.studyfile import document, schema
from explorer.studyfile.inherited import Change, Inheritance
from explorer.studyfile.inputs.correlations import space_of
from explorer.studyfile.inputs.numbers import Given, Known, given_by
from explorer.studyfile.inputs.plausibility import check_plausible
from explorer.studyfile.inputs.stated_gas import is_fed, seed_oxides_note
from explorer.studyfile.inputs.varied import made_exact_by, still_varied
from explorer.studyfile.names import pair_names
from explorer.studyfile.rig import Rig
from explorer.studyfile.sections import measurements, search, target
from explorer.studyfile.sections.calibrated import Calibrated, calibrated
from explorer.studyfile.sections.firings import PlannedFiring, firings
from explorer.studyfile.sections.flight import FlightPlan, flight_plan
from explorer.studyfile.sections.instruments import Instrument, instruments
from explorer.studyfile.sections.measurements import Measurement, Setup
from explorer.studyfile.sections.model_error import ModelError, model_error
from explorer.studyfile.sections.search import Limit, Varied, Wish
from explorer.studyfile.sections.target import Decision, Run, Target

#: The contract's model: arrays by name in, arrays by name out.
Calculation = Callable[[Mapping[str, NDArray[np.float64]]], Mapping[str, NDArray[np.float64]]]


@dataclass(frozen=True)
class Study:
    """Everything that a command needs to know; made by `read_study` and friends.

    Addresses are those of the registry, numbers in SI. A study is never changed: `replaced` returns another one.
    """

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
    firings: tuple[PlannedFiring, ...] = ()  #: to come, as [[firing]] plans them
    decision: Decision | None = None
    vary: tuple[Varied, ...] = ()  #: in column order, words last
    wishes: tuple[Wish, ...] = ()  #: none, one, or two for a trade-off curve
    limits: tuple[Limit, ...] = ()
    flight: FlightPlan | None = None
    calibrated: Calibrated | None = None  #: what it takes from firings
    notes: tuple[str, ...] = ()  #: what a reader must know of how it was resolved
    #: asked in place of the stage: values [SI] by address in, outputs by address out, NaN where there is no number
    calculation: Calculation | None = field(default=None, repr=False, compare=False)
    rig: Rig = field(default_factory=Rig, repr=False, compare=False)  #: which hardware it is about
    document: Mapping[str, Any] = field(default_factory=dict, repr=False, compare=False)
    replacements: Mapping[str, object] = field(default_factory=dict, repr=False, compare=False)

    def central(self) -> dict[str, float]:
        """Return every numeric input at its central value [SI], in column order."""
        values = {**self.exact, **self.space.central()}
        return dict(sorted(values.items(), key=lambda item: registry.position(item[0])))

    def as_written(self) -> dict[str, float]:
        """Return the same as the study's file has it, whatever firings taught."""
        before = {} if self.calibrated is None else self.calibrated.before.central()
        return {**self.central(), **before}

    def replaced(self, replacements: Mapping[str, object]) -> "Study":
        """Return the same hardware with values replaced whole, as `--set` does: {"magnet.field": "0.6 T"}."""
        raw = document.replaced(dict(self.document), replacements)
        found = study_of(
            raw,
            self.path,
            {**self.replacements, **replacements},
            rig=self.rig.changed(replacements),
            change=Change(lambda: self),
            earlier=self,
        )
        return found.calculated_by(self.calculation)

    def calculated_by(self, calculation: Calculation | None) -> "Study":
        """Return the study with its outputs from a callable in place of the stage; None is the stage again.

        Everything else stays the study's own: values, target, instruments, measurements, the model's error.

        Parameters
        ----------
        calculation : callable or None
            Arrays [SI] by input's address in, shape (points,); arrays [SI] by output's address out, NaN where a
            point has no number, and "status" (names or codes) if it likes.
        """
        return replace(self, calculation=calculation)

    @cached_property
    def as_read(self) -> Known:
        """By address, what its document states of an input, and how that was read."""
        stated = self.space if self.calibrated is None else self.calibrated.before
        uncertain = {item.address: item for item in stated.inputs}
        values: dict[str, float | Uncertain] = {**self.exact, **uncertain}
        return Given(dict(self.document), self.choices, values, self.origin).known

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
            "target": self.target.as_resolved(),
            "model_error": self.model_error.as_resolved(),
            "instruments": [asdict(item) for item in self.instruments],
            "setups": [{k: v for k, v in asdict(item).items() if v is not None} for item in self.setups],
            "measurements": [asdict(item) for item in self.measurements],
            "decision": None if self.decision is None else asdict(self.decision),
            **self._search_as_resolved(),
            **({} if self.calibrated is None else {"calibrated": self.calibrated.as_resolved()}),
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
        """SHA-256 over the resolved values; title, comments, spelling, order and random number leave it alone."""
        resolved = self.as_resolved()
        profile = self.choices.get("magnet.profile.file")
        if profile is not None:  # what stands in the file counts, not where it lies
            resolved["choices"]["magnet.profile.file"] = hashlib.sha256(
                Path(profile).read_bytes()
            ).hexdigest()
        for correlation in resolved["correlations"]:
            correlation["between"] = sorted(correlation["between"])
        unordered = {key: _unordered(item) for key, item in resolved.items() if key != "pairs"}
        text = json.dumps(_on_any_machine({**resolved, **unordered}), sort_keys=True, ensure_ascii=True)
        return hashlib.sha256(text.encode()).hexdigest()


def _on_any_machine(item: Any) -> Any:
    """Return plain data with 12 digits of each number: processors differ in the last ones of what was computed."""
    if isinstance(item, dict):
        return {key: _on_any_machine(own) for key, own in item.items()}
    if isinstance(item, list | tuple):
        return [_on_any_machine(own) for own in item]
    return float(f"{item:.12g}") if isinstance(item, float) else item


def _unordered(item: Any) -> Any:
    """Return the tables of a list in an order of their own; anything else as it is."""
    return sorted(item, key=lambda each: json.dumps(each, sort_keys=True)) if isinstance(item, list) else item


def _short(address: str, word: str) -> str:
    """Return a choice as a report shows it: of a file its name, for folders differ between machines."""
    return Path(word).name if address == "magnet.profile.file" else word


def study_of(
    raw: document.Document,
    path: Path | None,
    replacements: Mapping[str, object],
    *,
    rig: Rig | None = None,
    change: Change | None = None,
    earlier: Study | None = None,
) -> Study:
    """Return the study of a raw document; what an earlier one has read alike is not read again."""
    model, pairs, inherited = schema.checked(raw), pair_names(raw), Inheritance(change)
    notes = inherited.notes
    given = given_by(raw, pairs, notes, earlier.as_read if earlier else {})
    choices, values, origin = given.choices, given.values, dict(given.origin)
    vary = search.varied_inputs(model.vary, pairs)
    made_exact = made_exact_by(replacements, vary, choices)
    space = space_of(values, model.correlation, pairs, made_exact, inherited)
    space, learnt = calibrated(model.calibrated, space, notes)
    exact = {address: item for address, item in values.items() if isinstance(item, float)}
    central = exact | space.central()
    if choices["magnet.kind"] == "blocks" and "magnet.blocks.position" not in central:
        exact["magnet.blocks.position"] = 0.5 * central["channel.length"]
        origin["magnet.blocks.position"] = "default"
    pairs = tuple(sorted(pairs, key=lambda pair: central[f"electrodes.{pair}.start"]))
    check_plausible(choices, central, pairs)
    sensors, setups = instruments(model.instrument, pairs, inherited), measurements.setups(model.setup)
    tests = measurements.measurements(model.measurement, pairs, sensors, setups, values, inherited)
    vary = still_varied(vary, given, replacements, inherited)
    notes += [replacement_note(address, values[address]) for address in replacements if address in values]
    unknown = {item.address for item in space.inputs if item.unknown is not None}
    tests = measurements.pinning_something(tests, unknown, values, made_exact, inherited)
    flight = flight_plan(model.flight)
    flown = {} if flight is None else flight.values
    notes += [replacement_note(address, flown[address]) for address in flown if address in replacements]
    return Study(
        title=model.title,
        mode=choices["mode"],
        path=path,
        choices=choices,
        exact=dict(sorted(exact.items(), key=lambda item: registry.position(item[0]))),
        space=space,
        origin=origin,
        pairs=pairs,
        target=target.target(model.target, pairs),
        run=Run(**dict(model.run)),
        model_error=model_error(model.model_error, pairs, fed=is_fed(choices)),
        instruments=sensors,
        setups=setups,
        measurements=tests,
        firings=firings(model.firing, pairs, sensors, inherited),
        decision=None if model.decision is None else Decision(**dict(model.decision)),
        vary=vary,
        wishes=search.wishes(model.wanted, pairs, inherited),
        limits=search.limits(model.limit, pairs, inherited),
        flight=flight,
        calibrated=learnt,
        notes=(*notes, *seed_oxides_note(choices)),
        rig=Rig() if rig is None else rig,
        document=raw,
        replacements=dict(replacements),
    )


def replacement_note(address: str, value: float | Uncertain | None) -> str:
    """Return what a reader must know of a value that was replaced."""
    if not isinstance(value, float):
        return f"{registry.words_of(address)} is replaced by another uncertain value"
    return (
        f"{registry.words_of(address)} is now taken as exactly {registry.quantity(address).shown(value, 6)}"
    )
