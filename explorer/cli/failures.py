"""What went wrong, as an exit code and a sentence."""

import errno
from typing import Final

from explorer.page.usage import UsageError
from explorer.registry import UnknownAddressError

_NO_ANSWER, _BAD_INPUT = 1, 2

#: Numbers of the errors of a disk that is full, or a share of it.
DISK_FULL: Final = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG})


def told(error: Exception) -> tuple[int, str]:
    """Return the exit code and what to say."""
    if isinstance(error, UsageError | UnknownAddressError):
        return _BAD_INPUT, str(error)
    from explorer.analysis.sensitivity import ConstantOutput
    from explorer.firings import FiringError
    from explorer.store import ResultsError
    from explorer.study.outcomes import NoNumbers, TooManyFailures
    from explorer.studyfile import StudyError

    if isinstance(error, StudyError | FiringError | ResultsError):
        return _BAD_INPUT, str(error)
    if isinstance(error, ConstantOutput):
        return (
            _NO_ANSWER,
            f"{error}: no uncertain input moves it, so there is nothing to tell; choose another --target",
        )
    if isinstance(error, TooManyFailures | NoNumbers):
        return _NO_ANSWER, str(error)
    if isinstance(error, OSError):
        where = f"{error.filename}: " if error.filename else ""
        return _NO_ANSWER, f"{where}{error.strerror or error}"
    if isinstance(error, MemoryError):
        return _NO_ANSWER, "not enough memory: ask for fewer samples or fewer jobs"
    return _NO_ANSWER, (
        f"unexpected {type(error).__name__}: {error}\n"
        "This is a fault of the program, not of your study; please report it with the study."
    )
