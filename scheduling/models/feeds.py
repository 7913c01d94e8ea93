"""Calendar feeds: addresses at which a calendar elsewhere reads the crews' days."""

import hashlib

from django.db import models

from firm.models import User
from scheduling.models.crews import Crew


class CalendarFeed(models.Model):
    """An address nobody can guess; without a crew it shows the whole firm.

    The token itself is shown once and not kept: only what it hashes to, and its first
    characters, by which people tell one feed from another.
    """

    crew = models.ForeignKey(
        Crew, on_delete=models.CASCADE, null=True, blank=True, related_name="feeds"
    )
    token_sha256 = models.CharField(max_length=64, unique=True)
    token_start = models.CharField(max_length=8)
    made_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, blank=True)
    made_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_read_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("-made_at", "-pk")
        constraints = (
            models.CheckConstraint(
                condition=models.Q(revoked_at__isnull=True)
                | models.Q(revoked_at__gte=models.F("made_at")),
                name="feed_revoked_after_it_was_made",
            ),
        )

    def __str__(self) -> str:
        return f"Calendar feed {self.token_start}"

    @staticmethod
    def digest_of(token: str) -> str:
        """Return what is kept of a token: it is random and long, so one plain hash will do."""
        return hashlib.sha256(token.encode()).hexdigest()
