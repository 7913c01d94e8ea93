"""Renders HTML by WeasyPrint, whose only importer this is; used through `firm.pdf`."""

from pathlib import Path
from urllib.parse import unquote, urlsplit

from django.conf import settings
from django.contrib.staticfiles import finders
from django.core.exceptions import SuspiciousFileOperation
from weasyprint import HTML
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

from firm.errors import PdfError

PDF_VARIANT = "pdf/ua-1"


# Both ignores: WeasyPrint carries no types.
class _RefusedFetchError(FatalURLFetchingError):  # type: ignore[misc]
    """Passes through WeasyPrint, which swallows every other failed fetch."""


class _ShippedFilesOnly(URLFetcher):  # type: ignore[misc]
    """Hands out data: addresses and the project's static files, and nothing else."""

    def __init__(self) -> None:
        super().__init__(allowed_protocols=("data", "file"), allow_redirects=False)

    def fetch(self, url: str, headers: dict[str, str] | None = None) -> URLFetcherResponse:
        parts = urlsplit(url)
        if parts.scheme == "data":
            return super().fetch(url, headers)
        prefix = f"/{settings.STATIC_URL.strip('/')}/"
        if parts.scheme != "file" or parts.netloc or not parts.path.startswith(prefix):
            raise _RefusedFetchError(f"A PDF may not fetch {url!r}.")
        try:
            found = finders.find(unquote(parts.path.removeprefix(prefix)))
        except SuspiciousFileOperation as escape:
            raise _RefusedFetchError(f"A PDF may not fetch {url!r}.") from escape
        if not found:
            raise _RefusedFetchError(f"There is no static file for {url!r}.")
        response = super().fetch(Path(found).as_uri(), headers)
        if parts.path.endswith(".css"):
            # The fonts a style sheet names are looked for beside its address.
            response.url = url
        return response


def render(*htmls: str, base_url: str) -> bytes:
    fonts = FontConfiguration()
    try:
        documents = [
            HTML(string=html, base_url=base_url, url_fetcher=_ShippedFilesOnly()).render(
                font_config=fonts, pdf_variant=PDF_VARIANT
            )
            for html in htmls
        ]
        pages = [page for document in documents for page in document.pages]
        pdf: bytes | None = documents[0].copy(pages).write_pdf(pdf_variant=PDF_VARIANT)
    except _RefusedFetchError as refusal:
        raise PdfError(str(refusal)) from refusal
    if pdf is None:
        raise PdfError("No PDF came of the HTML.")
    return pdf
