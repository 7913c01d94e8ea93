"""The form of a fence system as its page folds it: parts, and groups of fields in them."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.forms.boundfield import BoundField

from estimating.forms.system_figures import MATERIAL_FIGURES, SECTIONS
from estimating.forms.system_gates import LIMITS
from estimating.forms.system_overlay import value_at
from estimating.selectors.system_words import MATERIALS_OF_POSTS, ROLES, material_limits
from firm.measure.written import how_many

Fields = Sequence[BoundField]


@dataclass(frozen=True, kw_only=True, slots=True)
class Group:
    """Fields of one row: an item, a post; `more` are those asked for less often."""

    title: str
    words: str
    fields: Fields
    more: Fields = ()

    @property
    def is_wrong(self) -> bool:
        """Whether a field of it is refused."""
        return any(field.errors for field in (*self.fields, *self.more))


@dataclass(frozen=True, kw_only=True, slots=True)
class Part:
    """What folds under one heading."""

    key: str
    title: str
    help: str = ""
    words: str = ""
    fields: Fields = ()
    groups: Sequence[Group] = ()
    is_open: bool = False

    @property
    def is_wrong(self) -> bool:
        """Whether a field of it is refused, so that it can't stay folded."""
        return any(field.errors for field in self.fields) or any(
            group.is_wrong for group in self.groups
        )


def parts_of(form: Any) -> Iterator[Part]:
    """Yield the parts of the page in their order."""
    for section in SECTIONS:
        prefix = f"{section.part}-" if section.part else "top-"
        fields = [form[f"{prefix}{figure.name}"] for figure in section.figures]
        if section.part == "gate-slide":
            yield _heavier_posts(form)
            fields += _starting(form, "gate-slide-post-")
        yield Part(
            key=f"system-{section.title.lower().replace(' ', '-')}",
            title=section.title,
            help=section.help,
            fields=fields,
            groups=list(_strengths(form)) if section.part == "wind" else (),
            is_open=section is SECTIONS[0],
        )
    yield _posts(form)
    yield _materials(form)


def _starting(form: Any, start: str) -> list[BoundField]:
    return [form[name] for name in form.fields if name.startswith(start)]


def _item_name(form: Any, row: Mapping[str, Any] | None) -> str:
    item = (row or {}).get("item", "")
    return str(form.names.get(item, item))


def _posts(form: Any) -> Part:
    groups = [
        Group(
            title=title,
            words=_item_name(form, value_at(form.base, ("posts", role))) or "as the end post",
            fields=_starting(form, f"posts-{role}-"),
        )
        for role, title in ROLES.items()
    ]
    return Part(key="system-posts", title="Posts", groups=groups)


def _heavier_posts(form: Any) -> Part:
    rows = value_at(form.base, ("gate", "heavier_posts")) or []
    groups, number = [], 0
    while f"gate-heavier_posts-{number}-key" in form.fields:
        start = f"gate-heavier_posts-{number}-"
        row = rows[number] if number < len(rows) else None
        fields = _starting(form, start)
        groups.append(
            Group(
                title=_item_name(form, (row or {}).get("post")) or "One more post",
                words="",
                fields=[field for field in fields if "-strength-" not in field.name],
                more=[field for field in fields if "-strength-" in field.name],
            )
        )
        number += 1
    return Part(
        key="system-heavier-gate-posts",
        title="Heavier gate posts",
        help="For leaves too wide or too heavy for the usual one: the first that is enough serves.",
        words=how_many(len(rows), "post"),
        groups=groups,
    )


def _strengths(form: Any) -> Iterator[Group]:
    for role, title in ROLES.items():
        kept = value_at(form.base, ("wind", "posts", role, "material"))
        yield Group(
            title=f"Strength: {title.lower()}",
            words=MATERIALS_OF_POSTS.get(kept, "as the end post" if role != "end" else "not known"),
            fields=_starting(form, f"wind-posts-{role}-"),
        )


def _materials(form: Any) -> Part:
    rows = value_at(form.base, ("materials",)) or []
    groups, number = [], 0
    while f"materials-{number}-item" in form.fields:
        start = f"materials-{number}-"
        row = rows[number] if number < len(rows) else None
        more = [f"{start}{figure.name}" for figure in MATERIAL_FIGURES]
        more += [f"{start}{limit[0]}" for limit in LIMITS]
        more += [name for name in (f"{start}drop",) if name in form.fields]
        limits = material_limits(row) if row else ""
        groups.append(
            Group(
                title=_item_name(form, row) or "One more item",
                words=f"only for: {limits}" if limits else "",
                fields=[form[f"{start}{name}"] for name in ("item", "quantity", "driver")],
                more=[form[name] for name in more],
            )
        )
        number += 1
    return Part(
        key="system-material",
        title="Material",
        words=how_many(len(rows), "item"),
        groups=groups,
    )
