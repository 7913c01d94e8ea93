"""The record: who changed what, and when."""

from dataclasses import dataclass
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from firm.access import requires
from firm.models import AuditEntry, Role
from firm.selectors.audit import audit_entries

ENTRIES_PER_PAGE = 50
MAX_SHOWN = 160


@dataclass(frozen=True, kw_only=True, slots=True)
class Change:
    """One field of an entry: what it was and what it became."""

    field: str
    before: str
    after: str


@dataclass(frozen=True, kw_only=True, slots=True)
class ShownEntry:
    """An entry with its changes written out."""

    entry: AuditEntry
    changes: tuple[Change, ...]


@requires(Role.OWNER)
@require_safe
def audit(request: HttpRequest) -> HttpResponse:
    """List the newest changes first; `q` narrows by words, `target` to one row."""
    words = request.GET.get("q", "").replace("\x00", "").strip()[:100]
    target = request.GET.get("target", "").replace("\x00", "")[:120]
    entries = audit_entries(words=words, target=target)
    page = Paginator(entries, ENTRIES_PER_PAGE).get_page(request.GET.get("page"))
    shown = [ShownEntry(entry=entry, changes=_changes(entry)) for entry in page.object_list]
    return render(request, "firm/audit.html", {"page": page, "entries": shown, "words": words})


def _changes(entry: AuditEntry) -> tuple[Change, ...]:
    names = list(dict.fromkeys([*entry.before, *entry.after]))
    changes = (
        Change(
            field=name.replace("_", " "),
            before=_shown(entry.before.get(name)),
            after=_shown(entry.after.get(name)),
        )
        for name in names
    )
    return tuple(change for change in changes if change.before or change.after)


def _shown(value: Any) -> str:
    if value is None or value == "":
        return ""
    text = ("yes" if value else "no") if isinstance(value, bool) else str(value)
    return text if len(text) <= MAX_SHOWN else f"{text[:MAX_SHOWN]} ..."
