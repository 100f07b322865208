"""The one error that a study file can raise, and how what is wrong with a value becomes one."""

from collections.abc import Iterator
from contextlib import contextmanager

from explorer.registry import UnknownAddressError
from explorer.units import UnitError


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
        super().__init__(message)
        self.address = address


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
