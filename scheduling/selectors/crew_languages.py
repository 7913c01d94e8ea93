"""Which language a crew's pages are written in for a person."""

from firm.models import User
from scheduling.models import Crew


def crew_language(crew: Crew, person: User, *, asked: str = "") -> str:
    """Return the language asked for, else the person's own in this crew, else the crew's.

    The crew comes with its members.
    """
    own = (each.language for each in crew.members.all() if each.user_id == person.pk)
    return asked or next((each for each in own if each), crew.language)
