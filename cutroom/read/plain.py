"""Values of the model as plain JSON and back, field by field, so that a marker can be proved again on any day."""

import dataclasses
import types
from collections.abc import Mapping
from enum import StrEnum
from functools import cache
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

import numpy as np
from numpy.typing import NDArray

from cutroom.errors import FileError

T = TypeVar("T")
DIGITS = 6
"""Decimal places (mm) that arrays are kept to."""


def plain_of(value: Any) -> Any:
    """A value of the model as what JSON has: tables, lists, numbers, words."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain_of(getattr(value, field.name)) for field in dataclasses.fields(value) if field.init}
    if isinstance(value, np.ndarray):
        return (np.round(value, DIGITS) + 0.0).tolist()
    if isinstance(value, StrEnum):
        return value.value
    if isinstance(value, Mapping):
        return {str(plain_of(key)): plain_of(one) for key, one in value.items()}
    if isinstance(value, tuple | list):
        return [plain_of(one) for one in value]
    return value.item() if isinstance(value, np.generic) else value


def value_of(kind: type[T], plain: Any, place: str = "") -> T:
    """The value that `plain_of` made plain.

    Args:
        kind: Its type, a dataclass of the model.
        plain: What was read.
        place: Where, for messages.

    Raises:
        FileError: It is not such a value; with the place.
    """
    found: T = _value(kind, plain, place)
    return found


def _value(kind: Any, plain: Any, place: str) -> Any:
    origin, inner = get_origin(kind), get_args(kind)
    if origin in {Union, types.UnionType}:
        return _either(inner, plain, place)
    if origin is tuple:
        return _row(inner, plain, place)
    if origin is not None and isinstance(origin, type) and issubclass(origin, Mapping):
        if not isinstance(plain, dict):
            raise _wrong(place, "a table")
        key_kind, value_kind = inner
        return {_key(key_kind, key, place): _value(value_kind, one, f"{place}.{key}") for key, one in plain.items()}
    if origin is np.ndarray:
        return _array(plain, place)
    if dataclasses.is_dataclass(kind):
        return _table(kind, plain, place)
    if isinstance(kind, type) and issubclass(kind, StrEnum):
        if plain not in {one.value for one in kind}:
            raise _wrong(place, "a word that is known")
        return kind(plain)
    if kind is float and isinstance(plain, int | float) and not isinstance(plain, bool) and np.isfinite(plain):
        return float(plain)
    if kind in {int, str, bool} and type(plain) is kind:
        return plain
    raise _wrong(place, "such a value")


def _either(kinds: tuple[Any, ...], plain: Any, place: str) -> Any:
    if plain is None and type(None) in kinds:
        return None
    last: FileError | None = None
    for kind in kinds:
        if kind is not type(None):
            try:
                return _value(kind, plain, place)
            except FileError as error:
                last = error
    raise last or _wrong(place, "such a value")


def _row(inner: tuple[Any, ...], plain: Any, place: str) -> tuple[Any, ...]:
    if not isinstance(plain, list):
        raise _wrong(place, "a list")
    if len(inner) == 2 and inner[1] is Ellipsis:
        return tuple(_value(inner[0], one, f"{place}[{number}]") for number, one in enumerate(plain))
    if len(plain) != len(inner):
        raise _wrong(place, f"a list of {len(inner)}")
    return tuple(_value(kind, one, place) for kind, one in zip(inner, plain, strict=True))


def _key(kind: Any, key: str, place: str) -> Any:
    return int(key) if kind is int and key.lstrip("-").isdigit() else _value(kind, key, place)


def _array(plain: Any, place: str) -> NDArray[np.float64]:
    try:
        array = np.array(plain, dtype=np.float64)
    except (TypeError, ValueError) as error:
        raise _wrong(place, "a list of points") from error
    if array.size == 0:
        return np.zeros((0, 2))
    if array.ndim != 2 or array.shape[1] != 2 or not np.isfinite(array).all():
        raise _wrong(place, "a list of points")
    return array


@cache
def _kinds(kind: Any) -> dict[str, Any]:
    hints = get_type_hints(kind)
    return {field.name: hints[field.name] for field in dataclasses.fields(kind) if field.init}


def _table(kind: Any, plain: Any, place: str) -> Any:
    if not isinstance(plain, dict):
        raise _wrong(place, "a table")
    kinds = _kinds(kind)
    unknown = sorted(set(plain) - set(kinds))
    if unknown:
        raise _wrong(f"{place}.{unknown[0]}".lstrip("."), "a key of this version")
    values = {name: _value(kinds[name], one, f"{place}.{name}".lstrip(".")) for name, one in plain.items()}
    try:
        return kind(**values)
    except TypeError as error:  # a key without a value of its own is missing
        raise _wrong(place, "whole") from error


def _wrong(place: str, wanted: str) -> FileError:
    return FileError(
        f"what stands there is not {wanted}", "Take the file as it was written, or make it again", "", place
    )
