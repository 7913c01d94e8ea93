"""Turns HTML into tagged PDF."""

from firm.errors import PdfError

__all__ = ["BASE_URL", "PdfError", "render_pdf"]

# Addresses in the HTML are read against this; the fetcher maps /static/ to the files.
BASE_URL = "file:///"


def render_pdf(*htmls: str, base_url: str = BASE_URL) -> bytes:
    """Return documents as one tagged PDF (PDF/UA-1), each from a new page and with its own count.

    The first one's title and language are the file's.

    The only files read are data: addresses and static files, written as on any page:
    `/static/...`. An uploaded picture goes in as a data: address.

    Raises:
        PdfError: the HTML names any other file or address, or one that does not exist.
    """
    # Loading WeasyPrint takes a second, which every start and every command would wait for.
    from firm.pdf_engine import render

    return render(*htmls, base_url=base_url)
