"""Who may open which address: a table for every named view, and the answer each role gets."""

import datetime as dt
from collections.abc import Callable, Iterable, Iterator

import pytest
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, path, reverse

from firm.models import Role
from tests.cast import make_firm

STRANGER = None
OWNER_ONLY = frozenset({Role.OWNER})
OFFICE = frozenset({Role.OWNER, Role.OFFICE})
EVERYONE = frozenset(Role)

OPEN_TO_ALL = """
    healthz csp_report favicon firm_logo first_run
    login logout password_reset password_reset_done password_reset_confirm
    proposal_public proposal_public_pdf proposal_public_total proposal_public_decline
    calendar_feed
"""
FOR_EVERYONE_IN_THE_FIRM = """
    home length_reading sites site site_measure_sheet attachment attachment_small
    jobs job job_timeline job_finish job_completion_pdf punch_add punch_tick
    my_days day day_sheet day_sheet_pdf day_papers week_paper
    day_report report_posts report_photos job_photo job_photo_small
    ground change_sign
    crew_load crew_load_pdf job_leftovers
    calendar_feeds calendar_feed_revoke
"""
FOR_THE_OWNER = """
    firm_settings mail_settings backup_now users user_new user_edit user_password_link audit
    rate_edit uncertain_new uncertain_edit
    margins job_margin
"""
FOR_THE_OFFICE = """
    mails mail mail_attachment
    customers customer customer_new customer_edit customers_import customers_import_sample
    enquiries enquiry enquiry_new enquiry_edit
    site_new site_edit attachment_add clearance_add clearance_edit
    utility_answer_add utility_answer_edit
    jurisdictions jurisdiction_new jurisdiction_edit frost_depth
    site_measure site_measure_preview site_document site_document_upload
    site_schema
    estimates estimate estimate_new estimate_price estimate_revise repair_new
    estimate_line_add estimate_line estimate_override estimate_override_drop
    estimate_what_would_pass estimate_savings estimate_saving_take estimate_saving_undo
    estimate_where_from estimate_json
    estimate_scopes estimate_risk estimate_alternates estimate_alternate_drop
    estimate_alternate_take
    proposals proposal proposal_new proposal_progress proposal_pdf proposal_send
    proposal_refresh proposal_mail_again proposal_withdraw proposal_decline proposal_call
    proposal_paper_acceptance proposal_scan
    price_book price_item_new price_item_edit price_item_checked rates systems system
    uncertain_rows suppliers supplier_new supplier_edit
    system_new system_edit soil
    job_call_off job_prepare job_place job_drying
    invoices invoice invoice_issue invoice_refresh invoice_drop invoice_print invoice_progress
    invoice_pdf invoice_mail invoice_void contract_money invoice_balance invoice_step
    payment_add payment_void
    job_costs job_cost_add job_cost_edit
    crews crew_new crew_edit crew_member_add crew_member_edit days_off_add days_off_edit
    days_off_drop time_off_add time_off_edit time_off_drop holidays
    skills skill_drop skill_ask skill_ask_drop people_asked machine_new machine_edit
    weather weather_months
    buying order_new purchase_orders purchase_order order_item_add order_send order_drop
    order_cancel order_mail order_promises order_receive order_pdf yard receipt_take_back
    plan_changes plan_changes_seen plan_change_seen crew_day_first
    rain_out rain_out_calls rain_out_told
    plan plan_progress plan_stop plan_take plan_drop
    week month week_place week_place_all crew_day crew_day_move crew_day_drop crew_day_add
    change_orders change_order_new change_order change_order_drop change_order_decline
    change_order_paper change_order_pdf job_rock_change
"""
RULES: dict[str, frozenset[Role] | None] = {
    **dict.fromkeys(OPEN_TO_ALL.split()),
    **dict.fromkeys(FOR_EVERYONE_IN_THE_FIRM.split(), EVERYONE),
    **dict.fromkeys(FOR_THE_OWNER.split(), OWNER_ONLY),
    **dict.fromkeys(FOR_THE_OFFICE.split(), OFFICE),
}
GUARDED = {name: roles for name, roles in RULES.items() if roles is not None}
# Rows that do not exist: whoever is let in gets 404, whoever is not never learns that.
NO_SUCH_ROW = 987654
ARGUMENTS = {"IntConverter": NO_SUCH_ROW, "DayConverter": dt.date(2026, 6, 1)}


