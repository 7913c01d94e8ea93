"""What hangs on the posts of sold work, and whether concrete holds them."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import F

from estimating.models import Proposal

FABRIC = "fabric"


@dataclass(frozen=True, kw_only=True, slots=True)
class SoldFence:
    """What a proposal sold: fabric stretched over its posts, and posts set in concrete.

    `families` are those of its fence systems.
    """

    has_fabric: bool = False
    has_concrete: bool = True
    families: frozenset[str] = frozenset()


def sold_fences(proposal_ids: Iterable[int]) -> Mapping[int, SoldFence]:
    """Return what hangs and what holds it, by proposal; one query however many are asked.

    Work is without concrete only where its estimate counted none.
    """
    rows = Proposal.objects.filter(pk__in=proposal_ids).values_list(
        "pk", "estimate__document__lines", "estimate__catalog__fence_systems", _CONCRETE
    )
    return {
        pk: SoldFence(
            has_fabric=FABRIC in (families := _families(lines or (), systems or {})),
            has_concrete=concrete is None or concrete > 0,
            families=families,
        )
        for pk, lines, systems, concrete in rows
    }


_CONCRETE = F("estimate__result__concrete__net_ft3")


def _families(lines: Iterable[Mapping[str, Any]], systems: Mapping[str, Any]) -> frozenset[str]:
    found = ((systems.get(line.get("system", "")) or {}).get("family", "") for line in lines)
    return frozenset(each for each in found if each)
