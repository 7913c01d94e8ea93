"""The firm's profile as a form in sections: for the first run and for the settings."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError

from firm.forms.fields import (
    LengthField,
    MoneyField,
    NumberField,
    PercentField,
    PlainTextMixin,
    written_numbers,
)
from firm.forms.logo import LogoField
from firm.forms.profile_sections import SECTIONS, Section
from firm.forms.quantities import PlaceField, SpeedField
from firm.measure.written import METRIC
from firm.models import FirmProfile
from firm.public_holidays import countries, state_code, state_codes
from firm.selectors.profile import firm_units

STATE_TEXT_HELP = "Printed word for word. Your state prescribes the words: have them checked."
START_TERMS = (
    "The customer shows the property line and answers for where it runs. Public utilities are "
    "located before digging; private lines such as sprinklers, lighting and drains are marked by "
    "the customer. Material stays the firm's until it is paid for. Changes are agreed in writing "
    "before they are built."
)
START_CANCELLATION = (
    "You may cancel this agreement without cost by writing to us before midnight of the third "
    "business day after you accept it."
)
START_WARRANTY = (
    "We repair faults of our own workmanship at no charge for one year from completion. Wood and "
    "soil move with the seasons; storm, impact and changes by others are not covered."
)


@dataclass(frozen=True, kw_only=True, slots=True)
class ShownField:
    """A field and whether it takes the whole width."""

    field: forms.BoundField
    is_wide: bool


def _countries() -> list[tuple[str, str]]:
    return [("", "No holidays"), *countries()]


class ProfileForm(PlainTextMixin, forms.ModelForm[FirmProfile]):
    """Everything an owner settles about the firm."""

    logo = LogoField(
        required=False, help_text="PNG or JPEG, up to 2 MB. It is printed on proposals."
    )
    remove_logo = forms.BooleanField(label="Print no logo any more", required=False)
    wage_rate = MoneyField(label="Average wage", help_text="Dollars an hour, before burden.")
    burden_pct = PercentField(
        label="Burden on wages", help_text="Payroll tax, insurance, paid time off, in per cent."
    )
    crew_rate = MoneyField(
        label="Crew rate",
        min_value=Decimal("0.01"),
        help_text="Dollars for one person's hour with everything it costs. The office sees this.",
    )
    overhead_rate = MoneyField(
        label="Overhead", help_text="Dollars, or per cent, in the way chosen beside this."
    )
    target_margin_pct = PercentField(
        label="Target margin", help_text="Profit in per cent of the price before tax."
    )
    commission_pct = PercentField(label="Commission", help_text="Per cent of the price before tax.")
    minimum_charge = MoneyField(label="Smallest charge", help_text="No job is priced below this.")
    travel_per_trip = MoneyField(label="Travel", help_text="Dollars for each trip to a site.")
    ticket_fee = MoneyField(label="Locate ticket fee", help_text="Dollars, 0 where it is free.")
    rock_hole_price = MoneyField(
        label="Rock", help_text="Dollars added for a hole in rock, named on proposals."
    )
    goods_margin_pct = PercentField(
        label="Margin on goods", help_text="Per cent of the price, before any overhead."
    )
    goods_delivery_charge = MoneyField(
        label="Delivery", help_text="Dollars the customer pays for one load."
    )
    goods_sales_tax_pct = PercentField(
        label="Sales tax on goods",
        decimal_places=4,
        required=False,
        help_text="Per cent. Empty until your accountant has named it.",
    )
    sales_tax_pct = PercentField(label="Sales tax rate", decimal_places=4, help_text="Per cent.")
    purchase_tax_pct = PercentField(
        label="Tax paid when buying", decimal_places=4, help_text="Per cent of material cost."
    )
    hole_floor_in = LengthField(
        label="Shallowest hole",
        min_in=6,
        max_in=120,
        is_short=True,
        help_text="Such as 30 in or 2 ft 6 in.",
        metric_help_text="Such as 75 cm or 0.75 m.",
    )
    concrete_waste_pct = PercentField(label="Concrete waste", help_text="Per cent.")
    saw_kerf_in = LengthField(
        label="A saw cut takes",
        max_in=1,
        is_short=True,
        help_text="The width of the blade, such as 1/8 in.",
        metric_help_text="The width of the blade, such as 3 mm.",
    )
    keep_offcut_in = LengthField(
        label="Offcuts are kept from",
        max_in=240,
        is_short=True,
        help_text="Shorter ones are scrap. Such as 2 ft.",
        metric_help_text="Shorter ones are scrap. Such as 60 cm.",
    )
    gate_move_limit_in = LengthField(
        label="A gate may move by",
        max_in=120,
        is_short=True,
        help_text="Such as 3 in.",
        metric_help_text="Such as 75 mm.",
    )
    end_move_limit_in = LengthField(
        label="An end or a set-back may change by",
        max_in=120,
        is_short=True,
        help_text="Such as 6 in.",
        metric_help_text="Such as 150 mm.",
    )
    holiday_country = forms.ChoiceField(label="Holidays of", required=False, choices=_countries)
    holiday_state = forms.CharField(
        label="State or province",
        required=False,
        max_length=60,
        help_text="Such as OH or Ohio, ON or Ontario. Empty for those of the whole country.",
    )
    yard = PlaceField(label="The yard on the map")
    road_factor = NumberField(
        label="Roads are longer by",
        min_value=1,
        max_value=3,
        help_text="1.3 where roads take 13 miles for 10 in a straight line. Common practice.",
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
    )
    road_speed_mph = SpeedField(
        label="A truck drives", least=5, most=80, help_text="On the whole way, towns and all."
    )
    deposit_pct = PercentField(label="Deposit", help_text="Per cent of the price.")
    deposit_cap_pct = PercentField(
        label="State's cap on deposits",
        required=False,
        help_text="Per cent of the price. Empty where your state sets none.",
    )
    deposit_cap_amount = MoneyField(
        label="State's cap in dollars",
        required=False,
        help_text="The smaller of the two caps counts.",
    )

    class Meta:
        model = FirmProfile
        formfield_callback = written_numbers
        fields = tuple(
            name
            for section in SECTIONS
            for name in section.names
            if name not in {"remove_logo", "yard"}
        )
        labels: ClassVar = {
            "name": "Name of the firm",
            "licence": "Licence number",
            "email": "E-mail",
            "units": "Lengths are typed in",
            "crew_size": "People in a crew",
            "hours_per_day": "Hours in a working day",
            "overhead_method": "Overhead is",
            "sales_tax_base": "Sales tax is handled this way",
            "concrete_way": "Concrete comes as",
            "next_estimate_number": "Next estimate number",
            "next_invoice_number": "Next invoice number",
            "next_order_number": "Next purchase order number",
            "valid_days": "A proposal holds for (days)",
            "cancellation_business_days": "Cancellation time (business days)",
            "terms": "Terms",
            "licence_text": "Licence text",
            "cancellation_text": "Cancellation text",
            "lien_text": "Lien text",
            "warranty_text": "Warranty text",
        }
        help_texts: ClassVar = {
            "licence_text": STATE_TEXT_HELP,
            "concrete_way": "Each estimate compares them all.",
            "cancellation_text": STATE_TEXT_HELP,
            "lien_text": STATE_TEXT_HELP,
            "cancellation_business_days": "Nothing is ordered or dug before this has passed.",
        }
        widgets: ClassVar = {
            "phone": forms.TextInput(attrs={"type": "tel", "autocomplete": "tel"}),
            "name": forms.TextInput(attrs={"autocomplete": "organization"}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial["yard"] = self.instance.yard
        if firm_units() == METRIC:
            roads = self.fields["road_factor"]
            roads.help_text = str(roads.help_text).replace(" miles", " km")
        if not self.instance.logo:
            del self.fields["remove_logo"]
        for name in ("next_estimate_number", "next_invoice_number", "next_order_number"):
            field = self.fields[name]
            # Compared with what the page showed: numbers given out meanwhile are no change.
            field.show_hidden_initial = bool(self.instance.name)
            field.min_value = 1  # type: ignore[attr-defined]
        for name in ("terms", "licence_text", "cancellation_text", "lien_text", "warranty_text"):
            self.fields[name].max_length = 6000  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any] | None:
        """Refuse combinations that make no sense together."""
        cleaned = super().clean()
        values = self.cleaned_data
        base = values.get("sales_tax_base")
        if base not in {None, FirmProfile.SalesTaxBase.NONE} and values.get("sales_tax_pct") == 0:
            self.add_error(
                "sales_tax_pct", ValidationError("Type the rate, or charge no sales tax.")
            )
        self._clean_holiday_state()
        wage, burden = values.get("wage_rate"), values.get("burden_pct")
        rate = values.get("crew_rate")
        if wage is not None and burden is not None and rate is not None:
            cost = wage * (1 + burden / 100)
            if rate < cost:
                self.add_error(
                    "crew_rate",
                    ValidationError(
                        f"Wage and burden alone come to {cost:.2f} an hour; the rate is below it."
                    ),
                )
        return cleaned

    def _clean_holiday_state(self) -> None:
        """Keep a state by its code; refuse one that the country does not have."""
        country, said = (
            self.cleaned_data.get(f"holiday_{key}", "") for key in ("country", "state")
        )
        if not said or "holiday_country" in self.errors:
            return
        if not country:
            self.add_error("holiday_state", ValidationError("Choose the country first."))
            return
        code = state_code(country, said)
        if code is None:
            known = state_codes(country)
            hint = f"Known are {', '.join(known)}." if known else "Leave it empty there."
            why = f"'{said}' has no holidays of its own in that country. {hint}"
            self.add_error("holiday_state", ValidationError(why))
        else:
            self.cleaned_data["holiday_state"] = code

    def values(self) -> dict[str, Any]:
        """Return all fields, for the service that sets the firm up."""
        return _with_yard(dict(self.cleaned_data))

    def changes(self) -> dict[str, Any]:
        """Return the fields that were changed, for the service."""
        values = {name: self.cleaned_data[name] for name in self.changed_data}
        if values.pop("remove_logo", False):
            values.setdefault("logo", "")
        return _with_yard(values)

    def sections(self) -> Iterator[tuple[Section, list[ShownField]]]:
        """Yield each section with its bound fields, for the template."""
        for section in SECTIONS:
            yield (
                section,
                [
                    ShownField(field=self[name], is_wide=name in section.wide)
                    for name in section.names
                    if name in self.fields
                ],
            )


def _with_yard(values: dict[str, Any]) -> dict[str, Any]:
    """Return values with the yard's two figures in their own columns."""
    if "yard" in values:
        values["yard_latitude"], values["yard_longitude"] = values.pop("yard")
    return values


def first_run_initial() -> dict[str, Any]:
    """Return the words a new firm starts from; it changes them before they are printed."""
    return {
        # What the starter's fence systems are made for: 24 in is enough for low chain link.
        "hole_floor_in": 24.0,
        "terms": START_TERMS,
        "cancellation_text": START_CANCELLATION,
        "warranty_text": START_WARRANTY,
    }