def named_patterns(
    patterns: list[URLPattern | URLResolver] | None = None,
) -> Iterator[URLPattern]:
    for pattern in get_resolver().url_patterns if patterns is None else patterns:
        if isinstance(pattern, URLResolver):
            yield from named_patterns(pattern.url_patterns)
        else:
            yield pattern


def address_of(name: str) -> str:
    pattern = next(pattern for pattern in named_patterns() if pattern.name == name)
    converters = pattern.pattern.converters
    arguments = {
        argument: ARGUMENTS.get(type(converter).__name__, "none")
        for argument, converter in converters.items()
    }
    return reverse(name, kwargs=arguments)


def is_refused(answer: HttpResponseBase) -> bool:
    to_log_in = answer.headers.get("Location", "").startswith("/log-in/?next=")
    return answer.status_code == 403 or (answer.status_code == 302 and to_log_in)


def without_a_rule(patterns: Iterable[URLPattern]) -> list[str]:
    """Return the addresses that have no name of their own, or a name without a rule."""
    names = [pattern.name for pattern in patterns]
    return [str(name) for name in names if name not in RULES or names.count(name) > 1]


def test_every_address_has_a_name_and_every_name_a_rule() -> None:
    assert without_a_rule(named_patterns()) == []
    assert RULES.keys() == {pattern.name for pattern in named_patterns()}


def test_new_address_without_a_rule_is_noticed() -> None:
    def view(_request: HttpRequest) -> HttpResponse:
        return HttpResponse("Everything about everyone")

    patterns = list(named_patterns())
    assert without_a_rule([*patterns, path("all/", view, name="all")]) == ["all"]
    assert without_a_rule([*patterns, path("all/", view)]) == ["None"]
    assert without_a_rule([*patterns, path("all/", view, name="job")]) == ["job", "job"]


def test_every_guarded_view_says_the_same_as_the_table() -> None:
    said = {
        pattern.name: getattr(pattern.callback, "allowed_roles", None)
        for pattern in named_patterns()
    }
    assert said == RULES


@pytest.mark.django_db
@pytest.mark.parametrize("role", [STRANGER, *Role], ids=lambda role: role or "stranger")
@pytest.mark.parametrize("method", ["get", "post"])
def test_each_role_gets_in_where_the_table_says_and_nowhere_else(
    as_role: Callable[[Role | None], Client], role: Role | None, method: str
) -> None:
    make_firm()
    client = as_role(role)
    wrong = []
    for name, roles in GUARDED.items():
        answer = getattr(client, method)(address_of(name))
        if is_refused(answer) == (role in roles):
            wrong.append((name, answer.status_code))
        if role is STRANGER and answer.status_code != 302:
            wrong.append((name, answer.status_code))
    assert wrong == []


@pytest.mark.django_db
def test_stranger_gets_an_answer_at_every_open_address(
    as_role: Callable[[Role | None], Client],
) -> None:
    make_firm()
    client = as_role(STRANGER)
    wrong = [
        name
        for name, roles in RULES.items()
        if roles is None and is_refused(client.get(address_of(name)))
    ]
    assert wrong == []


@pytest.mark.django_db
@pytest.mark.parametrize("method", ["put", "delete", "patch"])
def test_no_guarded_address_understands_other_methods(
    as_role: Callable[[Role | None], Client], method: str
) -> None:
    make_firm()
    client = as_role(Role.OWNER)
    understood = [
        name
        for name in GUARDED
        if getattr(client, method)(address_of(name)).status_code not in {404, 405}
    ]
    assert understood == []


@pytest.mark.django_db
def test_forged_request_is_refused_on_every_guarded_address(
    as_role: Callable[[Role | None], Client], owner: object
) -> None:
    make_firm()
    client = Client(enforce_csrf_checks=True)
    client.login(username="owner", password="tall gate post")
    taken = [name for name in GUARDED if client.post(address_of(name)).status_code != 403]
    assert taken == []
