"""The one error that a study file can raise, and how what is wrong with a value becomes one."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from explorer.registry import UnknownAddressError
from explorer.units import UnitError

_LONGEST: Final = 400  #: message [characters]; a longer one quotes what nobody reads
_CONTROL: Final = re.compile(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]")


class StudyError(ValueError):
    """Bad input in a study; the message is one or two lines and says what would be right.

    Parameters
    ----------
    message : str
        What is wrong, with the address in front where one is to blame.
    address : str, optional
        Where it stands; the attribute `address` keeps it.
    """

    def __init__(self, message: str, address: str | None = None) -> None:
        super().__init__(_readable(message))
        self.address = address


def _readable(message: str) -> str:
    """Return a message without what a terminal would obey, and without the middle of what is too long."""
    shown = _CONTROL.sub(lambda found: found[0].encode("unicode_escape").decode(), message)
    if len(shown) <= _LONGEST:
        return shown
    return f"{shown[: _LONGEST // 2]} … {shown[-_LONGEST // 2 :]}"


def refusal(where: str, words: object) -> StudyError:
    """Return the error that says first where it stands."""
    return StudyError(f"{where}: {words}", where.strip('"'))


@contextmanager
def naming(where: str) -> Iterator[None]:
    """Within it, what is wrong with a value or an address is told with where it stands."""
    try:
        yield
    except (UnitError, UnknownAddressError) as error:
        raise refusal(where, error) from error
