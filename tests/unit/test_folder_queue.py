"""The queue in a folder: who reads while another writes finds a whole message or none."""

import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from kombu import Connection, Exchange, Queue
from kombu.transport import filesystem
from kombu.utils.json import dumps

from firm import folder_queue
from firm.celery import app

MESSAGES = 10


@pytest.fixture
def connection(tmp_path: Path) -> Iterator[Connection]:
    options = {
        "data_folder_in": str(tmp_path / "messages"),
        "data_folder_out": str(tmp_path / "messages"),
        "control_folder": str(tmp_path / "control"),
        "polling_interval": 0.001,
    }
    (tmp_path / "messages").mkdir()
    with Connection("filesystem://localhost", transport_options=options) as connection:
        yield connection


def test_the_app_s_queue_is_this_one(connection: Connection) -> None:
    assert app.conf.broker_url.startswith("filesystem:")
    assert isinstance(connection.transport, folder_queue.Transport)


def test_messages_read_while_they_are_written_are_whole(
    connection: Connection, monkeypatch: pytest.MonkeyPatch
) -> None:
    def slowly(payload: Any) -> str:
        time.sleep(0.05)
        return str(dumps(payload))

    for module in (folder_queue, filesystem):
        monkeypatch.setattr(module, "dumps", slowly)

    def write() -> None:
        with connection.clone() as own, own.SimpleQueue("jobs") as queue:
            for number in range(MESSAGES):
                queue.put({"number": number})

    writer = threading.Thread(target=write)
    with connection.SimpleQueue("jobs") as queue:
        writer.start()
        seen = set()
        for _ in range(MESSAGES):
            message = queue.get(timeout=20)
            seen.add(message.payload["number"])
            message.ack()
        writer.join()
    assert seen == set(range(MESSAGES))


def test_list_of_queues_that_is_empty_just_now_is_waited_for(
    connection: Connection, tmp_path: Path
) -> None:
    channel: Any = connection.channel()
    # The library remembers what it bound in this process, so another name than above.
    queue = Queue("others", Exchange("others", type="direct"), routing_key="others")
    queue(channel).declare()
    file = tmp_path / "control" / "others.exchange"
    whole = file.read_bytes()
    file.write_bytes(b"")
    filler = threading.Timer(0.1, lambda: file.write_bytes(whole))
    filler.start()

    (entry,) = channel.get_table("others")

    filler.join()
    assert entry.queue == "others"
