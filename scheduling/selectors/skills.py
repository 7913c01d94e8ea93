"""What phases ask of crews, and who can do it."""

from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Prefetch, QuerySet

from scheduling.engine.plan import Phase
from scheduling.mapping import Asks
from scheduling.models import CrewMember, PeopleAsked, Skill, SkillAsked


@dataclass(frozen=True, kw_only=True, slots=True)
class SkillRow:
    """A skill, the people of crews in use who have it, and the phases that ask for it."""

    skill: Skill
    members: list[CrewMember]
    asked_by: list[SkillAsked]

    @property
    def is_missing(self) -> bool:
        """Say whether it is asked for and nobody has it: such a phase can't be planned."""
        return bool(self.asked_by) and not self.members


def asks_of_phases() -> Asks:
    """Return what phases ask of a crew, as plans are judged by it; two queries."""
    rows = SkillAsked.objects.values_list("phase", "family", "skill__name")
    return Asks(
        skills=tuple((Phase(phase), family, name) for phase, family, name in rows),
        people={Phase(phase): count for phase, count in people_asked().items()},
    )


def skill_rows() -> list[SkillRow]:
    """Return the skills by name; three queries however many there are."""
    people = CrewMember.objects.filter(is_active=True, crew__is_active=True)
    members = Prefetch("members", queryset=people.select_related("crew").defer("hourly_cost"))
    asked: dict[int, list[SkillAsked]] = defaultdict(list)
    for row in SkillAsked.objects.all():
        asked[row.skill_id].append(row)
    return [
        SkillRow(skill=skill, members=list(skill.members.all()), asked_by=asked[skill.pk])
        for skill in all_skills().prefetch_related(members)
    ]


def all_skills() -> QuerySet[Skill]:
    """Return the skills by name."""
    return Skill.objects.order_by("name")


def people_asked() -> dict[str, int]:
    """Return how many people each phase asks for, where it asks for more than one."""
    return {row.phase: row.people for row in PeopleAsked.objects.all()}
