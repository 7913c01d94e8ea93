"""Questions about the people of the firm."""

from django.db.models import QuerySet

from firm.models import Role, User


def needs_first_run() -> bool:
    """Return whether nobody owns this installation yet."""
    return not User.objects.filter(role=Role.OWNER).exists()


def everyone() -> QuerySet[User]:
    """Return all people, those who may log in first."""
    return User.objects.order_by("-is_active", "first_name", "last_name", "username")
