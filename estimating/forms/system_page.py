"""The form of a fence system as its page folds it: parts, and groups of fields in them."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.forms.boundfield import BoundField

from estimating.forms.system_figures import SECTIONS
from estimating.forms.system_overlay import value_at
from estimating.selectors.system_words import MATERIALS_OF_POSTS, ROLES, material_limits
from firm.measure.written import how_many

Fields = Sequence[BoundField]
# What of an item, and of a post, stands together; the rest stands first.
OF_MATERIALS = {
    "Its measures": ("usable_ft", "extra_ft", "width_in", "overlap_in", "gap_in"),
    "How it is cut": ("cut", "piece_in", "other_lengths", "kerf_in", "offcut_serves"),
    "Where it counts": ("roles", "leaves", "uses", "kinds", "gate_posts", "infill", "hung"),
    "As a stiffener": ("reach", "section_in2", "stiffens"),
    "": ("drop",),
}
OF_POSTS = {
    "In the ground": ("setting", "displaces"),
    "How strong it is": ("strength",),
    "": ("drop",),
}


def _is_wrong(field: BoundField) -> bool:
    return field.name in field.form.errors


@dataclass(frozen=True, kw_only=True, slots=True)
class FieldSet:
    """Fields of a row that are about one thing."""

    title: str
    fields: list[BoundField]


@dataclass(frozen=True, kw_only=True, slots=True)
class Group:
    """Fields of one row: an item, a post."""

    title: str
    words: str
    sets: Sequence[FieldSet]

    @property
    def is_wrong(self) -> bool:
        """Whether a field of it is refused."""
        return any(_is_wrong(field) for one in self.sets for field in one.fields)


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
        return any(_is_wrong(field) for field in self.fields) or any(
            group.is_wrong for group in self.groups
        )


def parts_of(form: Any) -> Iterator[Part]:
    """Yield the parts of the page in their order."""
    for section in SECTIONS:
        prefix = f"{section.part}-" if section.part else "top-"
        fields = [form[f"{prefix}{figure.name}"] for figure in section.figures]
        if section.part == "gate-slide":
            yield _heavier_posts(form)
        yield Part(
            key=f"system-{section.title.lower().replace(' ', '-')}",
            title=section.title,
            help=section.help,
            fields=fields,
            groups=list(GROUPS_OF[section.part](form)) if section.part in GROUPS_OF else (),
            is_open=section is SECTIONS[0],
        )
    yield _posts(form)
    yield _materials(form)


def _starting(form: Any, start: str) -> list[BoundField]:
    return [form[name] for name in form.fields if name.startswith(start)]


def _sets(form: Any, start: str, by_title: Mapping[str, Sequence[str]]) -> list[FieldSet]:
    """Return the fields of a row as they stand together, less the sets without any."""
    first = FieldSet(title="", fields=[])
    sets = {title: FieldSet(title=title, fields=[]) for title in by_title}
    set_of = {name: sets[title] for title, names in by_title.items() for name in names}
    for field in _starting(form, start):
        set_of.get(_name_in_row(field, start), first).fields.append(field)
    for title, names in by_title.items():
        sets[title].fields.sort(key=lambda field: names.index(_name_in_row(field, start)))
    return [each for each in (first, *sets.values()) if each.fields]


def _name_in_row(field: BoundField, start: str) -> str:
    return field.name.removeprefix(f"{start}post-").removeprefix(start).partition("-")[0]


def _item_name(form: Any, row: Mapping[str, Any] | None) -> str:
    item = (row or {}).get("item", "")
    return str(form.names.get(item, item))


def _posts(form: Any) -> Part:
    groups = [
        Group(
            title=title,
            words=_item_name(form, value_at(form.base, ("posts", role))) or "as the end post",
            sets=_sets(form, f"posts-{role}-", OF_POSTS),
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
        groups.append(
            Group(
                title=_item_name(form, (row or {}).get("post")) or "One more post",
                words="",
                sets=_sets(form, start, OF_POSTS),
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
            sets=_sets(form, f"wind-posts-{role}-", {}),
        )


def _slide_post(form: Any) -> Iterator[Group]:
    kept = value_at(form.base, ("gate", "slide", "post"))
    yield Group(
        title="The posts of its rollers",
        words=_item_name(form, kept),
        sets=_sets(form, "gate-slide-post-", OF_POSTS),
    )


GROUPS_OF = {"wind": _strengths, "gate-slide": _slide_post}


def _materials(form: Any) -> Part:
    rows = value_at(form.base, ("materials",)) or []
    groups, number = [], 0
    while f"materials-{number}-item" in form.fields:
        start = f"materials-{number}-"
        row = rows[number] if number < len(rows) else None
        limits = material_limits(row) if row else ""
        groups.append(
            Group(
                title=_item_name(form, row) or "One more item",
                words=f"only for: {limits}" if limits else "",
                sets=_sets(form, start, OF_MATERIALS),
            )
        )
        number += 1
    return Part(
        key="system-material",
        title="Material",
        words=how_many(len(rows), "item"),
        groups=groups,
    )
