"""Reading equal entries once: a firm's fence systems stay the same from page to page."""

from collections.abc import Callable
from functools import wraps
from typing import TypeVar

from estimating.engine.fields import Entry

T = TypeVar("T")
Reader = Callable[[str, Entry], T]


def reads_once(most: int) -> Callable[[Reader[T]], Reader[T]]:
    """Make a reader remember what it read under a key from equal values, up to `most` of them.

    What is read must be frozen: whoever asks gets the same object. A refusal is never remembered.
    """

    def remembering(read: Reader[T]) -> Reader[T]:
        found: dict[tuple[str, bytes], T] = {}

        @wraps(read)
        def remembered(key: str, entry: Entry) -> T:
            packed = entry.packed()
            if packed is None:
                return read(key, entry)
            known = found.get((key, packed))
            if known is None:
                if len(found) >= most:
                    found.clear()
                known = found[key, packed] = read(key, entry)
            return known

        return remembered

    return remembering
