"""Questions about customers."""

from django.db.models import Count, Q, QuerySet

from firm.models import Customer


def customers_matching(words: str = "") -> QuerySet[Customer]:
    """Return customers in whom every word is found, with how many sites each has."""
    # Counting drops the order of the table, and pages need one.
    found = Customer.objects.annotate(site_count=Count("sites")).order_by("name", "pk")
    for word in words.split():
        found = found.filter(
            Q(name__icontains=word)
            | Q(company__icontains=word)
            | Q(email__icontains=word)
            | Q(phone__icontains=word)
            | Q(other_phone__icontains=word)
            | Q(street__icontains=word)
            | Q(city__icontains=word)
        )
    return found


def customers_known_by(*, email: str = "", phone: str = "") -> QuerySet[Customer]:
    """Return customers who have this very e-mail address or phone number."""
    same = Q(pk__in=[])
    if email:
        same |= Q(email__iexact=email)
    if phone:
        same |= Q(phone=phone) | Q(other_phone=phone)
    return Customer.objects.filter(same)
