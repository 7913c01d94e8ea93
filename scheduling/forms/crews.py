"""Forms for crews, their people, their days off, and machines."""

from decimal import Decimal
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Q

from firm.forms.fields import (
    DateField,
    MoneyField,
    PlainTextMixin,
    WholeNumberField,
    written_numbers,
)
from firm.forms.meanwhile import MeanwhileMixin
from firm.measure.said import LANGUAGES
from firm.models import JobSite, User
from scheduling.models import Crew, CrewMember, Machine, Skill
from scheduling.models.crews import WEEKDAY_NAMES
from scheduling.selectors.skills import all_skills
from scheduling.services.crews import LEADS, MACHINE_TAKEN, NAME_TAKEN

# A row's number never has more: a database counts to 9,223,372,036,854,775,807.
MOST_DIGITS = 18


class TimeField(forms.TimeField):
    """A time of day, picked or typed."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TimeInput(attrs={"type": "time"}, format="%H:%M"))
        super().__init__(**kwargs)


class PersonChoiceField(forms.ModelChoiceField[User]):
    """A log-in, shown by the person's name."""

    def label_from_instance(self, obj: User) -> str:
        """Return the name, and the role beside it."""
        name = obj.get_full_name() or obj.username
        return f"{name} ({obj.get_role_display().lower()})"


class SkillsField(forms.ModelMultipleChoiceField[Skill]):
    """Some skills; a number longer than any row has is no skill, and asks no database."""

    def clean(self, value: Any) -> Any:
        """Return the skills chosen."""
        for one in value or ():
            if len(str(one)) > MOST_DIGITS:
                said = self.error_messages["invalid_choice"]
                raise ValidationError(said, code="invalid_choice", params={"value": one})
        return super().clean(value)


class CrewForm(PlainTextMixin, MeanwhileMixin, forms.ModelForm[Crew]):
    """A crew and its working days."""

    lead = PersonChoiceField(
        queryset=User.objects.none(),
        required=False,
        empty_label="Nobody yet",
        help_text="A log-in with the role crew lead or owner.",
    )
    day_start = TimeField(label="The day begins at")
    weekdays = forms.MultipleChoiceField(
        label="Working days",
        choices=[(str(number), name) for number, name in enumerate(WEEKDAY_NAMES)],
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one working day."},
    )

    class Meta:
        model = Crew
        formfield_callback = written_numbers
        fields = (
            "name",
            "lead",
            "day_start",
            "hours_per_day",
            "language",
            "weekdays",
            "is_active",
        )
        labels: ClassVar = {
            "name": "Name of the crew",
            "hours_per_day": "Hours of a day",
            "language": "Language of its sheets",
            "is_active": "In use",
        }
        help_texts: ClassVar = {
            "hours_per_day": "On site, without the break: 8, or 7.5.",
            "is_active": "A crew that is not in use gets no work and does not show in the week.",
        }
        error_messages: ClassVar = {"name": {"unique": NAME_TAKEN}}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        may_lead = Q(is_active=True, role__in=LEADS) | Q(pk=self.instance.lead_id)
        leads = User.objects.filter(may_lead).order_by("first_name", "username")
        self.fields["lead"].queryset = leads  # type: ignore[attr-defined]
        self.initial["weekdays"] = list(self.instance.weekdays)
        if self.instance.pk:
            self.compare()

    def clean_weekdays(self) -> str:
        """Return the digits of the working days, as they are kept."""
        return "".join(sorted(self.cleaned_data["weekdays"]))


class MemberForm(PlainTextMixin, forms.ModelForm[CrewMember]):
    """A person of a crew; what an hour costs only on the owner's form."""

    user = PersonChoiceField(
        label="Log-in",
        queryset=User.objects.none(),
        required=False,
        empty_label="None",
        help_text="With a log-in, this person sees the crew's days.",
    )
    language = forms.ChoiceField(
        label="Language",
        choices=[("", "As the crew's"), *LANGUAGES],
        required=False,
        help_text="What sheets are written in for this person.",
    )
    hourly_cost = MoneyField(
        label="What an hour costs",
        required=False,
        max_digits=7,
        help_text="With taxes and insurance. Empty: the firm's crew rate. Only the owner sees it.",
    )

    skills = SkillsField(
        label="Can do",
        queryset=Skill.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    class Meta:
        model = CrewMember
        fields = ("name", "user", "language", "hourly_cost", "skills", "is_active")
        labels: ClassVar = {"is_active": "Works in this crew"}

    def __init__(self, *args: Any, sees_cost: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not sees_cost:
            del self.fields["hourly_cost"]
        known = all_skills()
        self.fields["skills"].queryset = known  # type: ignore[attr-defined]
        if not known.exists():
            del self.fields["skills"]
        may_log_in = User.objects.filter(Q(is_active=True) | Q(pk=self.instance.user_id))
        people = may_log_in.order_by("first_name", "username")
        self.fields["user"].queryset = people  # type: ignore[attr-defined]


class DaysOffForm(PlainTextMixin, forms.Form):
    """Days on which a crew does not work."""

    first_day = DateField()
    last_day = DateField(help_text="The same day for a single one.")
    reason = forms.CharField(max_length=120, required=False)


class MachineForm(PlainTextMixin, forms.ModelForm[Machine]):
    """A machine that crews share."""

    dig_method = forms.TypedChoiceField(
        label="Way of digging that needs it",
        required=False,
        empty_value=None,
        choices=[
            ("", "None"),
            *(one for one in JobSite.DigMethod.choices if one[0] != JobSite.DigMethod.HAND),
        ],
        help_text="A site that is dug this way takes the machine for its digging days.",
    )
    owned = WholeNumberField(
        label="How many the firm has",
        min_value=1,
        max_value=50,
        initial=1,
        help_text="So many crews may have one on the same day.",
    )

    day_rate = MoneyField(
        label="A rented day costs",
        required=False,
        max_digits=8,
        help_text="Dollars for one more for a day.",
    )

    class Meta:
        model = Machine
        fields = ("name", "dig_method", "owned", "is_rentable", "day_rate")
        labels: ClassVar = {"is_rentable": "More can be rented by the day"}
        error_messages: ClassVar = {"name": {"unique": MACHINE_TAKEN}}

    def clean_day_rate(self) -> Decimal:
        """Return the rate, nothing where none was typed."""
        return self.cleaned_data["day_rate"] or Decimal(0)
