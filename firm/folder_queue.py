"""Messages to the worker as files in a folder, each there whole or not at all.

The library's own transport opens a file, then locks and fills it. Who reads in between finds it
empty, and a worker that meets an empty message stops.
"""

import time
import uuid
from collections.abc import Callable
from pathlib import Path
from typing import Any

from kombu.exceptions import ChannelError
from kombu.transport import filesystem
from kombu.utils.json import dumps

TRIES = 50
PAUSE_S = 0.02


class Channel(filesystem.Channel):
    """The library's channel with whole files."""

    def _put(  # type: ignore[override]  # the library's two classes name it differently
        self, queue: str, payload: dict[str, Any], **kwargs: Any
    ) -> None:
        """Put a message onto `queue` under a name of its own, then under the one that is read."""
        name = f"{round(time.monotonic() * 1000)}_{uuid.uuid4()}"
        file = Path(self.data_folder_out) / f"{name}.{queue}.msg"
        unfinished = file.with_name(f"{name}.part")
        try:
            unfinished.write_text(dumps(payload), encoding="utf-8")
            unfinished.replace(file)
        except OSError as error:
            raise ChannelError(f"Cannot add {file}") from error

    def get_table(self, exchange: str) -> list[Any]:
        """Return the queues of an exchange, waiting for another process to fill its file."""
        table: list[Any] = _patiently(lambda: super(Channel, self).get_table(exchange))
        return table

    def _queue_bind(self, *args: Any) -> None:
        _patiently(lambda: super(Channel, self)._queue_bind(*args))


def _patiently(read: Callable[[], Any]) -> Any:
    """Return what `read` does; a file that is empty just now is filled within moments."""
    for _ in range(TRIES - 1):
        try:
            return read()
        except ValueError:
            time.sleep(PAUSE_S)
    return read()


class Transport(filesystem.Transport):
    """The library's transport with that channel."""

    Channel = Channel
