"""Puts a proposal's content together from its estimate, the firm and what the office wrote."""

import datetime as dt
from dataclasses import dataclass, replace
from decimal import Decimal

from estimating.mapping import from_plain
from estimating.models import Estimate, Proposal
from estimating.selectors.beside import chosen_beside
from estimating.services.estimate_facts import EstimateFacts, read_facts
from estimating.services.payment_schedule import DepositRule
from estimating.services.plan_picture import elevation_drawings, plan_svg
from estimating.services.proposal_content import (
    BesideRow,
    Drawing,
    Party,
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


@dataclass(frozen=True, kw_only=True, slots=True)
class Offer:
    """What differs from proposal to proposal beside the estimate's figures."""

    number: str
    title: str
    dated: dt.date
    valid_until: dt.date
    customer: Party
    site: tuple[str, ...]
    introduction: str
    scope_text: str
    exclusions_text: str
    detail: str
    plan_svg: str
    options: tuple[Row, ...]
    payments: tuple[Row, ...]
    elevations: tuple[Drawing, ...] = ()
    beside: tuple[BesideRow, ...] = ()


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
    facts = facts_of(estimate)
    firm = firm_profile()
    offer = Offer(
        number=estimate.label,
        title=estimate.title,
        dated=today,
        valid_until=proposal.valid_until,
        customer=customer_party(estimate.customer),
        site=site_lines(estimate.site),
        introduction=proposal.introduction,
        scope_text=proposal.scope_text,
        exclusions_text=proposal.exclusions_text,
        detail=proposal.detail,
        plan_svg=plan_svg(estimate, firm.units),
        elevations=tuple(
            Drawing(name=each.name, svg=each.svg)
            for each in elevation_drawings(estimate, firm.units)
        ),
        options=tuple(
            Row(key=row.key, description=row.description, amount=format_money(row.amount))
            for row in proposal.options.all()
        ),
        payments=payment_rows(proposal),
        beside=beside_rows(proposal),
    )
    return assemble(offer, facts=facts, firm=firm)


def assemble(offer: Offer, *, facts: EstimateFacts, firm: FirmProfile) -> ProposalContent:
    """Return all that is printed: the offer, its figures, and the firm's texts."""
    texts = texts_for(firm)
    is_by_quantity = offer.detail == Proposal.Detail.QUANTITIES
    return ProposalContent(
        number=offer.number,
        title=offer.title,
        dated=day_words(offer.dated),
        valid_until=day_words(offer.valid_until),
        firm=firm_party(firm),
        customer=offer.customer,
        site=offer.site,
        introduction=offer.introduction,
        facts=at_a_glance(
            facts,
            price=facts.price,
            valid_until=offer.valid_until,
            payments=offer.payments,
            units=firm.units,
        ),
        scope=text_lines(offer.scope_text),
        plan_svg=offer.plan_svg,
        elevations=offer.elevations,
        detail=offer.detail,
        price_rows=price_rows(facts, offer.detail, firm.units),
        quantity_rows=quantity_rows(facts, firm.units) if is_by_quantity else (),
        price_before_tax=format_money(facts.price_before_tax),
        has_sales_tax=facts.sales_tax > 0,
        sales_tax=format_money(facts.sales_tax),
        price=format_money(facts.price),
        options=offer.options,
        payments=offer.payments,
        exclusions=text_lines(offer.exclusions_text),
        cautions=(
            *texts.cautions[:3],
            texts.pool_caution if facts.has_pool else texts.no_pool_caution,
            *texts.cautions[3:],
        ),
        voided_by=texts.voided_by,
        how_to_accept=texts.how_to_accept,
        cancellation_note=cancellation_note(firm),
        firm_texts=firm_texts(firm),
        beside=offer.beside,
    )


def beside_rows(proposal: Proposal) -> tuple[BesideRow, ...]:
    """Return the other ways that the office chose to show, as printed."""
    return tuple(
        BesideRow(
            name=each.name,
            about=each.about,
            price=format_money(each.price),
            change=change_words(each.change),
        )
        for each in chosen_beside(proposal.estimate, proposal.beside)
    )


def change_words(change: Decimal) -> str:
    """Return how a price differs from the proposal's: $1,200.00 less."""
    if not change:
        return "the same price"
    return f"{format_money(abs(change))} {'more' if change > 0 else 'less'}"


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
