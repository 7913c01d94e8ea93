"""Takes a saver hint: a new version of the measured site, and the estimate priced with it."""

import datetime as dt

from django.db import transaction

from estimating.engine.errors import EngineError
from estimating.engine.reading import read_site
from estimating.engine.saver_changes import change_document
from estimating.models import Estimate, SiteMeasurement
from estimating.selectors.measurements import latest_measurement
from estimating.selectors.savings import Saving, savings_of
from estimating.services.estimates import open_estimate, work_out_again
from estimating.services.measurements import save_measurement
from firm.errors import Refusal
from firm.models import User
from firm.services.audit import record


@transaction.atomic
def take_saving(*, estimate: Estimate, key: str, actor: User | None, now: dt.datetime) -> Saving:
    """Make the change that a hint proposes, and price the estimate with it at its own prices.

    The site gets a new version; the one before stays as it was.

    Raises:
        Refusal: the estimate is not open, its site was changed since it was priced, or the hint
            is none any more.
    """
    row = open_estimate(estimate)
    newest = priced_version(row)
    saving = _saving(row, key)
    before = {"price": row.price, "version": newest.version}
    site = read_site(row.document, leave_out=True)
    row.document = change_document(row.document, site, saving.hint.change)
    row.measurement = save_measurement(
        site=newest.site, document=row.document, based_on=newest.version, actor=actor, now=now
    )
    work_out_again(row, now=now)
    record(
        actor=actor,
        action="took a saving",
        target=row,
        before=before,
        after={"price": row.price, "version": row.measurement.version, "change": saving.change},
        at=now,
    )
    return saving


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
        raise Refusal(str(error)) from error
    for each in rows:
        if each.hint.key == key:
            return each
    raise Refusal(
        "This saving is none any more: the estimate was changed meanwhile. The list below is new."
    )
