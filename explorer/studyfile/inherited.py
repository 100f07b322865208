"""Tables that a study takes over from what it was before a change; what makes no sense any more is left out."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import TypeVar

from explorer.studyfile.error import StudyError

Stated = TypeVar("Stated")
Made = TypeVar("Made")


@dataclass(frozen=True)
class Change:
    """What a study was before a change, and which tables the change states anew."""

    before: Callable[[], object]  #: reads the study as it was, and refuses it where that was wrong already
    stated: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Inheritance:
    """Which tables are taken over, if any, and what was left out of them."""

    change: Change | None = None
    notes: list[str] = field(default_factory=list)  #: what a reader must know

    def holds(self, key: str) -> bool:
        """Return whether the tables under a key are taken over."""
        return self.change is not None and key not in self.change.stated

    def left_out(self, note: str) -> None:
        """Note what is left out, unless the study was wrong there before the change."""
        if self.change is not None:
            self.change.before()
        self.notes.append(note)

    def each(self, key: str, tables: Iterable[Stated], made: Callable[[Stated], Made]) -> tuple[Made, ...]:
        """Return what is made of each table; of those taken over, what can't be made is left out."""
        found = []
        for table in tables:
            try:
                found.append(made(table))
            except StudyError as error:
                if not self.holds(key):
                    raise
                self.left_out(f"left out after the change: {error}")
        return tuple(found)
