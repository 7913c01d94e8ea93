"""Prints the proposal of a site document that no database knows."""

import datetime as dt
from dataclasses import replace
from functools import partial

from estimating.drawing import plan
from estimating.drawing.frame import LARGEST_PRINTED
from estimating.engine.catalog import Catalog
from estimating.engine.result import EstimateResult
from estimating.engine.site import Site
from estimating.mapping import to_plain
from estimating.models import Proposal
from estimating.selectors.site_marks import fixed_marks, utility_marks
from estimating.services.estimate_facts import EstimateFacts, read_facts
from estimating.services.payment_schedule import schedule_payments
from estimating.services.plan_picture import line_elevations
from estimating.services.proposal_building import Offer, assemble, deposit_rule
from estimating.services.proposal_content import Drawing, Party, Row
from estimating.services.proposal_pdf import logo_address, render_proposal_pdf
from estimating.services.proposal_texts import texts_for
from estimating.services.scope_words import scope_text
from firm.measure.money import format_money
from firm.measure.written import length_words
from firm.models import FirmProfile


def render_estimate_pdf(
    *, result: EstimateResult, site: Site, catalog: Catalog, firm: FirmProfile, today: dt.date
) -> bytes:
    """Return what a customer would be sent for this site, marked as a draft: no one sent it."""
    facts = read_facts(
        document=to_plain(site),
        catalog={"fence_systems": to_plain(catalog.systems)},
        result=to_plain(result),
    )
    drawn = line_elevations(
        result.lines,
        {key: to_plain(system) for key, system in catalog.systems.items()},
        {hole.post_number: hole.depth_in for hole in result.holes},
        units=firm.units,
    )
    offer = replace(
        offer_of(facts, result, site, firm, today),
        elevations=tuple(Drawing(name=each.name, svg=each.svg) for each in drawn),
    )
    content = assemble(offer, facts=facts, firm=firm)
    return render_proposal_pdf(content, logo=logo_address(firm), is_draft=True)


def offer_of(
    facts: EstimateFacts, result: EstimateResult, site: Site, firm: FirmProfile, today: dt.date
) -> Offer:
    """Return a site document's figures as an offer without a customer."""
    return Offer(
        number="draft",
        title=site.name or "Fence",
        dated=today,
        valid_until=today + dt.timedelta(days=firm.valid_days),
        customer=Party(name="the customer"),
        site=(),
        introduction="",
        scope_text=scope_text(facts, firm.units),
        exclusions_text="\n".join(texts_for(firm).exclusions),
        detail=Proposal.Detail.QUANTITIES,
        plan_svg=plan.plan_svg(
            result.lines,
            title=f"Site plan: {site.name}",
            length_words=partial(length_words, units=firm.units),
            units=firm.units,
            utilities=utility_marks(to_plain(site)),
            fixed=fixed_marks(to_plain(site)),
            largest_drawing=LARGEST_PRINTED,
        ),
        options=tuple(
            Row(key=one.key, description=one.description, amount=format_money(one.amount))
            for one in facts.options
        ),
        payments=tuple(
            Row(description=step.description, amount=format_money(step.amount))
            for step in schedule_payments(facts.price, deposit_rule(firm))
        ),
    )
