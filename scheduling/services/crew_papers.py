"""Prints what a crew takes along: all papers of a day in one file, and its week on one sheet."""

import datetime as dt
from dataclasses import dataclass

from django.template.loader import render_to_string

from firm.models import User
from firm.pdf import render_pdf
from firm.selectors.languages import speaking
from scheduling.models import Crew
from scheduling.selectors.crew_languages import crew_language
from scheduling.selectors.day_sheet import DaySheet, day_sheet_of
from scheduling.selectors.days import DAYS_SHOWN, ONE_DAY, CrewOnDay, coming_days, crew_day
from scheduling.selectors.load_list import load_list
from scheduling.services.day_sheet_pdf import day_sheet_html
from scheduling.services.load_list_pdf import load_list_html

WEEK_TEMPLATE = "pdf/crew_week.html"


@dataclass(frozen=True, kw_only=True, slots=True)
class PaperDay:
    """A day of the week's sheet: its jobs in their order, each as its day sheet has it."""

    date: dt.date
    sheets: tuple[DaySheet, ...]


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
    context = {
        "crew": crew,
        "language": spoken_in,
        "days": [
            PaperDay(
                date=date,
                sheets=_sheets(person, days[date], now=now, language=language)
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
