"""Keeps measured sites as versions of a document."""

import datetime as dt
from typing import Any

from django.db import IntegrityError, transaction

from estimating.models import SiteMeasurement
from estimating.selectors.measurements import latest_measurement
from firm.errors import Refusal
from firm.models import JobSite, User
from firm.services.audit import record


@transaction.atomic
def save_measurement(
    *,
    site: JobSite,
    document: dict[str, Any],
    based_on: int,
    actor: User | None,
    now: dt.datetime,
) -> SiteMeasurement:
    """Keep `document` as the site's next version, or return the newest where nothing changed.

    The caller has checked the document. `based_on` is the version that was open while the
    changes were typed, 0 for none.

    Raises:
        Refusal: someone else saved a newer version meanwhile.
    """
    newest = latest_measurement(site)
    version = newest.version if newest else 0
    if newest and newest.document == document:
        return newest
    if version != based_on:
        raise _overtaken(newest)
    try:
        with transaction.atomic():
            saved = SiteMeasurement.objects.create(
                site=site, version=version + 1, document=document, saved_by=actor, saved_at=now
            )
    except IntegrityError as error:
        raise _overtaken(latest_measurement(site)) from error
    record(
        actor=actor,
        action="measured the site" if version == 0 else "changed the measured site",
        target=saved,
        before={"version": version},
        after={"version": saved.version, "lines": len(document["lines"])},
        at=now,
    )
    return saved


def _overtaken(newest: SiteMeasurement | None) -> Refusal:
    who = str(newest.saved_by) if newest and newest.saved_by else "Someone else"
    version = newest.version if newest else 0
    return Refusal(
        f"{who} saved version {version} of this site while you were typing. What you typed is "
        "still here: compare it with the newer version, then save once more to replace it."
    )
