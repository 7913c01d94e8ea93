"""The rows of this app."""

from scheduling.models.completion import Completion, PunchItem
from scheduling.models.costs import JobCost
from scheduling.models.crew_days import CrewDay
from scheduling.models.crews import (
    Crew,
    CrewDaysOff,
    CrewMember,
    Machine,
    MemberTimeOff,
    WorkedHoliday,
)
from scheduling.models.feeds import CalendarFeed
from scheduling.models.jobs import FenceJob, JobDates, JobPhase
from scheduling.models.orders import (
    LinePromise,
    MaterialDates,
    OrderLine,
    PurchaseOrder,
    Receipt,
)
from scheduling.models.plan_changes import PlanChange
from scheduling.models.plan_drafts import PlanDraft
from scheduling.models.rain_outs import RainOut, RainOutJob
from scheduling.models.reports import DayReport, HoursWorked, JobPhoto, PostRecord
from scheduling.models.skills import PeopleAsked, Skill, SkillAsked
from scheduling.models.stock import StockMove, YardStock
from scheduling.models.weather import AirTemperature, DryingAir, RainDay

__all__ = [
    "AirTemperature",
    "CalendarFeed",
    "Completion",
    "Crew",
    "CrewDay",
    "CrewDaysOff",
    "CrewMember",
    "DayReport",
    "DryingAir",
    "FenceJob",
    "HoursWorked",
    "JobCost",
    "JobDates",
    "JobPhase",
    "JobPhoto",
    "LinePromise",
    "Machine",
    "MaterialDates",
    "MemberTimeOff",
    "OrderLine",
    "PeopleAsked",
    "PlanChange",
    "PlanDraft",
    "PostRecord",
    "PunchItem",
    "PurchaseOrder",
    "RainDay",
    "RainOut",
    "RainOutJob",
    "Receipt",
    "Skill",
    "SkillAsked",
    "StockMove",
    "WorkedHoliday",
    "YardStock",
]
