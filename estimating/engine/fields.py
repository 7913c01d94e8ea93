"""Reading values out of a mapping, each refused by its path when it isn't what it should be."""

import marshal
import math
from collections.abc import Callable, Collection, Iterator, Mapping
from decimal import Decimal, InvalidOperation
from difflib import get_close_matches
from typing import Any, TypeVar

from estimating.engine.errors import EngineError

T = TypeVar("T")
REQUIRED: Any = object()
LONGEST_SHOWN = 60


class Entry:
    """One mapping of a document. Every value read is checked; `finish` refuses what is left."""

    def __init__(self, values: object, path: str) -> None:
        if not isinstance(values, Mapping):
            raise EngineError(f"{_called(path)} must hold named fields.", field=path)
        self._values = values
        self._path = path
        self._known: set[str] = set()

    def path(self, name: str) -> str:
        """Return the path of one of this entry's fields."""
        return f"{self._path}.{name}" if self._path else name

    def has(self, name: str) -> bool:
        """Say whether the field is given at all."""
        self._known.add(name)
        return name in self._values

    def packed(self) -> bytes | None:
        """Return bytes that only equal values make; nothing for values that can't be told so."""
        values: Any = self._values
        try:
            # Version 2 writes no references: equal values make equal bytes wherever they come from.
            return marshal.dumps(values, 2)
        except ValueError:
            return None

    def called(self, name: str) -> str:
        """Return a short text as it stands, or nothing, to call an entry that is refused."""
        value = self._values.get(name)
        return _shown(value).strip("'") if isinstance(value, str) else ""

    def refuse(self, name: str, reason: str) -> EngineError:
        """Return the error for a field, to be raised."""
        return EngineError(f"{_called(self.path(name))} {reason}", field=self.path(name))

    def finish(self) -> None:
        """Refuse fields that nobody asked for, with the name that was perhaps meant."""
        for name in self._values:
            if name not in self._known:
                near = get_close_matches(str(name), self._known, n=1)
                hint = f" Did you mean '{near[0]}'?" if near else ""
                shown = str(name)[:LONGEST_SHOWN]
                raise EngineError(
                    f"{_called(self.path(shown))} is not a known field.{hint}",
                    field=self.path(shown),
                )

    def number(
        self, name: str, default: Any = REQUIRED, *, low: float = 0.0, high: float = 1e6
    ) -> Any:
        """Return a finite number within its limits, as a float."""
        value = self._value(name, default)
        if value is default and not self.has_value(name):
            return default
        if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
            raise self.refuse(name, f"must be a number, not {_shown(value)}.")
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        if not math.isfinite(number):
            raise self.refuse(name, "must be a finite number.")
        if number < low:
            floor = "be negative" if low == 0 else f"be below {low:g}"
            raise self.refuse(name, f"can't {floor}: it is {number:g}.")
        if number > high:
            raise self.refuse(name, f"can't be above {high:g}: it is {number:g}.")
        return number

    def positive(self, name: str, default: Any = REQUIRED, *, high: float = 1e6) -> Any:
        """Return a number above 0."""
        value = self.number(name, default, high=high)
        if self.has_value(name) and value <= 0:
            raise self.refuse(name, "must be above 0.")
        return value

    def whole(self, name: str, default: Any = REQUIRED, *, low: int = 0, high: int = 1000) -> int:
        """Return a whole number within its limits."""
        value = self.number(name, default, low=low, high=high)
        if value != int(value):
            raise self.refuse(name, f"must be a whole number, not {value:g}.")
        return int(value)

    def text(self, name: str, default: Any = REQUIRED, *, longest: int = 200) -> str:
        """Return a text; it is only ever text, so what it says is not judged here."""
        value = self._value(name, default)
        if not isinstance(value, str):
            raise self.refuse(name, f"must be text, not {_shown(value)}.")
        if len(value) > longest:
            raise self.refuse(name, f"can't be longer than {longest} characters.")
        if any(ord(letter) < 32 and letter not in "\n\r\t" for letter in value):
            raise self.refuse(name, "holds a control character.")
        if any("\ud800" <= letter <= "\udfff" for letter in value):
            raise self.refuse(name, "holds half a character (a lone surrogate).")
        if default is REQUIRED and not value.strip():
            raise self.refuse(name, "can't be empty.")
        return value

    def choice(self, name: str, choices: Collection[T], default: Any = REQUIRED) -> T:
        """Return one of a few allowed values."""
        value = self._value(name, default)
        for each in choices:
            if type(value) is type(each) and value == each:
                return each
        allowed = ", ".join(str(each) for each in choices)
        raise self.refuse(name, f"must be one of {allowed}, not {_shown(value)}.")

    def flag(self, name: str, default: bool = False) -> bool:
        """Return a yes or no."""
        value = self._value(name, default)
        if not isinstance(value, bool):
            raise self.refuse(name, f"must be true or false, not {_shown(value)}.")
        return value

    def amount(
        self, name: str, default: Any = REQUIRED, *, low: str = "0", high: str = "10000000"
    ) -> Decimal:
        """Return an exact decimal number, written as text or as a number."""
        value = self._value(name, default)
        if isinstance(value, bool) or not isinstance(value, str | int | float | Decimal):
            raise self.refuse(name, f"must be an amount, not {_shown(value)}.")
        try:
            amount = Decimal(str(value).strip())
        except InvalidOperation:
            raise self.refuse(name, f"must be an amount, not {_shown(value)}.") from None
        if not amount.is_finite():
            raise self.refuse(name, "must be a finite amount.")
        if not Decimal(low) <= amount <= Decimal(high):
            raise self.refuse(name, f"must be from {low} to {high}: it is {amount}.")
        return amount

    def entry(self, name: str, default: Any = REQUIRED) -> "Entry":
        """Return a nested mapping."""
        return Entry(self._value(name, default), self.path(name))

    def named(
        self,
        name: str,
        read: Callable[[str, "Entry"], T],
        *,
        most: int = 2000,
        refused: dict[str, str] | None = None,
    ) -> dict[str, T]:
        """Return a mapping from keys to entries, each read by `read`.

        With `refused` given, an entry that can't be read goes there with its reason.
        """
        found: dict[str, T] = {}
        for key, value in self._mapping(name, most).items():
            try:
                found[str(key)] = read(str(key), Entry(value, f"{self.path(name)}.{key}"))
            except EngineError as error:
                if refused is None:
                    raise
                refused[str(key)] = str(error)
        return found

    def numbers(self, name: str, *, high: float = 1e6) -> dict[str, float]:
        """Return a mapping from keys to numbers of zero or more."""
        entry = Entry(self._mapping(name, 5000), self.path(name))
        return {str(key): entry.number(key, high=high) for key in entry._values}

    def texts(self, name: str, *, most: int = 200) -> dict[str, str]:
        """Return a mapping from keys to texts."""
        entry = Entry(self._mapping(name, most), self.path(name))
        return {str(key): entry.text(key) for key in entry._values}

    def entries(self, name: str, *, most: int, required: bool = False) -> Iterator["Entry"]:
        """Yield the entries of a list, each with its own path."""
        for i, value in enumerate(self.items(name, most=most, required=required)):
            yield Entry(value, f"{self.path(name)}[{i}]")

    def items(self, name: str, *, most: int, required: bool = False) -> list[Any]:
        """Return a list as it stands, refused where it is too long."""
        values = self._value(name, REQUIRED if required else [])
        if not isinstance(values, list | tuple):
            raise self.refuse(name, f"must be a list, not {_shown(values)}.")
        if len(values) > most:
            raise self.refuse(name, f"can't hold more than {most:,}: it holds {len(values):,}.")
        return list(values)

    def has_value(self, name: str) -> bool:
        """Say whether the field is given and not null."""
        return self._values.get(name) is not None

    def _mapping(self, name: str, most: int) -> Mapping[Any, Any]:
        values = self._value(name, {})
        if not isinstance(values, Mapping):
            raise self.refuse(name, f"must hold named fields, not {_shown(values)}.")
        if len(values) > most:
            raise self.refuse(name, f"can't hold more than {most:,} fields.")
        return values

    def _value(self, name: str, default: Any) -> Any:
        self._known.add(name)
        value = self._values.get(name)
        if value is not None:
            return value
        if default is REQUIRED:
            raise self.refuse(name, "is missing.")
        return default


def _called(path: str) -> str:
    return path or "The document"


def _shown(value: object) -> str:
    if isinstance(value, Mapping):
        return "named fields"
    if isinstance(value, list | tuple):
        return "a list"
    if isinstance(value, bool):
        return "true" if value else "false"
    # The digits of an integer beyond 4,300 can't even be written out.
    shown = "a huge number" if isinstance(value, int) and value.bit_length() > 200 else str(value)
    cut = f"{shown[:LONGEST_SHOWN]}..." if len(shown) > LONGEST_SHOWN else shown
    return f"'{cut}'" if isinstance(value, str) else cut
