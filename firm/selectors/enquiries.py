"""Questions about enquiries."""

from django.db.models import Count, QuerySet

from firm.models import Enquiry

OPEN_STATES = (Enquiry.State.NEW, Enquiry.State.VISIT_BOOKED, Enquiry.State.MEASURED)


def enquiries_in(state: str = "") -> QuerySet[Enquiry]:
    """Return enquiries in a state, or all that are open; those with a visit first."""
    found = Enquiry.objects.select_related("customer", "site")
    return found.filter(state=state) if state else found.filter(state__in=OPEN_STATES)


def enquiry_counts() -> dict[str, int]:
    """Return how many enquiries are in each state."""
    counted = Enquiry.objects.order_by().values_list("state").annotate(Count("pk"))
    return {str(state): number for state, number in counted}
