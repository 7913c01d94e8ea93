"""The page on which a crew's day at a job is reported, and the photos that came with it."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from firm.access import requires, signed_in
from firm.selectors.languages import spoken
from firm.services.pictures import small_picture
from firm.views.attachments import HANDED_OUT
from firm.views.meanwhile import say_kept_meanwhile
from scheduling.forms.report_at_once import PhotoForm, TickForm
from scheduling.forms.reports import ReportPage
from scheduling.models import Crew, DayReport, FenceJob, JobPhoto
from scheduling.selectors import reports as selectors
from scheduling.services.report_entries import ReportEntry, ReportRefused
from scheduling.services.reports import report_faults, save_report, tick_posts


@dataclass(frozen=True, kw_only=True, slots=True)
class _Place:
    """One crew's day at one job, and who reports it now."""

    crew: Crew
    job: FenceJob
    day: dt.date
    now: dt.datetime

    def report(self) -> DayReport | None:
        return selectors.report_of(self.job, self.crew, self.day)

    def context(self, report: DayReport | None) -> dict[str, Any]:
        posts = selectors.posts_of(self.job)
        return {
            "job": self.job,
            "crew": self.crew,
            "day": self.day,
            "report": report,
            "posts": (view := selectors.posts_view(self.job, report, posts)),
            "finished_then": view.finished_phases,
        }


def _place(request: HttpRequest, crew: int, day: dt.date, job: int) -> _Place:
    now = timezone.now()
    found = selectors.crew_and_job(
        signed_in(request), crew_pk=crew, job_pk=job, day=day, today=timezone.localdate(now)
    )
    if found is None:
        raise Http404
    return _Place(crew=found[0], job=found[1], day=day, now=now)


@requires()
@require_http_methods(["GET", "POST"])
def day_report(request: HttpRequest, crew: int, date: dt.date, job: int) -> HttpResponse:
    """Show what is reported of a day, and keep all that is typed, or nothing of it."""
    place = _place(request, crew, date, job)
    report, rock = place.report(), selectors.rock_of(place.job)
    is_sent = request.method == "POST"
    page = ReportPage(
        place.job,
        place.crew,
        report,
        rock=[row for row in rock if report and row.report_id == report.pk],
        data=request.POST if is_sent else None,
        files=request.FILES if is_sent else None,
    )
    if is_sent and _is_saved(request, place, page):
        messages.success(request, _("The report is saved."))
        say_kept_meanwhile(request, page.form)
        return redirect("day_report", crew=crew, date=date, job=job)
    context = place.context(report) | {
        "page": page,
        "form": page.form,
        "ticked": None,
        "photos": selectors.photos_of_report(report),
        "rock_elsewhere": [row for row in rock if not report or row.report_id != report.pk],
    }
    if is_sent:
        context |= _boxes_as_sent(page, context["posts"].set_here)
    return render(request, "scheduling/day_report.html", context, status=422 if is_sent else 200)


def _is_saved(request: HttpRequest, place: _Place, page: ReportPage) -> bool:
    is_valid = page.is_valid()
    entry = page.entry(all_set=request.POST.get("act") == TickForm.ALL)
    photos = page.form.handed_in()
    job, crew, date, now = place.job, place.crew, place.day, place.now
    if not is_valid:
        # What can be read is judged all the same: every slip is told at once.
        page.add_faults(
            report_faults(job=job, crew=crew, date=date, entry=entry, photos=photos, now=now)
        )
        return False
    try:
        save_report(
            job=job,
            crew=crew,
            date=date,
            entry=entry,
            photos=photos,
            actor=signed_in(request),
            now=now,
        )
    except ReportRefused as refusal:
        page.add_faults(refusal.faults)
        return False
    return True


