"""Looking through a file of customers, and taking in its good rows in one go."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from django.core.exceptions import ValidationError
from django.db import transaction

from firm.errors import Refusal
from firm.models import Customer, User
from firm.services.audit import record
from firm.services.customer_csv import CsvCustomers, CsvRow, read_customers
from firm.validators import plain_text


@dataclass(frozen=True, kw_only=True, slots=True)
class PreviewRow:
    """A row and what keeps it from being taken in, if anything does."""

    line: int
    values: dict[str, str]
    messages: tuple[str, ...]

    @property
    def is_good(self) -> bool:
        """Whether the row will be taken in."""
        return not self.messages


@dataclass(frozen=True, kw_only=True, slots=True)
class ImportPreview:
    """A file looked through: every row, and how many are good."""

    rows: tuple[PreviewRow, ...]
    columns: tuple[tuple[str, str], ...]
    unknown_columns: tuple[str, ...]

    @property
    def good_count(self) -> int:
        """How many rows will be taken in."""
        return sum(row.is_good for row in self.rows)

    @property
    def bad_count(self) -> int:
        """How many rows will be left out."""
        return len(self.rows) - self.good_count


def preview_import(content: bytes) -> ImportPreview:
    """Return what an import of this file would do; three queries, nothing written.

    Raises:
        Refusal: the file can't be read.
    """
    return _looked_through(read_customers(content))


@transaction.atomic
def import_customers(
    *, actor: User, content: bytes, file_name: str, at: dt.datetime
) -> list[Customer]:
    """Add the good rows of a file, looked through anew, all in one transaction.

    Raises:
        Refusal: the file can't be read, or no row of it is good.
    """
    preview = preview_import(content)
    good = [Customer(**row.values, created_at=at) for row in preview.rows if row.is_good]
    if not good:
        raise Refusal("No row of this file can be taken in.", field="file")
    added = Customer.objects.bulk_create(good)
    record(
        actor=actor,
        action="imported customers",
        target=actor,
        after={
            "file": file_name,
            "customers": len(added),
            "first": f"customer {added[0].pk}",
            "last": f"customer {added[-1].pk}",
        },
        at=at,
    )
    return added


class _Known:
    """Whom the firm has already, by e-mail and by name with street."""

    def __init__(self) -> None:
        self.emails: dict[str, str] = {}
        self.places: dict[tuple[str, str], str] = {}

    def add(self, values: dict[str, str], where: str) -> None:
        if values.get("email"):
            self.emails.setdefault(values["email"].casefold(), where)
        self.places.setdefault(_place(values), where)

    def message(self, values: dict[str, str]) -> str:
        """Return a sentence where this customer is known, else nothing."""
        by_email = self.emails.get(values.get("email", "").casefold())
        if by_email:
            return f"The e-mail address is {by_email} already."
        by_place = self.places.get(_place(values))
        return f"This name with this street is {by_place} already." if by_place else ""


def _looked_through(file: CsvCustomers) -> ImportPreview:
    known = _Known()
    rows = Customer.objects.order_by().values_list("name", "street", "email")
    for name, street, email in rows.iterator():
        known.add({"name": name, "street": street, "email": email}, "in the list of customers")
    return ImportPreview(
        rows=tuple(_checked(file.rows, known)),
        columns=file.columns,
        unknown_columns=file.unknown_columns,
    )


def _checked(rows: Iterable[CsvRow], known: _Known) -> Iterable[PreviewRow]:
    for row in rows:
        messages = _faults(row.values)
        same = known.message(row.values)
        if same:
            messages.append(same)
        if not messages:
            known.add(row.values, f"in row {row.line}")
        yield PreviewRow(line=row.line, values=row.values, messages=tuple(messages))


def _faults(values: dict[str, str]) -> list[str]:
    if not values.get("name"):
        return ["The name is missing."]
    faults = []
    try:
        Customer(**values).clean_fields(exclude=["created_at"])
    except ValidationError as error:
        for name, sentences in error.message_dict.items():
            label = Customer._meta.get_field(name).verbose_name  # type: ignore[union-attr]
            faults += [f"{str(label).capitalize()}: {sentence}" for sentence in sentences]
    for value in values.values():
        try:
            plain_text(value)
        except ValidationError as error:
            faults += error.messages
    return faults


def _place(values: dict[str, str]) -> tuple[str, str]:
    return (
        " ".join(values.get("name", "").casefold().split()),
        " ".join(values.get("street", "").casefold().split()),
    )
