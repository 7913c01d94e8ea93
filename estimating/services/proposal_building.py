"""Puts a proposal's content together from its estimate, the firm and what the office wrote."""

import datetime as dt
from dataclasses import replace
from decimal import Decimal

from estimating.mapping import from_plain
from estimating.models import Estimate, Proposal
from estimating.services.estimate_facts import EstimateFacts, read_facts
from estimating.services.payment_schedule import DepositRule
from estimating.services.plan_picture import plan_svg
from estimating.services.proposal_content import (
    ProposalContent,
    Row,
    ShortText,
    at_a_glance,
    customer_party,
    day_words,
    firm_party,
    price_rows,
    quantity_rows,
    site_lines,
    text_lines,
)
from estimating.services.proposal_texts import texts_for
from firm.measure.money import format_money
from firm.models import FirmProfile
from firm.selectors.profile import firm_profile


def facts_of(estimate: Estimate) -> EstimateFacts:
    """Return the facts of an estimate; its own columns rule over the stored result's money."""
    facts = read_facts(document=estimate.document, catalog=estimate.catalog, result=estimate.result)
    return replace(
        facts,
        price_before_tax=estimate.price_before_tax,
        sales_tax=estimate.sales_tax,
        price=estimate.price,
    )


def deposit_rule(firm: FirmProfile) -> DepositRule:
    """Return what the firm asks for as a deposit and what its state allows."""
    return DepositRule(
        pct=firm.deposit_pct, cap_pct=firm.deposit_cap_pct, cap_amount=firm.deposit_cap_amount
    )


def content_of(proposal: Proposal, *, today: dt.date) -> ProposalContent:
    """Return what the proposal prints: frozen once sent, else as things stand today."""
    if proposal.content:
        return from_plain(ProposalContent, proposal.content)
    return build_content(proposal, today=today)


def build_content(proposal: Proposal, *, today: dt.date) -> ProposalContent:
    """Return the content as the proposal's text, its estimate and the firm have it now."""
    estimate = proposal.estimate
    firm = firm_profile()
    facts = facts_of(estimate)
    texts = texts_for(firm)
    return ProposalContent(
        number=estimate.label,
        title=estimate.title,
        dated=day_words(today),
        valid_until=day_words(proposal.valid_until),
        firm=firm_party(firm),
        customer=customer_party(estimate.customer),
        site=site_lines(estimate.site),
        introduction=proposal.introduction,
        facts=at_a_glance(facts, price=proposal.price, valid_until=proposal.valid_until),
        scope=text_lines(proposal.scope_text),
        plan_svg=plan_svg(estimate),
        detail=proposal.detail,
        price_rows=price_rows(facts, proposal.detail),
        quantity_rows=quantity_rows(facts) if proposal.detail == Proposal.Detail.QUANTITIES else (),
        price_before_tax=format_money(estimate.price_before_tax),
        sales_tax=format_money(proposal.sales_tax),
        price=format_money(proposal.price),
        options=tuple(
            Row(key=row.key, description=row.description, amount=format_money(row.amount))
            for row in proposal.options.all()
        ),
        payments=payment_rows(proposal),
        exclusions=text_lines(proposal.exclusions_text),
        cautions=(
            *texts.cautions[:3],
            texts.pool_caution if facts.has_pool else texts.no_pool_caution,
            *texts.cautions[3:],
        ),
        findings=(),
        voided_by=texts.voided_by,
        how_to_accept=texts.how_to_accept,
        cancellation_note=cancellation_note(firm),
        firm_texts=firm_texts(firm),
    )


def payment_rows(proposal: Proposal) -> tuple[Row, ...]:
    """Return the payment schedule as printed."""
    return tuple(
        Row(description=row.description, amount=format_money(row.amount))
        for row in proposal.payments.all()
    )


def firm_texts(firm: FirmProfile) -> tuple[ShortText, ...]:
    """Return the firm's own texts; those it has not written are left out."""
    texts = (
        ("Licence", firm.licence_text),
        ("Your right to cancel", firm.cancellation_text),
        ("Liens", firm.lien_text),
        ("Warranty", firm.warranty_text),
        ("Terms", firm.terms),
    )
    return tuple(
        ShortText(heading=heading, text=text.strip()) for heading, text in texts if text.strip()
    )


def cancellation_note(firm: FirmProfile) -> str:
    """Return how long nothing is ordered or dug after an acceptance."""
    days = firm.cancellation_business_days
    if not days:
        return "Work and orders may begin as soon as you accept."
    plural = "" if days == 1 else "s"
    return (
        f"Nothing is ordered and nothing is dug before the end of the {_ordinal(days)} business "
        f"day after you accept ({days} business day{plural}; weekends and federal holidays "
        "do not count)."
    )


def _ordinal(number: int) -> str:
    if number % 100 in {11, 12, 13}:
        return f"{number}th"
    return f"{number}{ {1: 'st', 2: 'nd', 3: 'rd'}.get(number % 10, 'th') }"


def option_rows(facts: EstimateFacts) -> list[tuple[str, str, Decimal]]:
    """Return the estimate's options as the proposal keeps them: key, words, amount with tax."""
    return [(option.key, option.description, option.amount) for option in facts.options]
