"""Takes a saver hint: a new version of the measured site, and the estimate priced with it."""

import datetime as dt
from typing import Any

from django.db import transaction

from estimating.engine.errors import EngineError
from estimating.engine.reading import read_site
from estimating.engine.saver_changes import UseOffcuts, change_document
from estimating.models import Estimate, SiteMeasurement
from estimating.selectors.measurements import latest_measurement
from estimating.selectors.place_words import in_words
from estimating.selectors.savings import TOOK, Saving, saving_taken, savings_of
from estimating.services.estimate_parts import set_by_hand
from estimating.services.estimates import open_estimate, work_out_again
from estimating.services.measurements import save_measurement
from firm.errors import Refusal
from firm.models import User
from firm.services.audit import record


@transaction.atomic
def take_saving(*, estimate: Estimate, key: str, actor: User | None, now: dt.datetime) -> Saving:
    """Make the change that a hint proposes, and price the estimate with it at its own prices.

    A change of the site makes a new version of it; the one before stays as it was. Offcuts that
    are used are a figure set by hand.

    Raises:
        Refusal: the estimate is not open, its site was changed since it was priced, or the hint
            is none any more.
    """
    row = open_estimate(estimate)
    newest = priced_version(row)
    saving = _saving(row, key)
    change = saving.hint.change
    before = _standing(row)
    if isinstance(change, UseOffcuts):
        override = change.override
        set_by_hand(
            estimate=row,
            target=override.target,
            value=override.value,
            reason=override.reason,
            actor=actor,
            now=now,
        )
        return saving
    site = read_site(row.document, leave_out=True)
    _stand_on(row, newest, change_document(row.document, site, change), actor=actor, now=now)
    record(
        actor=actor,
        action=TOOK,
        target=row,
        before=before,
        after={**_standing(row), "change": saving.change},
        at=now,
    )
    return saving


@transaction.atomic
def undo_saving(*, estimate: Estimate, actor: User | None, now: dt.datetime) -> int:
    """Keep the document of before the saving as the newest version, and price the estimate with it.

    Returns the version whose document it is.

    Raises:
        Refusal: the estimate is not open, its site was changed since, or no saving was taken.
    """
    row = open_estimate(estimate)
    newest = priced_version(row)
    taken = saving_taken(row)
    if taken is None:
        raise Refusal("The site does not stand as a saving left it, so there is none to take back.")
    before = _standing(row)
    old = SiteMeasurement.objects.get(site=newest.site, version=taken.before["version"])
    _stand_on(row, newest, old.document, actor=actor, now=now)
    record(
        actor=actor,
        action="took a saving back",
        target=row,
        before=before,
        after={**_standing(row), "as_version": old.version},
        at=now,
    )
    return old.version


def _stand_on(
    estimate: Estimate,
    newest: SiteMeasurement,
    document: dict[str, Any],
    *,
    actor: User | None,
    now: dt.datetime,
) -> None:
    """Keep a document as the site's next version, and work the estimate out with it."""
    estimate.document = document
    estimate.measurement = save_measurement(
        site=newest.site, document=document, based_on=newest.version, actor=actor, now=now
    )
    work_out_again(estimate, now=now)


def _standing(estimate: Estimate) -> dict[str, Any]:
    version = estimate.measurement.version if estimate.measurement else 0
    return {"price": estimate.price, "version": version}


def priced_version(estimate: Estimate) -> SiteMeasurement:
    """Return the version an estimate was priced from, which has to be its site's newest.

    Raises:
        Refusal: it is not; the sentence says what to do.
    """
    newest = latest_measurement(estimate.site) if estimate.site else None
    if newest is None or estimate.measurement is None:
        raise Refusal("This estimate has no measured site to change.")
    if newest.pk != estimate.measurement_id:
        raise Refusal(
            f"The site was changed meanwhile: version {newest.version} is the newest, and this "
            f"estimate was priced from version {estimate.measurement.version}. Open today's "
            "prices, price it with the newest version, then look here again."
        )
    return newest


def _saving(estimate: Estimate, key: str) -> Saving:
    try:
        rows = savings_of(estimate).rows
    except EngineError as error:
        raise Refusal(in_words(str(error))) from error
    for each in rows:
        if each.hint.key == key:
            return each
    raise Refusal(
        "This saving is none any more: the estimate was changed meanwhile. The list below is new."
    )
