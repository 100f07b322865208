"""The one way in which formulas are compiled: Numba, without the interpreter lock, kept in the cache folder.

Compiled functions cannot have keyword-only arguments; callers name arguments of the same dimension all the same.
"""

from collections.abc import Callable
from typing import Any, Final, TypeAlias, TypeVar

import numba
from numba.extending import register_jitable

from explorer.physics.kept_code import KeptCode

Function = TypeVar("Function", bound=Callable[..., Any])

#: What an `elementwise` formula takes and returns: one number, or an array of them. Compiled callers have the one,
#: others mostly the other, and no type says "whichever came in", so that mypy looks at the callers' own annotations.
Values: TypeAlias = Any

#: Liberties for the compiler: fused multiply-add, reordered sums, reciprocals. NaN and infinity keep their meaning.
_ALLOWED: Final[set[str]] = {"contract", "reassoc", "arcp", "nsz"}


def compiled(function: Function) -> Function:
    """The function compiled by Numba, releasing the interpreter lock.

    Division by zero follows IEEE 754 (no exception), as in NumPy. Arrays that it is given are not reference-counted,
    which would take a third of a point's time; it can't make arrays, nor may it return one (`allocating`).

    Parameters
    ----------
    function : callable
        A function of scalars and arrays within Numba's language.
    """
    return _kept(function, counts_references=False)


def allocating(function: Function) -> Function:
    """As `compiled`, for what makes arrays or returns them.

    Parameters
    ----------
    function : callable
        A function of scalars and arrays within Numba's language.
    """
    return _kept(function, counts_references=True)


def _kept(function: Function, *, counts_references: bool) -> Function:
    options = {"nogil": True, "error_model": "numpy", "fastmath": _ALLOWED, "_nrt": counts_references}
    dispatcher = numba.njit(**options, no_cfunc_wrapper=True)(function)  # nothing calls them from C
    dispatcher._cache = KeptCode(function)  # in place of Numba's own, as its `enable_caching` does
    decorated: Function = dispatcher
    return decorated


def elementwise(function: Function) -> Function:
    """The function as it stands, for numbers and arrays that broadcast; built in wherever compiled code calls it.

    Parameters
    ----------
    function : callable
        A formula of NumPy's elementwise functions, without branches.
    """
    built_in = register_jitable(
        nogil=True, error_model="numpy", fastmath=_ALLOWED, _nrt=False, no_cfunc_wrapper=True
    )
    kept: Function = built_in(function)
    return kept
