"""Adding and changing job sites; a site is born with everything that must be cleared."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.db import transaction

from firm.models import Clearance, Enquiry, JobSite, Jurisdiction, User
from firm.services.saving import add_row, change_row

UNTOUCHED = (Clearance.State.NOT_ASKED, Clearance.State.NOT_NEEDED)


@transaction.atomic
def add_site(
    *,
    actor: User | None,
    values: Mapping[str, Any],
    at: dt.datetime,
    enquiry: Enquiry | None = None,
) -> JobSite:
    """Add a site with its six clearances, and tie the enquiry it came from to it."""
    site = add_row(JobSite(**values, created_at=at), actor=actor, action="added a job site", at=at)
    Clearance.objects.bulk_create(
        Clearance(site=site, kind=kind, state=_first_state(kind, site.jurisdiction))
        for kind in Clearance.Kind.values
    )
    if enquiry is not None:
        change_row(
            enquiry,
            changes={"site": site},
            actor=actor,
            action="made a site of an enquiry",
            at=at,
        )
    return site


@transaction.atomic
def change_site(
    *, actor: User | None, site: JobSite, values: Mapping[str, Any], at: dt.datetime
) -> JobSite:
    """Change a site; a new jurisdiction says anew whether a permit is needed."""
    old_jurisdiction_id = (
        JobSite.objects.select_for_update().values_list("jurisdiction", flat=True).get(pk=site.pk)
    )
    changed = change_row(site, changes=values, actor=actor, action="changed a job site", at=at)
    if changed.jurisdiction_id != old_jurisdiction_id:
        # A permit that someone has begun to ask for is left as they left it.
        for permit in changed.clearances.filter(
            kind=Clearance.Kind.PERMIT, state__in=UNTOUCHED, number=""
        ):
            change_row(
                permit,
                changes={"state": _first_state(Clearance.Kind.PERMIT, changed.jurisdiction)},
                actor=actor,
                action="changed a clearance",
                at=at,
            )
    return changed


def _first_state(kind: str, jurisdiction: Jurisdiction | None) -> Clearance.State:
    if kind == Clearance.Kind.PERMIT and jurisdiction and not jurisdiction.permit_required:
        return Clearance.State.NOT_NEEDED
    return Clearance.State.NOT_ASKED
