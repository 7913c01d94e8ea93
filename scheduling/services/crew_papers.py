"""Prints what a crew takes along: all papers of a day in one file, and its week on one sheet."""

import datetime as dt
from dataclasses import dataclass

from django.template.loader import render_to_string
from django.utils import timezone

from firm.models import User
from firm.pdf import render_pdf
from firm.selectors.languages import speaking
from scheduling.models import Crew, JobPhase
from scheduling.selectors.crew_languages import crew_language
from scheduling.selectors.day_sheet import DaySheet, day_sheet_of
from scheduling.selectors.days import DAYS_SHOWN, ONE_DAY, CrewOnDay, coming_days, crew_day
from scheduling.selectors.load_list import load_list
from scheduling.selectors.week_posts import PostShare, PostShares, post_shares
from scheduling.services.day_sheet_pdf import day_sheet_html
from scheduling.services.load_list_pdf import load_list_html

WEEK_TEMPLATE = "pdf/crew_week.html"


@dataclass(frozen=True, kw_only=True, slots=True)
class PaperDay:
    """A day of the week's sheet: its jobs in their order, each as its day sheet has it."""

    date: dt.date
    visits: tuple["PaperVisit", ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class PaperVisit:
    """A job on a day, with the day's share of its posts where that is known."""

    sheet: DaySheet
    share: PostShare | None


def day_papers_pdf(
    person: User, *, crew: int, date: dt.date, now: dt.datetime, language: str = ""
) -> bytes | None:
    """Return the load list and every day sheet of a crew's day as one PDF.

    None where the person has no such crew, or the crew nothing on that day.
    """
    found = crew_day(person, crew=crew, date=date, now=now)
    loads = load_list(person, crew=crew, first=date, last=date, language=language)
    if found is None or loads is None or not found.jobs:
        return None
    sheets = _sheets(person, found, now=now, language=language)
    return render_pdf(
        load_list_html(loads, now=now), *(day_sheet_html(sheet, now=now) for sheet in sheets)
    )


def week_paper_pdf(
    person: User, *, crew: Crew, first: dt.date, now: dt.datetime, language: str = ""
) -> bytes:
    """Return a crew's days from one day on for a week as PDF; no price is on it."""
    days = {each.date: each for each in coming_days(person, now=now, crew=crew.pk, first=first)}
    dates = [first + ONE_DAY * count for count in range(DAYS_SHOWN)]
    spoken_in = crew_language(crew, person, asked=language)
    names = {each.job.pk for day in days.values() for each in day.jobs}
    shares = post_shares(names, today=timezone.localdate(now))
    context = {
        "crew": crew,
        "language": spoken_in,
        "days": [
            PaperDay(
                date=date,
                visits=tuple(
                    PaperVisit(sheet=sheet, share=_share(sheet, shares))
                    for sheet in _sheets(person, days[date], now=now, language=language)
                )
                if date in days
                else (),
            )
            for date in dates
        ],
        "first": dates[0],
        "last": dates[-1],
        "printed_at": now,
    }
    with speaking(spoken_in):
        html = render_to_string(WEEK_TEMPLATE, context)
    return render_pdf(html)


def _share(sheet: DaySheet, shares: PostShares) -> PostShare | None:
    """Return the posts that are set on a day, or dug where none are set."""
    if sheet.content is None or not (sheet.pours or sheet.digs):
        return None
    return shares.of_day(
        sheet.job.pk,
        sheet.crew.pk,
        sheet.date,
        kind=JobPhase.Kind.SET if sheet.pours else JobPhase.Kind.DIG,
        posts=sheet.content.post_count,
        bags=sheet.layout.bags if sheet.layout else 0,
    )


def _sheets(
    person: User, day: CrewOnDay, *, now: dt.datetime, language: str
) -> tuple[DaySheet, ...]:
    found = (
        day_sheet_of(
            person,
            crew=day.crew.pk,
            date=day.date,
            job=each.job.pk,
            now=now,
            on_paper=True,
            language=language,
        )
        for each in day.jobs
    )
    return tuple(sheet for sheet in found if sheet is not None)
