"""What `bin/start` decides before it starts anything: port, and which firm to begin with."""

import socket
from pathlib import Path

import pytest
from django.core.management import CommandError
from pytest_django import Settings

from firm.management.commands import serve
from firm.models import FirmProfile

pytestmark = pytest.mark.django_db


@pytest.fixture
def var(settings: Settings, tmp_path: Path) -> Path:
    settings.FF_VAR = tmp_path
    return tmp_path


def test_new_data_folder_gets_the_demo_firm_and_its_log_ins_are_shown_again(var: Path) -> None:
    logins = serve.prepare_data(empty=False)

    assert FirmProfile.objects.exists()
    assert "owner" in logins.lower()
    assert serve.prepare_data(empty=False) == logins


def test_empty_start_leaves_the_database_empty_at_every_later_start_too(var: Path) -> None:
    assert serve.prepare_data(empty=True) == ""
    assert serve.prepare_data(empty=False) == ""
    assert not FirmProfile.objects.exists()


def test_firm_of_ones_own_is_left_alone(var: Path) -> None:
    FirmProfile.objects.create(name="Alder Creek Fence", state="PA")

    assert serve.prepare_data(empty=False) == ""
    assert serve.prepare_data(empty=True) == ""
    assert [firm.name for firm in FirmProfile.objects.all()] == ["Alder Creek Fence"]


def test_empty_start_over_the_demo_firm_is_refused_with_the_way_out(var: Path) -> None:
    (var / "demo-log-ins.txt").write_text("owner / sample", encoding="utf-8")

    with pytest.raises(CommandError, match=r"FF_VAR=/path/to/folder bin/start --empty"):
        serve.prepare_data(empty=True)


def test_taken_port_is_refused_in_a_sentence() -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]

        with pytest.raises(CommandError, match=f"Port {port}.*bin/start --port {port + 1}"):
            serve.refuse_taken_port("127.0.0.1", port)


@pytest.mark.parametrize("port", [0, 65536, -1])
def test_number_that_is_no_port_is_refused(port: int) -> None:
    with pytest.raises(CommandError, match="from 1 to 65535"):
        serve.refuse_taken_port("127.0.0.1", port)


def test_web_server_listens_on_an_ipv6_address_in_brackets() -> None:
    assert "[::1]:8000" in serve.web_command(host="::1", port=8000)
