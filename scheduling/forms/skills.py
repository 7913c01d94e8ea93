"""Forms of the skills page: a new skill, what asks for one, how many people a phase asks for."""

from collections.abc import Mapping
from typing import Any

from django import forms

from firm.forms.fields import PlainTextMixin, WholeNumberField
from scheduling.models import JobPhase, Skill, SkillAsked
from scheduling.models.skills import MOST_PEOPLE
from scheduling.selectors.skills import all_skills, people_asked


class SkillForm(PlainTextMixin, forms.Form):
    """A new skill."""

    name = forms.CharField(max_length=60, help_text="Such as welding, or driving the loader.")


class AskForm(forms.Form):
    """A phase that asks for a skill."""

    phase = forms.ChoiceField(choices=JobPhase.Kind)
    skill = forms.ModelChoiceField(queryset=Skill.objects.none(), label="Asks for")
    family = forms.ChoiceField(
        label="On which fences", required=False, choices=[("", "All"), *SkillAsked.Family.choices]
    )

    def __init__(self, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(data)
        self.fields["skill"].queryset = all_skills()  # type: ignore[attr-defined]


class PeopleForm(forms.Form):
    """How many people each phase asks for."""

    def __init__(self, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(data, prefix="people", initial=dict(people_asked()))
        for kind in JobPhase.Kind:
            self.fields[kind.value] = WholeNumberField(
                label=kind.label, required=False, min_value=1, max_value=MOST_PEOPLE
            )