def _boxes_as_sent(page: ReportPage, set_here: Iterable[int]) -> dict[str, Any]:
    """Return the boxes of a page that comes back: what was changed on it, and that alone.

    Another phone's ticks made meanwhile would else be taken away when the page is sent again.
    """
    values, stands = page.form.cleaned_data, frozenset(set_here)
    was: frozenset[int] = values.get("was_set", stands)
    now: frozenset[int] = values.get("posts", was)
    boxes: dict[str, Any] = {"ticked": (stands | (now - was)) - (was - now)}
    if "was_finished" in values:
        boxes["finished_then"] = sorted(values["was_finished"])
    return boxes


@requires()
@require_POST
def report_posts(request: HttpRequest, crew: int, date: dt.date, job: int) -> HttpResponse:
    """Keep one tick, or all of them, as soon as it is made; answer with how the posts stand."""
    place = _place(request, crew, date, job)
    form = TickForm(request.POST)
    fault = "" if form.is_valid() else form.non_field_errors()[0]
    if not fault:
        try:
            tick_posts(
                job=place.job,
                crew=place.crew,
                date=place.day,
                ticks=form.ticks(),
                actor=signed_in(request),
                now=place.now,
            )
        except ReportRefused as refusal:
            fault = spoken(refusal.message)
    template = "_report_posts.html" if form.is_whole else "_report_state.html"
    context = place.context(place.report()) | {"fault": fault}
    if form.is_all and not fault:
        was_set = form.cleaned_data["was_set"]
        context["just_set"] = [one for one in context["posts"].set_here if one not in was_set]
    status = 422 if fault else 200
    return render(request, f"scheduling/{template}", context, status=status)


@requires()
@require_POST
def report_photos(request: HttpRequest, crew: int, date: dt.date, job: int) -> HttpResponse:
    """Keep photos as soon as they are chosen; answer with the photos of the day."""
    place = _place(request, crew, date, job)
    form = PhotoForm(request.POST, request.FILES)
    is_valid = form.is_valid()
    before = len(selectors.photos_of_report(place.report()))
    # What is sound beside a photo that is no picture is kept: nobody chooses it again.
    if (handed_in := form.handed_in()) is not None:
        try:
            save_report(
                job=place.job,
                crew=place.crew,
                date=place.day,
                entry=ReportEntry(),
                photos=handed_in,
                actor=signed_in(request),
                now=place.now,
            )
        except ReportRefused as refusal:
            handed_in, is_valid = None, False
            for fault in refusal.faults:
                form.add_error(fault.field, spoken(fault.message))
    photos = selectors.photos_of_report(place.report())
    if is_valid:
        # What the photos show is likely the same for the next ones; the note is not.
        form = PhotoForm(initial={"photo_subject": form.cleaned_data["photo_subject"]})
    context = place.context(None) | {
        "form": form,
        "photos": photos,
        "added": len(photos) - before,
        "is_kept": handed_in is not None,
    }
    status = 200 if is_valid else 422
    return render(request, "scheduling/_report_photos.html", context, status=status)


@requires()
@require_safe
def job_photo(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Hand out a photo."""
    photo = _photo(request, pk)
    return FileResponse(
        photo.file.open("rb"),
        filename=f"job-{photo.job_id}-{photo.pk}.jpg",
        content_type="image/jpeg",
        headers=HANDED_OUT,
    )


@requires()
@require_safe
def job_photo_small(request: HttpRequest, pk: int) -> HttpResponse:
    """Hand out a photo small enough for a list."""
    with _photo(request, pk).file.open("rb") as opened:
        content = small_picture(opened.read())
    kept_a_day = {**HANDED_OUT, "Cache-Control": "private, max-age=86400"}
    return HttpResponse(content, content_type="image/jpeg", headers=kept_a_day)


def _photo(request: HttpRequest, pk: int) -> JobPhoto:
    photo = get_object_or_404(selectors.photos_within_reach(signed_in(request)), pk=pk)
    if not photo.file.storage.exists(photo.file.name or ""):
        raise Http404
    return photo
