"""Files that a study names, or is."""

import errno
from pathlib import Path
from typing import Final

_LARGEST: Final = 16_000_000  #: [bytes]; no study and no measured field has as many


def bytes_of_file(path: Path) -> bytes:
    """Return what stands in a file; all that can be wrong with it is an OSError, a device without an end included."""
    try:
        with path.open("rb") as file:
            found = file.read(_LARGEST + 1)
    except ValueError as error:
        raise OSError(errno.EINVAL, f"its name: {error}") from error
    if len(found) > _LARGEST:
        raise OSError(errno.EFBIG, f"larger than {_LARGEST / 1e6:g} MB")
    return found
