"""Which language a crew's pages are written in for a person.

One rule: what was asked for, else the person's own in the crew, else the crew's. The office reads
English, but for a crew's sheets.
"""

from django.db.models import F, Q

from firm.measure.said import ENGLISH
from firm.models import User
from scheduling.models import Crew


def crew_language(crew: Crew, person: User, *, asked: str = "") -> str:
    """Return the language asked for, else the person's own in this crew, else the crew's.

    The crew comes with its members.
    """
    own = (each.language for each in crew.members.all() if each.user_id == person.pk)
    return asked or next((each for each in own if each), crew.language)


def language_of(person: User, *, crew: int | None = None, asked: str = "") -> str:
    """Return the same for a crew lead's page: of the crew it is about, else of any of theirs."""
    return asked or kept_language_of(person, crew=crew) or ENGLISH


def kept_language_of(person: User, *, crew: int | None = None) -> str:
    """Return the language that a person's crews keep for them, or nothing without a crew.

    Of several crews the first by name counts that the person has a language of their own in.
    """
    mine = Q(members__user=person)
    rows = list(
        Crew.objects.filter(Q(lead=person) | (mine & Q(members__is_active=True)))
        .order_by("name", "pk")
        .values_list("pk", "language", F("members__user"), F("members__language"))
    )
    about = [row for row in rows if row[0] == crew] or rows
    own = (language for _, _, user, language in about if user == person.pk and language)
    return next(own, about[0][1] if about else "")
