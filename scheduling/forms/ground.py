"""What a crew lead enters of the ground: real legs, real marks, and posts that stand elsewhere."""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from django import forms
from django.forms.boundfield import BoundField
from django.http import QueryDict
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from estimating.selectors.grounds import (
    Entries,
    FoundLine,
    Ground,
    GroundLine,
    GroundPost,
    MovedPost,
    NoDigStrip,
    ground_lines,
    work_out_entries,
)
from firm.errors import Refusal
from firm.forms.fields import LengthField, NumberField, PlainTextMixin
from firm.selectors.languages import spoken
from firm.validators import plain_text

SPARE_MARKS = 2
MOST_MARKS = 100
LONGEST_LEG_IN = 120_000.0
WIDEST_MARK_IN = 1200.0
ALONG_THE_LINE_IN = 600_000.0
MARK_PARTS = ("station", "width", "angle", "utility", "hand")
OVERTAKEN = _(
    "Someone else has saved version {number} of this sheet meanwhile. Open the page anew in a "
    "second window and compare; nothing of yours has been saved."
)
NUMBERED_ANEW = _(
    "With these legs the posts are numbered anew. Empty this field, work it out, and enter the "
    "post where it then stands in the list."
)


@dataclass(frozen=True, kw_only=True, slots=True)
class PostRow:
    """A post as the page shows it: with a field where it may be moved."""

    post: GroundPost
    field: BoundField | None


@dataclass(frozen=True, kw_only=True, slots=True)
class LineFields:
    """One line as the page shows it."""

    line: GroundLine
    shown: BoundField
    legs: list[tuple[int, float, BoundField]]
    marks: list[list[BoundField]]
    posts: list[PostRow]
    marks_are_open: bool


