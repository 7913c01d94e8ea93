"""PDFs: tagged, and made of nothing but what the app ships and is handed."""

import io
from typing import Any, cast

import pypdf
import pytest

from firm import pdf

PAGE = (
    "<!doctype html><html lang=en><head><title>Proposal 1001</title></head>"
    "<body><h1>Fence</h1><p>Forty feet.</p>{}</body></html>"
)
# A picture of one pixel, smallest that GIF89a allows.
PIXEL = "data:image/gif;base64,R0lGODlhAQABAIAAAAAAAP///yH5BAEAAAAALAAAAAABAAEAAAIBRAA7"


def read(made: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(made))


def test_pdf_is_tagged_titled_and_says_its_language() -> None:
    made = read(pdf.render_pdf(PAGE.format("")))
    catalog = cast("Any", made.trailer["/Root"])

    # ISO 14289-1 (PDF/UA-1): 7.1 marked content, 7.2 language, 5 the identifier in the metadata.
    assert catalog["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in catalog
    assert catalog["/Lang"] == "en"
    assert b"pdfuaid" in catalog["/Metadata"].get_data()
    assert made.metadata is not None
    assert made.metadata.title == "Proposal 1001"


def test_text_of_the_page_is_in_the_pdf() -> None:
    assert "Forty feet." in read(pdf.render_pdf(PAGE.format(""))).pages[0].extract_text()


def test_picture_handed_over_is_drawn() -> None:
    made = pdf.render_pdf(PAGE.format(f'<img alt="Logo" src="{PIXEL}">'))
    assert len(read(made).pages[0].images) == 1


def test_static_file_is_read() -> None:
    made = pdf.render_pdf(PAGE.format('<img alt="Mark" src="/static/img/mark.svg">'))
    assert made.startswith(b"%PDF-")


@pytest.mark.parametrize(
    "source",
    [
        "http://127.0.0.1:9/logo.png",
        "https://elsewhere.example/logo.png",
        "file:///etc/hostname",
        "/etc/hostname",
        "//elsewhere.example/static/logo.png",
        "/static/../manage.py",
        "/static/%2e%2e/manage.py",
        "/static/img/there-is-none.svg",
        "ftp://elsewhere.example/logo.png",
    ],
)
def test_any_other_source_is_refused(source: str) -> None:
    with pytest.raises(pdf.PdfError):
        pdf.render_pdf(PAGE.format(f'<img alt="" src="{source}">'))


def test_source_inside_a_stylesheet_is_refused_too() -> None:
    style = "<style>body { background: url(https://elsewhere.example/paper.png) }</style>"
    with pytest.raises(pdf.PdfError, match="may not fetch"):
        pdf.render_pdf(PAGE.format(style))
