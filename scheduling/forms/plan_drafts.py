"""How long a plan may be looked for."""

from django import forms

from scheduling.services.plan_drafts import SECONDS


class PlanForm(forms.Form):
    """The time for a plan: more of it is never worse."""

    seconds = forms.TypedChoiceField(
        label="Look for",
        coerce=int,
        choices=[(each, f"up to {each} seconds") for each in SECONDS],
        initial=SECONDS[0],
    )
