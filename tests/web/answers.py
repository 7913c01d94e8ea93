"""Reading what a page answered."""

from django.http import FileResponse, HttpResponse
from django.http.response import HttpResponseBase


def body_of(answer: HttpResponseBase) -> bytes:
    """Return the whole body; a file is closed once it is read to its end.

    Closing it unread would end the request, and PostgreSQL's connection with the test's own
    transaction in it.
    """
    if isinstance(answer, FileResponse):
        return b"".join(answer.streaming_content)  # type: ignore[arg-type]  # read in one thread
    assert isinstance(answer, HttpResponse)
    return answer.content
