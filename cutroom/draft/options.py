"""What a draft may be told: names, defaults, and one reading of them."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from cutroom.draft.measurements import plain_name
from cutroom.errors import CutroomError, DraftError, raise_all

Value = float | str | bool | tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Option:
    """One thing a draft may be told.

    Attributes:
        name: As job files write it.
        default: What holds when nothing is said; its type is the type wanted. Lengths in mm.
        meaning: What it does.
        choices: The words there are, when it is a word.
    """

    name: str
    default: Value
    meaning: str
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Told:
    """Options as a draft reads them: what was asked, and the defaults of what was not.

    Attributes:
        values: Every option of the block by name.
    """

    values: Mapping[str, Value]

    def length(self, name: str) -> float:
        """A length (mm)."""
        return float(self._value(name, (int, float)))  # type: ignore[arg-type]  # checked in _value

    def word(self, name: str) -> str:
        """A word."""
        return str(self._value(name, (str,)))

    def lengths(self, name: str) -> tuple[float, ...]:
        """Several lengths (mm)."""
        value = self._value(name, (tuple,))
        return value if isinstance(value, tuple) else ()

    def with_default(self, **values: Value) -> "Told":
        """The same with some values set, names written with underscores."""
        return Told({**self.values, **{plain_name(name): value for name, value in values.items()}})

    def _value(self, name: str, kinds: tuple[type, ...]) -> Value:
        value = self.values[name]
        if not isinstance(value, kinds):
            msg = f"option {name} is not declared as {kinds}"
            raise TypeError(msg)
        return value


def read_options(asked: Mapping[str, Value], options: Iterable[Option], *, place: str = "") -> Told:
    """Options as asked, over the defaults.

    Args:
        asked: By name.
        options: Those there are.
        place: The style, for messages.

    Returns:
        All options of the block.

    Raises:
        DraftError: An option is not known, or its value is of the wrong kind. Several come as a `FaultsError`.
    """
    known = {option.name: option for option in options}
    values: dict[str, Value] = {name: option.default for name, option in known.items()}
    faults: list[CutroomError] = []
    for written, value in asked.items():
        name = plain_name(written)
        option = known.get(name)
        if option is None:
            there = ", ".join(sorted(known)) or "it has none"
            faults.append(DraftError(f'there is no option "{written}"', f"Options of this block: {there}", place=place))
            continue
        fault = _fault(value, option)
        if fault:
            faults.append(DraftError(fault, option.meaning, place=", ".join(part for part in (place, name) if part)))
        values[name] = value
    raise_all(faults)
    return Told(values)


def _fault(value: Value, option: Option) -> str:
    default = option.default
    if option.choices:
        return "" if value in option.choices else f"it is {value!r}, wanted one of {', '.join(option.choices)}"
    if isinstance(default, bool):
        return "" if isinstance(value, bool) else f"it is {value!r}, wanted true or false"
    if isinstance(default, tuple):
        right = isinstance(value, tuple) and len(value) == len(default)
        return "" if right else f"it is {value!r}, wanted {len(default)} lengths"
    if isinstance(default, str):
        return "" if isinstance(value, str) else f"it is {value!r}, wanted a word"
    right = isinstance(value, (int, float)) and not isinstance(value, bool)
    return "" if right else f"it is {value!r}, wanted a length"
