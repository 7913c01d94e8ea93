"""The form that makes a calendar feed."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _

from firm.models import Role, User
from scheduling.selectors.reach import crews_within_reach


class FeedForm(forms.Form):
    """Whose days the feed shows; the whole firm only for those who see all of it."""

    def __init__(self, *args: Any, person: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        is_lead = person.role == Role.CREW_LEAD
        self.fields["crew"] = forms.ModelChoiceField(
            queryset=crews_within_reach(person).filter(is_active=True).order_by("name"),
            label=_("Crew"),
            required=is_lead,
            empty_label=None if is_lead else _("All crews"),
            help_text=_("Whoever has the address sees these days, without a log-in."),
        )
