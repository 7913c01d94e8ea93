"""Reads customers out of a CSV file as spreadsheets and other programs write it; no database."""

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass

from firm.errors import Refusal

MAX_ROWS = 5000
DELIMITERS = (",", ";", "\t")
UTF_16_MARKS = (b"\xff\xfe", b"\xfe\xff")
SAMPLE = (
    "Name,Company,Phone,Second phone,E-mail,Street,Town,State,ZIP,Source,Notes\r\n"
    "Marla Venn,,555-0142,,marla@example.com,12 Sorrel Lane,Brackwater,OH,45001,Neighbour,"
    "Two dogs\r\n"
    "Tobin Ashgrove,Ashgrove Kennels,555-0178,555-0179,,8 Quarry Road,Brackwater,OH,45001,,\r\n"
)

# What heads a column, written small and without anything but letters and digits.
HEADINGS = {
    "name": "name customer customername client clientname fullname contact contactname who",
    "first_name": "firstname first givenname forename",
    "last_name": "lastname last surname familyname",
    "company": "company companyname business businessname organisation organization",
    "email": "email emailaddress mail emailaddress1 primaryemail",
    "phone": "phone phonenumber telephone tel phone1 homephone mainphone primaryphone",
    "other_phone": "secondphone otherphone phone2 mobile mobilephone cell cellphone workphone",
    "street": "street address address1 streetaddress addressline1 mailingaddress billingaddress",
    "city": "city town",
    "state": "state province region",
    "postcode": "zip zipcode postcode postalcode postal",
    "source": "source heardfrom howheard leadsource referredby",
    "notes": "notes note comment comments remarks",
}
FIELD_OF_HEADING = {
    heading: field for field, headings in HEADINGS.items() for heading in headings.split()
}


@dataclass(frozen=True, kw_only=True, slots=True)
class CsvRow:
    """One row: its line in the file, and its values by field of a customer."""

    line: int
    values: dict[str, str]


@dataclass(frozen=True, kw_only=True, slots=True)
class CsvCustomers:
    """What a file holds: its rows, and the columns nobody knows."""

    rows: tuple[CsvRow, ...]
    columns: tuple[tuple[str, str], ...]
    unknown_columns: tuple[str, ...]


def read_customers(content: bytes) -> CsvCustomers:
    """Return the rows of a file, empty ones left out.

    Raises:
        Refusal: it is no text, has no column of names, or too many rows.
    """
    text = _text(content)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text))
    try:
        headings = next(reader, [])
        fields = [FIELD_OF_HEADING.get(_bare(heading), "") for heading in headings]
        if not {"name", "last_name", "first_name"} & set(fields):
            raise Refusal(
                "The first row must name the columns, and one of them must be Name or Customer.",
                field="file",
            )
        rows = tuple(_rows(reader, fields))
    except csv.Error as error:
        raise Refusal(
            f"Row {reader.line_num} can't be read as CSV: {error}.", field="file"
        ) from error
    if not rows:
        raise Refusal("There is no row below the names of the columns.", field="file")
    named = list(zip(headings, fields, strict=True))
    return CsvCustomers(
        rows=rows,
        columns=tuple((heading.strip(), field) for heading, field in named if field),
        unknown_columns=tuple(
            heading.strip() for heading, field in named if not field and heading.strip()
        ),
    )


def _text(content: bytes) -> str:
    """Decode as UTF-8 or UTF-16 with a mark, else as Windows spreadsheets write in the West."""
    encodings = ("utf-16",) if content.startswith(UTF_16_MARKS) else ("utf-8-sig", "cp1252")
    for encoding in encodings:
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\x00" not in text:
            return text
    raise Refusal(
        "This is no text file. Save the spreadsheet as CSV (UTF-8) and choose that file.",
        field="file",
    )


def _delimiter(text: str) -> str:
    first_line = text.lstrip("\r\n").partition("\n")[0]
    return max(DELIMITERS, key=first_line.count)


def _bare(heading: str) -> str:
    return "".join(letter for letter in heading.casefold() if letter.isalnum())


def _rows(reader: Iterator[list[str]], fields: list[str]) -> Iterator[CsvRow]:
    count = 0
    # A row's number is the one a spreadsheet shows beside it: empty rows count there.
    for line, cells in enumerate(reader, start=2):
        if not any(cell.strip() for cell in cells):
            continue
        count += 1
        if count > MAX_ROWS:
            raise Refusal(
                f"The file has more than {MAX_ROWS:,} rows: split it into several.", field="file"
            )
        yield CsvRow(line=line, values=_values(cells, fields))


def _values(cells: list[str], fields: list[str]) -> dict[str, str]:
    """Return the cells by field; what two columns of one field hold is kept in the first."""
    values: dict[str, str] = {}
    for field, cell in zip(fields, cells, strict=False):
        if field and cell.strip() and field not in values:
            values[field] = cell.strip()
    first, last = values.pop("first_name", ""), values.pop("last_name", "")
    whole = f"{first} {last}".strip()
    if whole:
        values.setdefault("name", whole)
    if "phone" not in values and "other_phone" in values:
        values["phone"] = values.pop("other_phone")
    return values
