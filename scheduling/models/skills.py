"""What people can do, and what phases ask of a crew: skills, and how many must be there."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models.functions import Lower

from scheduling.models.jobs import JobPhase

MOST_PEOPLE = 20


class Skill(models.Model):
    """Something that not everybody can do, or may: welding, driving the loader."""

    name = models.CharField(max_length=60)

    class Meta:
        ordering = ("name",)
        constraints = (models.UniqueConstraint(Lower("name"), name="skill_once_for_the_firm"),)

    def __str__(self) -> str:
        return self.name


class SkillAsked(models.Model):
    """A phase that asks for a skill, on every fence or on those of one family."""

    class Family(models.TextChoices):
        PANEL = "panel", "Bays between posts: boards, panels, rails"
        FABRIC = "fabric", "Stretched fabric: chain link, wire"

    phase = models.CharField(max_length=8, choices=JobPhase.Kind)
    family = models.CharField(max_length=6, choices=Family, blank=True)
    skill = models.ForeignKey(Skill, on_delete=models.CASCADE, related_name="asked_by")

    class Meta:
        ordering = ("skill__name", "phase", "family")
        constraints = (
            models.UniqueConstraint(
                fields=["phase", "family", "skill"], name="skill_asked_once_of_a_phase"
            ),
            models.CheckConstraint(
                condition=models.Q(family__in=["", "panel", "fabric"]),
                name="skill_asked_of_a_known_family",
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_phase_display()}: {self.skill}"


class PeopleAsked(models.Model):
    """How many people of a crew must be there for a phase; without a row one is enough."""

    phase = models.CharField(max_length=8, choices=JobPhase.Kind, unique=True)
    people = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(2), MaxValueValidator(MOST_PEOPLE)]
    )

    class Meta:
        ordering = ("phase",)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(people__range=(2, MOST_PEOPLE)),
                name="people_asked_from_2_to_20",
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_phase_display()}: {self.people} people"