class GroundForm(PlainTextMixin, forms.Form):
    """Legs, marks and posts of every line.

    `lines` are those of the newest version, and what is typed is read against them; `shown` the
    lines whose posts the page lists, which differ once longer legs were worked out.
    """

    note = forms.CharField(
        label=_("Note for the office"),
        required=False,
        max_length=300,
        help_text=_("What was found, and who agreed to it."),
    )
    based_on = forms.CharField(required=False, max_length=9, widget=forms.HiddenInput)

    def __init__(
        self,
        data: QueryDict | None = None,
        *,
        ground: Ground,
        lines: Sequence[GroundLine],
        shown: Sequence[GroundLine] | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(data, **kwargs)
        self.ground, self.lines = ground, lines
        self.shown_lines = list(shown or lines)
        self.fields["based_on"].initial = str(ground.version)
        for index, line in enumerate(self.shown_lines):
            self._add_legs(index, line)
            self._add_marks(index, line)
            self._add_posts(index, line)

    def _add_legs(self, index: int, line: GroundLine) -> None:
        for leg, length_in in enumerate(line.legs_in):
            self.fields[f"line{index}_leg{leg}"] = LengthField(
                label=_("Leg {number}").format(number=leg + 1),
                initial=length_in,
                min_in=1 / 16,
                max_in=LONGEST_LEG_IN,
            )

    def _add_marks(self, index: int, line: GroundLine) -> None:
        rows = len(line.marks) + SPARE_MARKS
        if self.data:
            rows = sum(f"line{index}_mark{row}_station" in self.data for row in range(MOST_MARKS))
        for row in range(rows):
            mark = line.marks[row] if row < len(line.marks) else None
            prefix = f"line{index}_mark{row}"
            self.fields |= _mark_fields(prefix, mark)

    def _add_posts(self, index: int, line: GroundLine) -> None:
        shown = forms.CharField(
            widget=forms.HiddenInput,
            required=False,
            initial=json.dumps([[post.number, post.laid_out_in] for post in line.posts]),
        )
        self.fields[f"line{index}_shown"] = shown
        stands = {post.number: post.stands_in for post in line.posts}
        movable = [post.number for post in line.posts if post.is_movable]
        if self.data:
            movable = [
                number for number, _ in self._posted_places(index) if f"post{number}" in self.data
            ]
        for number in movable:
            self.fields[f"post{number}"] = LengthField(
                label=gettext("Post {number} stands at").format(number=number),
                required=False,
                initial=stands.get(number),
                max_in=ALONG_THE_LINE_IN,
            )

    def _posted_places(self, index: int) -> list[tuple[int, float]]:
        """Return number and place of each post that the page listed; nothing for other text."""
        try:
            pairs = json.loads(str(self.data.get(f"line{index}_shown", "[]")))
            places = [(int(number), float(at_in)) for number, at_in in pairs]
        except (ValueError, TypeError, OverflowError, RecursionError):
            return []
        # NaN fails this as well.
        return places if all(0 <= at_in <= ALONG_THE_LINE_IN for _, at_in in places) else []

    def clean(self) -> dict[str, Any]:
        """Refuse what was begun on an older version; ask where a mark crosses the line."""
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("based_on") != str(self.ground.version):
            self.add_error(None, OVERTAKEN.format(number=self.ground.version))
        for index, line in enumerate(self.lines):
            # A mark that stood there is dropped by emptying its station.
            for prefix in self._mark_prefixes(index)[len(line.marks) :]:
                self._check_mark(prefix, cleaned)
        return cleaned

    def _check_mark(self, prefix: str, cleaned: dict[str, Any]) -> None:
        names = [f"{prefix}_{part}" for part in MARK_PARTS]
        if any(name in self.errors for name in names):
            return
        station, width, angle, utility, hand = (cleaned.get(name) for name in names)
        if station is None and (width is not None or angle is not None or utility or hand):
            self.add_error(names[0], _("Where does this mark cross the line?"))

    def _mark_prefixes(self, index: int) -> list[str]:
        ends = "_station"
        return [
            name.removesuffix(ends)
            for name in self.fields
            if name.startswith(f"line{index}_mark") and name.endswith(ends)
        ]

    def entries(self) -> Entries | None:
        """Return what was entered against the newest version; None with the error at its field.

        Posts are read by the list they were entered in: where longer legs number them anew, they
        have to be entered again.
        """
        lines = tuple(
            found
            for index, line in enumerate(self.lines)
            for found in [self._found_line(index, line)]
            if found.leg_lengths_in is not None or found.marks is not None
        )
        try:
            laid_out = ground_lines(
                self.ground, work_out_entries(self.ground, Entries(lines=lines))
            )
        except Refusal as refusal:
            self.add_refusal(refusal)
            return None
        moved = tuple(self._moved(laid_out))
        return None if self.errors else Entries(lines=lines, moved=moved)

    def _found_line(self, index: int, line: GroundLine) -> FoundLine:
        legs = tuple(
            self._length(f"line{index}_leg{leg}", length_in) or length_in
            for leg, length_in in enumerate(line.legs_in)
        )
        marks = tuple(self._marks(index, line))
        return FoundLine(
            line_id=line.line_id,
            leg_lengths_in=legs if legs != line.legs_in else None,
            marks=marks if marks != line.marks else None,
        )

    def _marks(self, index: int, line: GroundLine) -> Iterator[NoDigStrip]:
        for row, prefix in enumerate(self._mark_prefixes(index)):
            old = line.marks[row] if row < len(line.marks) else None
            station_in = self._length(f"{prefix}_station", old.station_in if old else None)
            if station_in is None:
                continue
            angle = self.cleaned_data.get(f"{prefix}_angle")
            mark = NoDigStrip(
                station_in=station_in,
                facility_width_in=self._length(
                    f"{prefix}_width", old.facility_width_in if old else None
                )
                or 0.0,
                crossing_deg=90.0 if angle is None else angle,
                utility=self.cleaned_data.get(f"{prefix}_utility", ""),
                hand_dig=self.cleaned_data.get(f"{prefix}_hand", False),
            )
            yield mark

    def _moved(self, laid_out: Sequence[GroundLine]) -> Iterator[MovedPost]:
        """Yield the posts that are to stand elsewhere than they do now."""
        places = {post.number: (line.line_id, post) for line in laid_out for post in line.posts}
        for index, line in enumerate(self.lines):
            for number, at_in in self._posted_places(index):
                name = f"post{number}"
                if name not in self.fields:
                    continue
                line_id, post = places.get(number, ("", None))
                is_same = post is not None and (line_id, post.laid_out_in) == (line.line_id, at_in)
                typed = self.cleaned_data.get(name)
                if post is None or not is_same:
                    if typed is not None:
                        self.add_error(name, NUMBERED_ANEW)
                    continue
                stands_in = at_in if post.stands_in is None else post.stands_in
                wanted_in = at_in if typed is None else self._length(name, stands_in)
                if wanted_in is not None and wanted_in != stands_in:
                    yield MovedPost(number=number, station_in=wanted_in)

    def _length(self, name: str, initial: float | None) -> float | None:
        """Return a length as typed; one left as it was shown is not read back rounded."""
        field = self.fields[name]
        if initial is not None and not field.has_changed(
            initial, self.data.get(self.add_prefix(name))
        ):
            return initial
        value: float | None = self.cleaned_data.get(name)
        return value

    def add_refusal(self, refusal: Refusal) -> None:
        """Show a refusal at the entry it names, or above the form."""
        kind, _, name = refusal.field.partition(":")
        field = None
        if kind == "post" and f"post{name}" in self.fields:
            field = f"post{name}"
        elif kind == "line":
            ids = [line.line_id for line in self.lines]
            field = f"line{ids.index(name)}_leg0" if name in ids else None
        self.add_error(field, spoken(refusal.message))

    def line_fields(self) -> list[LineFields]:
        """Return the fields of each line, for the page."""
        return [self._fields_of(index, line) for index, line in enumerate(self.shown_lines)]

    def _fields_of(self, index: int, line: GroundLine) -> LineFields:
        marks = [
            [self[f"{prefix}_{part}"] for part in MARK_PARTS]
            for prefix in self._mark_prefixes(index)
        ]
        return LineFields(
            line=line,
            shown=self[f"line{index}_shown"],
            legs=[
                (leg + 1, sold_in, self[f"line{index}_leg{leg}"])
                for leg, sold_in in enumerate(line.sold_legs_in)
            ],
            marks=marks,
            posts=[
                PostRow(
                    post=post,
                    field=self[f"post{post.number}"]
                    if f"post{post.number}" in self.fields
                    else None,
                )
                for post in self._listed_posts(index, line)
            ],
            marks_are_open=bool(line.marks) or any(field.errors for row in marks for field in row),
        )

    def _listed_posts(self, index: int, line: GroundLine) -> list[GroundPost]:
        """Return the posts under the numbers and places that the page listed."""
        if not self.data:
            return list(line.posts)
        known = {post.number: post for post in line.posts}
        return [
            replace(known[number], laid_out_in=at_in)
            if number in known
            else GroundPost(
                number=number, kind="line", laid_out_in=at_in, stands_in=None, is_movable=True
            )
            for number, at_in in self._posted_places(index)
        ]


def _mark_fields(prefix: str, mark: NoDigStrip | None) -> dict[str, forms.Field]:
    return {
        f"{prefix}_station": LengthField(
            label=_("Crosses at"),
            required=False,
            initial=mark.station_in if mark else None,
            max_in=ALONG_THE_LINE_IN,
        ),
        f"{prefix}_width": LengthField(
            label=_("Width of the pipe or cable"),
            required=False,
            is_short=True,
            initial=mark.facility_width_in if mark else None,
            max_in=WIDEST_MARK_IN,
        ),
        f"{prefix}_angle": NumberField(
            label=_("Angle to the line, degrees"),
            required=False,
            initial=mark.crossing_deg if mark else None,
            min_value=0,
            max_value=180,
            widget=forms.TextInput(attrs={"inputmode": "decimal"}),
        ),
        f"{prefix}_utility": forms.CharField(
            label=_("Utility"),
            required=False,
            max_length=120,
            initial=mark.utility if mark else "",
            validators=[plain_text],
        ),
        f"{prefix}_hand": forms.BooleanField(
            label=_("Dug by hand there as agreed"),
            required=False,
            initial=mark.hand_dig if mark else False,
        ),
    }
