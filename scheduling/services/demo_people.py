"""What the demo firm shows of its people: what one can do, when one is off, and its holidays."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.utils import timezone

from estimating.services.demo import Cast
from firm.selectors.profile import firm_profile
from firm.services.profile import save_profile
from scheduling.models import CrewDay, CrewMember
from scheduling.selectors.holidays import holidays_in
from scheduling.services.holidays import work_on_holidays
from scheduling.services.skills import add_skill, ask_for_skill, set_skills
from scheduling.services.time_off import add_time_off

WRITTEN_DOWN_DAYS_AGO = 2
DAYS_A_WEEK = 7


def show_people(demo: Mapping[str, Any], cast: Cast) -> None:
    """Write down a skill with who has it and what asks for it, time off, and the holidays."""
    at = cast.ago(WRITTEN_DOWN_DAYS_AGO)
    for values in demo["skills"]:
        skill = add_skill(actor=cast.office, name=values["name"], at=at)
        for member in CrewMember.objects.filter(name__in=values["people"]):
            set_skills(actor=cast.office, member=member, skills=[skill], at=at)
        for phase in values["phases"]:
            ask_for_skill(actor=cast.office, skill=skill, phase=phase, family="", at=at)
    for values in demo["time_off"]:
        first = _working_day(timezone.localdate(cast.now) + dt.timedelta(days=values["in_days"]))
        add_time_off(
            actor=cast.office,
            member=CrewMember.objects.get(name=values["person"]),
            values={
                "first_day": first,
                "last_day": first + dt.timedelta(days=values["days"] - 1),
                "reason": values["reason"],
            },
            at=at,
        )
    changes = {"holiday_country": demo["holidays"]["country"]}
    save_profile(actor=cast.owner, changes=changes, at=at)
    _work_where_work_stands(cast, at)


def _working_day(day: dt.date) -> dt.date:
    """Return the day itself, or the Monday after a weekend."""
    ahead = DAYS_A_WEEK - day.weekday()
    return day + dt.timedelta(days=ahead) if ahead <= 2 else day


def _work_where_work_stands(cast: Cast, at: dt.datetime) -> None:
    """Keep the days that jobs have already: on whichever day the demo is loaded they fit."""
    days = set(CrewDay.objects.values_list("date", flat=True))
    for year in sorted({day.year for day in days}):
        known = holidays_in(firm_profile(), [year])
        work_on_holidays(actor=cast.office, year=year, days=sorted(days & known.keys()), at=at)
