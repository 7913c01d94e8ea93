"""The demo firm: whole, invented, and loaded once."""

import datetime as dt
from io import StringIO

import pytest
from django.core.management import call_command
from django.test import Client

from estimating.models import Estimate, FenceSystem, Proposal
from estimating.selectors.price_book import listed_prices
from estimating.services.demo import load_demo
from firm.errors import Refusal
from firm.models import AuditEntry, OutgoingMail, Role, User
from tests.cast import NOW, make_firm

pytestmark = pytest.mark.django_db


def test_demo_shows_every_state_of_the_work() -> None:
    load_demo(now=NOW)

    states = set(Proposal.objects.values_list("state", flat=True))
    assert states == {"draft", "sent", "accepted", "declined"}
    assert all(estimate.price > 0 for estimate in Estimate.objects.all())
    # One estimate is there to show what a broken rule looks like: 6 ft in a front yard.
    assert Estimate.objects.filter(title="Front garden").exists()
    assert len(listed_prices(today=NOW.date(), only_stale=True)) == 3
    assert set(User.objects.values_list("role", flat=True)) == set(Role.values)


def test_demo_log_ins_work_and_passwords_differ_from_one_loading_to_the_next() -> None:
    log_ins = load_demo(now=NOW)
    for log_in in log_ins:
        assert Client().login(username=log_in.username, password=log_in.password)
    assert len({log_in.password for log_in in log_ins}) == 3


def test_demo_sends_mail_to_reserved_names_only() -> None:
    load_demo(now=NOW)
    # RFC 2606: nobody can ever own example.com or a name under .example.
    for to in OutgoingMail.objects.values_list("to", flat=True):
        assert to.endswith(("@example.com", ".example"))


def test_demo_leaves_its_record_in_the_past() -> None:
    load_demo(now=NOW)
    assert AuditEntry.objects.exists()
    newest = AuditEntry.objects.values_list("at", flat=True)[0]
    assert newest <= NOW + dt.timedelta(minutes=1)


def test_second_loading_does_nothing_and_says_so() -> None:
    call_command("load_demo", stdout=StringIO())
    before = User.objects.count(), Estimate.objects.count()
    answer = StringIO()
    call_command("load_demo", stdout=answer)
    assert "set up here already" in answer.getvalue()
    assert (User.objects.count(), Estimate.objects.count()) == before


def test_demo_is_never_loaded_over_a_firm() -> None:
    make_firm()
    with pytest.raises(Refusal, match="set up here already"):
        load_demo(now=NOW)
    assert not FenceSystem.objects.exists()
