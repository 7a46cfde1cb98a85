"""How the innermost loops are compiled, and numbers compared in them."""

from collections.abc import Callable
from typing import Any, TypeVar, cast

from numba import njit, types
from numba.core.cgutils import true_bit
from numba.extending import intrinsic

_Loop = TypeVar("_Loop", bound=Callable[..., Any])
_FLAGS = ("nnan", "nsz")
_BARE: dict[str, Any] = {"cache": True, "nogil": True, "_nrt": False}


def bare(signature: Any) -> Callable[[_Loop], _Loop]:
    """Compile a loop that makes no array: what it is given is borrowed, and nobody counts who holds it.

    Counting costs more than much of the work, above all where two threads count in the same place.
    """
    return cast(Callable[[_Loop], _Loop], njit(signature, **_BARE))


def inner(signature: Any) -> Callable[[_Loop], _Loop]:
    """Likewise, and written into every loop that calls it: handing on a dozen arrays costs more than a short loop."""
    return cast(Callable[[_Loop], _Loop], njit(signature, forceinline=True, **_BARE))


def _chosen(sign: str) -> Any:
    def write(_context: Any, builder: Any, _signature: Any, given: Any) -> Any:
        is_first = builder.fcmp_ordered(sign, given[0], given[1], flags=_FLAGS)
        return builder.select(is_first, given[0], given[1], flags=_FLAGS)

    return types.float64(types.float64, types.float64), write


@intrinsic
def _lesser(_typing: Any, _one: Any, _two: Any) -> Any:
    return _chosen("<")


@intrinsic
def _greater(_typing: Any, _one: Any, _two: Any) -> Any:
    return _chosen(">")


@intrinsic
def _first_set(_typing: Any, _word: Any) -> Any:
    def write(_context: Any, builder: Any, _signature: Any, given: Any) -> Any:
        return builder.cttz(given[0], true_bit)

    return types.uint64(types.uint64), write


lesser = cast(Callable[[float, float], float], _lesser)
"""The lesser of two, neither of which is "not a number".

Plain `min`, and comparisons in plain words, mind that one might be, and a loop over them is then done one by one.
"""
greater = cast(Callable[[float, float], float], _greater)
"""The greater of two, likewise."""
first_set = cast(Callable[[Any], Any], _first_set)
"""The place of the lowest bit that is set in a word of 64, which is not 0."""
