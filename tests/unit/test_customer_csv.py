"""Customers read out of CSV files as other programs write them."""

import pytest

from firm.errors import Refusal
from firm.services.customer_csv import MAX_ROWS, SAMPLE, read_customers


def one_row(content: bytes) -> dict[str, str]:
    (row,) = read_customers(content).rows
    return row.values


def test_columns_are_found_by_the_names_people_give_them() -> None:
    content = (
        b"Customer,E-mail,Telephone,Address,Town,Zip Code\n"
        b"Marla Venn,m@example.com,555,1 A St,B,4\n"
    )
    assert one_row(content) == {
        "name": "Marla Venn",
        "email": "m@example.com",
        "phone": "555",
        "street": "1 A St",
        "city": "B",
        "postcode": "4",
    }


def test_first_and_last_name_become_one() -> None:
    assert one_row(b"Last Name,First Name\nVenn,Marla\n") == {"name": "Marla Venn"}


def test_mobile_is_the_phone_where_there_is_no_other() -> None:
    assert one_row(b"Name,Mobile,Phone\nA,555,\n") == {"name": "A", "phone": "555"}
    assert one_row(b"Name,Mobile,Phone\nA,555,666\n") == {
        "name": "A",
        "phone": "666",
        "other_phone": "555",
    }


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_delimiter_is_seen_from_the_first_row(delimiter: str) -> None:
    content = delimiter.join(("Name", "City")) + "\n" + delimiter.join(("Ann", '"Lee, B; C"'))
    assert one_row(content.encode()) == {"name": "Ann", "city": "Lee, B; C"}


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
def test_accents_survive_every_encoding_spreadsheets_write(encoding: str) -> None:
    assert one_row("Name\r\nRené Köhl\r\n".encode(encoding)) == {"name": "René Köhl"}


def test_unknown_columns_are_named_and_left_out() -> None:
    read = read_customers(b"Name,Shoe size,Balance\nAnn,9,100\n")
    assert read.unknown_columns == ("Shoe size", "Balance")
    assert read.rows[0].values == {"name": "Ann"}


def test_formula_stays_the_text_it_is() -> None:
    assert one_row(b'Name,Notes\nAnn,"=HYPERLINK(""x"")"\n')["notes"] == '=HYPERLINK("x")'


def test_rows_keep_the_number_they_have_in_the_file_and_empty_ones_are_left_out() -> None:
    read = read_customers(b"Name,Phone\nAnn,1\n,,\n\nBen,2\n,3\n")
    assert [row.values.get("name") for row in read.rows] == ["Ann", "Ben", None]
    assert [row.line for row in read.rows] == [2, 5, 6]


def test_line_break_inside_a_cell_is_kept() -> None:
    assert one_row(b'Name,Notes\nAnn,"two\nlines"\n')["notes"] == "two\nlines"


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "first row must name the columns"),
        (b"Phone,Town\n1,2\n", "first row must name the columns"),
        (b"Name\n", "no row below"),
        (b"PK\x03\x04\x00\x00", "no text file"),
        (b"Name\nA\x81\x00\n", "no text file"),
        (b"Name\n" + b"A\n" * (MAX_ROWS + 1), "more than 5,000 rows"),
        (b'Name\n"' + b"x" * 140_000 + b'"\n', "can't be read as CSV"),
    ],
    ids=["empty", "no names", "no rows", "a zip", "bytes", "too many", "a huge cell"],
)
def test_file_that_can_not_be_taken_is_refused_in_words(content: bytes, words: str) -> None:
    with pytest.raises(Refusal, match=words) as refused:
        read_customers(content)
    assert refused.value.field == "file"


def test_most_rows_that_are_taken() -> None:
    assert len(read_customers(b"Name\n" + b"A\n" * MAX_ROWS).rows) == MAX_ROWS


def test_sample_file_is_understood_whole() -> None:
    read = read_customers(SAMPLE.encode("utf-8-sig"))
    assert read.unknown_columns == ()
    assert [row.values["name"] for row in read.rows] == ["Marla Venn", "Tobin Ashgrove"]
    assert read.rows[1].values["other_phone"] == "555-0179"
