"""Questions about jurisdictions."""

from django.db.models import Count, QuerySet

from firm.models import Jurisdiction


def jurisdictions_with_sites() -> QuerySet[Jurisdiction]:
    """Return all jurisdictions with how many sites lie in each."""
    return Jurisdiction.objects.annotate(site_count=Count("sites")).order_by("name")
