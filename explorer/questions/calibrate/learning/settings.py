"""Steps of firings as they are computed: their settings read, words made studies, ± made latents."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from explorer import registry
from explorer.firings import Firing
from explorer.space import InputSpace, Uncertain
from explorer.studyfile import Study, StudyError, changed
from explorer.studyfile.values import value


@dataclass(frozen=True)
class UncertainSetting:
    """A setting that is not exactly known: from which latents its value comes."""

    item: Uncertain
    columns: tuple[int, ...]  #: of the firing's own latents, or of the common ones
    common: bool = False


@dataclass(frozen=True)
class Moment:
    """A step of a firing as it is computed."""

    firing: int
    name: str
    side: int
    exact: Mapping[str, float]  #: settings [SI]
    uncertain: Mapping[str, UncertainSetting]
    words: Mapping[str, str]  #: settings that are words
    quantities: tuple[str, ...]  #: what is asked of it

    @property
    def settings(self) -> dict[str, float]:
        """Its settings at central values [SI]."""
        return {**self.exact, **{address: own.item.centre for address, own in self.uncertain.items()}}


def unknown_columns(space: InputSpace) -> tuple[int, ...]:
    """Return which columns of a space don't fall anew at each firing."""
    return tuple(i for i, row in enumerate(space.rows) if row.part != "scatter")


class Resolver:
    """Reads settings, and gives those that aren't exactly known their latents."""

    def __init__(self, space: InputSpace, unknown: tuple[int, ...], read: Any) -> None:
        self._space, self._unknown, self._read = space, unknown, read
        self.shared: dict[str, Uncertain] = {}
        self.own: dict[int, int] = {}

    def moments(self, number: int, firing: Firing, side: Any) -> list[Moment]:
        """The steps of a firing."""
        whole = {a: self._latent(number, self._read(a, written)) for a, written in firing.settings.items()}
        found = []
        steps = firing.steps or firing.moments
        compared = {
            name: tuple(d.quantity for d in firing.differences if name in (d.step, d.less))
            for name in (step.name for step in steps)
        }
        for step in steps:
            beside = step.settings if firing.steps else {}
            settings = whole | {a: self._latent(number, self._read(a, w)) for a, w in beside.items()}
            found.append(
                Moment(
                    number,
                    step.name,
                    side({**firing.settings, **beside}),
                    {a: own for a, own in settings.items() if isinstance(own, float)},
                    {a: own for a, own in settings.items() if isinstance(own, UncertainSetting)},
                    {a: own for a, own in settings.items() if isinstance(own, str)},
                    tuple(dict.fromkeys((*step.readings, *compared[step.name]))),
                )
            )
        return found

    def _latent(self, number: int, read: float | str | Uncertain) -> float | str | UncertainSetting:
        if not isinstance(read, Uncertain):
            return read
        if read.shared is not None:
            self.shared.setdefault(read.shared, read)
            if self.shared[read.shared].unknown != read.unknown:
                raise StudyError(
                    f'"{read.shared}" is stated differently in two firings: what is shared is one quantity, so state'
                    " it alike"
                )
            place = len(self._unknown) + [*self.shared].index(read.shared)
            fixed = replace(read, scatter=None)
            return UncertainSetting(fixed, (place,), common=True)
        first = self.own.get(number, 0)
        self.own[number] = first + len(read.parts)
        return UncertainSetting(read, tuple(range(first, first + len(read.parts))))


class Variants:
    """The studies that firings need: the one that is learnt about first, then one for each set of words."""

    def __init__(self, study: Study) -> None:
        self.studies = [study]
        self._places: dict[tuple[object, ...], int] = {}

    def read(self, address: str, written: Any) -> float | str | Uncertain:
        """A setting's value [SI]."""
        if self._is_word(address):
            return str(written)
        try:
            quantity = registry.quantity(address)
        except registry.UnknownAddressError as error:
            raise StudyError(str(error), address) from error
        if quantity.kind == "output":
            raise StudyError(f'"{address}" is an output; only inputs can be set', address)
        plain = isinstance(written, int | float) and not isinstance(written, bool)
        text = f"{float(written)!r} {quantity.unit}" if plain and quantity.unit != "1" else written
        return value(address, text, quantity)

    def place(self, settings: Mapping[str, Any]) -> int:
        """Number of the study that these settings need."""
        base = self.studies[0]
        central = base.central()
        words = {a: str(own) for a, own in settings.items() if self._is_word(a)}
        words = {
            a: own for a, own in words.items() if own != (base.mode if a == "mode" else base.choices.get(a))
        }
        numbers = {a: self.read(a, own) for a, own in settings.items() if not self._is_word(a)}
        fixed = {a for a in numbers if a not in central or not registry.quantity(a).may_be_uncertain}
        if not words and not fixed:
            return 0
        if "mode" in words and words["mode"] in registry.SOURCE_OF_MODE:
            kind = registry.SOURCE_OF_MODE[words["mode"]]
            words |= {
                f"electrodes.{pair}.source.kind": words.get(f"electrodes.{pair}.source.kind", kind)
                for pair in base.pairs
            }
        key = (
            *sorted(words.items()),
            *sorted((a, settings[a]) for a in fixed if not registry.quantity(a).may_be_uncertain),
            *sorted(numbers),
        )
        if key not in self._places:
            exact = {
                a: _as_written(a, own.centre if isinstance(own, Uncertain) else float(own))
                for a, own in numbers.items()
            }
            self.studies.append(changed(base, {**words, **exact}))
            self._places[key] = len(self.studies) - 1
        return self._places[key]

    def _is_word(self, address: str) -> bool:
        if address in self.studies[0].choices or address == "mode":
            return True
        bare = address.split(".")
        general = (
            ".".join(("electrodes", "*", *bare[2:])) if bare[0] == "electrodes" and len(bare) > 2 else address
        )
        return any(choice.address in (address, general) for choice in registry.CHOICES)


def _as_written(address: str, number: float) -> object:
    unit = registry.quantity(address).unit
    return f"{number!r} {unit}" if unit != "1" else number
