"""Which hardware a study is about: what it inherits of another study is the same thing, what it states anew its own."""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from explorer.studyfile.document import Document, items
from explorer.studyfile.error import StudyError, refusal


@dataclass(frozen=True)
class Rig:
    """A piece of hardware, and who states which of its values; two studies of one drawing are one rig with a change."""

    drawing: Hashable = field(
        default_factory=object
    )  #: the file that it was first stated in; a text is its own
    changes: Mapping[str, Hashable] = field(default_factory=dict)  #: by address, who states it anew

    def thing(self, address: str) -> Hashable:
        """Return what stands for the thing at an address: equal where two studies mean one and the same."""
        return self.drawing, address, self.changes.get(address)

    def changed(self, replacements: Mapping[str, object]) -> "Rig":
        """Return the same hardware with values replaced; replaced alike in two studies, they are one thing again."""
        changes = {address: str(written) for address, written in replacements.items()}
        return replace(self, changes={**self.changes, **changes})


def rig_of(own: Document, path: Path | None, folder: Path | None) -> Rig:
    """Return the hardware of a study's own document, which lies at `path`; what it is like lies in `folder`."""
    built = own.get("rig", "same" if "like" in own else None)
    if built is not None and "like" not in own:
        raise refusal("rig", "goes with like: a study that is like no other is a rig of its own")
    if built not in (None, "same", "another"):
        raise StudyError(f'rig must be "same" or "another"; got {built}', "rig")
    itself: Hashable = object() if path is None else str(path.resolve())
    if built != "same" or folder is None:
        return Rig(itself)
    changes = {".".join(keys): itself for keys, _ in items(own)}
    return Rig(str((folder / own["like"]).resolve()), changes)
