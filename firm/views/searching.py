"""What search boxes on lists share: the words asked for, and whether only rows are wanted."""

from django.http import HttpRequest

MAX_WORDS_LENGTH = 100


def words_of(request: HttpRequest) -> str:
    """Return what was typed into the search box, cut to what a database will look for."""
    return request.GET.get("q", "").replace("\x00", "").strip()[:MAX_WORDS_LENGTH]


def is_part_of_page(request: HttpRequest) -> bool:
    """Return whether htmx asks for the rows alone; going back in history wants the whole page."""
    headers = request.headers
    return headers.get("HX-Request") == "true" and "HX-History-Restore-Request" not in headers
