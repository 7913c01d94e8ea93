"""What a job's costs are held against: what was estimated, the firm's rules then, and the money."""

import datetime as dt
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import Count

from estimating.engine.reading import read_catalog
from estimating.models import Acceptance, ChangeOrder, GroundChange, Invoice, Proposal
from estimating.selectors.changes import SignedChanges, sums_of
from estimating.selectors.invoices import Contract, contracts
from firm.measure.units import to_decimal

NOTHING = Decimal(0)
# Tax on purchases comes with the material; what else there is counts as other cost.
KINDS = {
    "material": "material",
    "tax": "material",
    "equipment": "equipment",
    "fee": "fee",
    "travel": "travel",
}
Json = Mapping[str, Any]


@dataclass(frozen=True, kw_only=True, slots=True)
class PricingRule:
    """The firm's rules as they were when the estimate was priced, as plain figures."""

    crew_rate: Decimal
    crew_size: int
    hours_per_day: Decimal
    overhead_method: str
    overhead_rate: Decimal
    commission_pct: Decimal


@dataclass(frozen=True, kw_only=True, slots=True)
class CostBasis:
    """One accepted proposal: estimated cost of the kinds beside labour, units, and its money.

    `posts` and `bags` are those of the newest version of the site. `trips` are the estimate's.
    `owed` is what of the contract, changes included, is not paid; `drafts` are change orders
    that nobody has signed.
    """

    cost_by_kind: Mapping[str, Decimal]
    posts: int
    bags: int
    bag_cost: Decimal
    trips: int
    rule: PricingRule | None
    changes: SignedChanges
    drafts: int
    received: Decimal
    owed: Decimal
    invoiced_on: dt.date | None


def cost_bases(proposal_ids: Collection[int], *, today: dt.date) -> dict[int, CostBasis]:
    """Return what accepted proposals are held against; as many queries for one as for all."""
    accepted = (
        Acceptance.objects.filter(proposal__in=proposal_ids)
        .select_related("proposal")
        .defer("proposal__content")
    )
    money = contracts(accepted, today=today)
    ground = _newest_ground(proposal_ids)
    drafts = _drafts(proposal_ids)
    rows = Proposal.objects.filter(pk__in=list(money)).values_list(
        "pk",
        "estimate__result__cost_lines",
        "estimate__result__concrete",
        "estimate__result__holes",
        "estimate__result__trips",
        "estimate__catalog__rules",
    )
    return {
        pk: _basis(
            lines or (),
            concrete or {},
            ground.get(pk, (concrete or {}, holes or ())),
            trips=trips or 0,
            rules=rules,
            contract=money[pk],
            drafts=drafts.get(pk, 0),
        )
        for pk, lines, concrete, holes, trips, rules in rows
    }


def _newest_ground(proposal_ids: Collection[int]) -> dict[int, tuple[Json, Collection[Any]]]:
    rows = (
        GroundChange.objects.filter(proposal__in=proposal_ids)
        .order_by("proposal", "version")
        .values_list("proposal", "result__concrete", "result__holes")
    )
    return {proposal: (concrete or {}, holes or ()) for proposal, concrete, holes in rows}


def _drafts(proposal_ids: Collection[int]) -> dict[int, int]:
    rows = (
        ChangeOrder.objects.filter(proposal__in=proposal_ids, state=ChangeOrder.State.DRAFT)
        .order_by()
        .values_list("proposal")
        .annotate(count=Count("pk"))
    )
    return dict(rows)


def _basis(
    lines: Iterable[Json],
    sold_concrete: Json,
    newest: tuple[Json, Collection[Any]],
    *,
    trips: int,
    rules: Json | None,
    contract: Contract,
    drafts: int,
) -> CostBasis:
    cost_lines = list(lines)
    concrete, holes = newest
    return CostBasis(
        cost_by_kind=_by_kind(cost_lines),
        posts=len(holes),
        bags=int(concrete.get("bags", 0)),
        bag_cost=_bag_cost(cost_lines, sold_concrete),
        trips=trips,
        rule=_rule(rules),
        changes=sums_of(contract.changes),
        drafts=drafts,
        received=contract.money.received,
        owed=contract.money.open,
        invoiced_on=_invoiced_on(contract),
    )


def _by_kind(lines: Iterable[Json]) -> dict[str, Decimal]:
    found = dict.fromkeys(KINDS.values(), NOTHING)
    for line in lines:
        kind = KINDS.get(line["kind"])
        if kind is not None:
            found[kind] += Decimal(str(line["amount"]))
    return found


def _bag_cost(lines: Iterable[Json], concrete: Json) -> Decimal:
    """Return what one bag was estimated at, also where bags are bought by the pallet."""
    bags = Decimal(str(concrete.get("bags", 0)))
    for line in lines:
        if line["kind"] == "material" and line["item"] == concrete.get("bag_item"):
            bought = max(bags, Decimal(str(line["quantity"])))
            return Decimal(str(line["amount"])) / bought if bought else NOTHING
    return NOTHING


def _rule(frozen: Json | None) -> PricingRule | None:
    if not frozen:
        return None
    rules = read_catalog({"rules": frozen}).rules
    return PricingRule(
        crew_rate=rules.crew_rate,
        crew_size=rules.crew_size,
        hours_per_day=to_decimal(rules.hours_per_day, 4),
        overhead_method=rules.overhead_method,
        overhead_rate=rules.overhead_rate,
        commission_pct=rules.commission_pct,
    )


def _invoiced_on(contract: Contract) -> dt.date | None:
    balance = contract.balance
    if balance is None or balance.state != Invoice.State.ISSUED:
        return None
    return balance.issued_on
