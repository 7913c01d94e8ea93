"""Filters that say a day sheet's posts and bays in plain words, in the language spoken now."""

import datetime as dt
import re
from collections.abc import Iterable, Sequence

from django import template
from django.utils import dateformat, timezone
from django.utils.text import capfirst
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from estimating.selectors.build_sheets import BuildSheet, SheetBay, SheetMark, SheetPost
from estimating.selectors.stored_words import known_sentence, place_words
from firm.measure import written
from firm.measure.said import ENGLISH, Said
from firm.selectors import languages
from firm.selectors.profile import firm_units
from scheduling.models import FenceJob
from scheduling.selectors.hang_parts import HangPart
from scheduling.selectors.sheet_content import TOO_LITTLE_IN, GateCard, SpacerRun

register = template.Library()
# What a plan writes beside what it draws.
PLAN_WORDS = (
    Said("end post"),
    Said("corner post"),
    Said("gate post"),
    Said("pull post"),
    Said("line post"),
    Said("dig by hand"),
    Said("marked utility"),
    Said("standing already"),
    Said("wall"),
    Said("finished face"),
    Said("posts only"),
    Said("old fence to remove"),
    Said("Site plan"),
    Said("electric"),
    Said("gas"),
    Said("sewer"),
    Said("telephone"),
    Said("utility"),
    Said("water"),
)
ABOUT_WORDS = (Said("posts"), Said("post"), Said("gate"), Said("clear"))
_TEXT = re.compile(r"(?<=>)[^<>]+(?=</)")
_ABOUT = re.compile(r"<desc.*?</desc>")
_ABOUT_WORD = re.compile(r"\b(posts|post|gate|clear)\b")
register.filter(languages.spoken)
register.filter(languages.spoken_list)

KIND_WORDS = {
    "line": Said("Line post"),
    "end": Said("End post"),
    "corner": Said("Corner post"),
    "gate": Said("Gate post"),
    "pull": Said("Pull post"),
}
SHORT_KIND_WORDS = {
    "line": Said("Line"),
    "end": Said("End"),
    "corner": Said("Corner"),
    "gate": Said("Gate"),
    "pull": Said("Pull"),
}
ROUTING_WORDS = {
    "line": Said("routed straight through"),
    "end": Said("routed on one face"),
    "corner": Said("routed on two neighbouring faces"),
    "three_way": Said("routed on three faces"),
    "blank": Said("not routed, blank"),
}
SHORT_ROUTING_WORDS = {
    "line": Said("through"),
    "end": Said("one face"),
    "corner": Said("two faces"),
    "three_way": Said("three faces"),
    "blank": Said("blank"),
}
SETTING_WORDS = {
    "wet_set": Said(
        "Fill the hole, push the post into the wet concrete, tap it to height, plumb it "
        "both ways, check it to the string at top and bottom, and again after 10 to 20 minutes."
    ),
    "pour_around": Said("Stand the post to the string, brace it two ways, then pour around it."),
    "dry_pack": Said(
        "Stand the post to the string, brace it, fill in the dry mix, then the water."
    ),
    "tamped": Said(
        "Stand the post to the string, fill in earth or gravel in layers of 6 in, and tamp "
        "each layer hard before the next."
    ),
}
MIX_WORDS = {"standard": Said("standard mix"), "fast": Said("fast mix")}


@register.filter(expects_localtime=True)
def dated(moment: dt.date, form: str) -> str:
    """Return a day in a form of the `date` filter, its parts in the order of the language."""
    said = dateformat.format(moment, _(form))
    # Spanish writes days and months small (Real Academia Española, Ortografía, 2010; from memory);
    # the framework's words for Mexico have capitals.
    return said if (get_language() or ENGLISH).startswith(ENGLISH) else said.lower()


@register.filter
def spoken_choice(words: Sequence[str]) -> str:
    """Return what one may be taken from: 'panels or gates'."""
    return f" {_('or')} ".join(languages.spoken(each) for each in words)


@register.filter
def job_name(job: FenceJob) -> str:
    """Return what people call a job: 'Job 1001'."""
    return languages.spoken(job.said)


@register.filter
def layout_words(layout: BuildSheet) -> str:
    """Return which layout it is: 'layout 2', 'layout as sold'."""
    return _("layout {number}").format(number=layout.version or _("as sold"))


@register.filter
def mix_words(mix: str) -> str:
    """Return a mix as crews call it: 'standard mix'."""
    return languages.spoken(MIX_WORDS.get(mix) or Said("{name} mix", name=mix))


@register.filter
def mark_words(mark: SheetMark) -> str:
    """Return what crosses a line: 'Gas'."""
    return capfirst(languages.spoken(mark.utility or Said("A mark")))


@register.filter
def plan_in_words(svg: str) -> str:
    """Return a plan with its words, and what it says of itself, in the language spoken now."""
    said = {str(word): languages.spoken(word) for word in (*PLAN_WORDS, *ABOUT_WORDS)}
    about = _ABOUT.sub(lambda found: _ABOUT_WORD.sub(lambda one: said[one[0]], found[0]), svg)
    return _TEXT.sub(lambda found: said.get(found[0], found[0]), about)


@register.filter
def lengths(found: Iterable[float]) -> str:
    """Return lengths in a row: '10 in, 12 in'."""
    return ", ".join(written.short_length(each, firm_units()) for each in found)


@register.filter
def widths(found: Iterable[float]) -> str:
    """Return the widths of a gate's leaves: '46 in', '40 in and 60 in'."""
    return f" {_('and')} ".join(written.short_length(each, firm_units()) for each in found)


@register.filter
def gap_words(card: GateCard) -> str:
    """Return the gaps beside a gate's leaves: 'hinge 1 in, latch 1 in'."""
    gate, units = card.gate, firm_units()
    hinge = written.short_length(gate.hinge_gap_in, units)
    if gate.leaves > 1:
        middle = written.short_length(gate.centre_gap_in, units)
        return _("hinge {hinge}, middle {middle}").format(hinge=hinge, middle=middle)
    latch = written.short_length(gate.latch_gap_in, units)
    return _("hinge {hinge}, latch {latch}").format(hinge=hinge, latch=latch)


@register.filter
def post_words(post: SheetPost) -> str:
    """Return a post's kind and which faces take rails: 'Line post, routed straight through'."""
    return _joined(KIND_WORDS, ROUTING_WORDS, post)


@register.filter
def post_words_short(post: SheetPost) -> str:
    """Return the same for a narrow column: 'Line, through'."""
    return _joined(SHORT_KIND_WORDS, SHORT_ROUTING_WORDS, post)


def _joined(kinds: dict[str, Said], routings: dict[str, Said], post: SheetPost) -> str:
    kind = languages.spoken(kinds.get(post.kind, post.kind))
    routing = languages.spoken(routings.get(post.routing, ""))
    return f"{kind}, {routing}" if routing else kind


@register.filter
def post_size(post: SheetPost) -> str:
    """Return a post's size and length: '5 in square, 9-0 long'."""
    units = firm_units()
    width = written.short_length(post.width_in, units)
    length = written.long_length(post.length_in, units)
    words = (
        _("{width} round, {length} long") if post.is_round else _("{width} square, {length} long")
    )
    return words.format(width=width, length=length)


@register.filter
def is_to_cut(post: SheetPost) -> bool:
    """Say whether a post is longer than string and hole need, by more than tapping takes up."""
    return post.spare_in > TOO_LITTLE_IN


@register.filter
def setting_words(setting: str) -> str:
    """Return how posts meet their concrete."""
    return languages.spoken(SETTING_WORDS.get(setting, ""))


@register.filter
def bay_posts(bay: SheetBay) -> str:
    """Return what a bay stands between: '3 to 4', 'wall to 1'."""
    return _between(bay.from_post, bay.to_post)


@register.filter
def bay_bar(parts: Iterable[HangPart], bay: SheetBay) -> str:
    """Return before when a bay does not hang on this day, or nothing of one that is ready."""
    return _bar_words(parts, str(bay.number), is_gates=False)


@register.filter
def gate_bar(parts: Iterable[HangPart], card: GateCard) -> str:
    """Return before when a gate does not hang on this day, or nothing of one that is ready."""
    return _bar_words(parts, card.gate.id, is_gates=True)


def _bar_words(parts: Iterable[HangPart], name: str, *, is_gates: bool) -> str:
    bars = (bar for part in parts if part.is_gates == is_gates for bar in part.bars)
    bar = next((bar for bar in bars if bar.name == name), None)
    if bar is None:
        return ""
    if bar.at is None:
        return _("not yet")
    return _("not before {at}").format(at=dated(timezone.localtime(bar.at), "D M j, H:i"))


@register.filter
def rise_words(bay: SheetBay) -> str:
    """Return how far the fence rises or falls over a bay: 'up 2-1/2 in'."""
    length = written.short_length(abs(bay.rise_in), firm_units())
    if abs(bay.rise_in) <= TOO_LITTLE_IN:
        return _("level, steps") if bay.follows == "stepped" else _("level")
    words = _("up {length}") if bay.rise_in > 0 else _("down {length}")
    return words.format(length=length)


@register.filter
def top_below_words(post: SheetPost) -> str:
    """Return how far a post's top lies under the first: '5 in', '2 in above it'."""
    length = written.short_length(abs(post.top_below_first_in), firm_units())
    is_above = post.top_below_first_in < -TOO_LITTLE_IN
    return _("{length} above it").format(length=length) if is_above else length


@register.filter
def step_words(post: SheetPost) -> str:
    """Return the step at a post as it is met from the line's start: 'drop 5 in'."""
    length = written.short_length(abs(post.step_in), firm_units())
    words = _("rise {length}") if post.step_in > 0 else _("drop {length}")
    return words.format(length=length)


@register.filter
def bottom_words(post: SheetPost) -> str:
    """Return how high the two bays at a step end over the post's ground."""
    units = firm_units()
    before, after = (written.short_length(each, units) for each in post.bottoms_in)
    first, second = post.step_bays
    return _("bottom of bay {first} {before} over the ground here, of bay {second} {after}").format(
        first=first, before=before, second=second, after=after
    )


@register.filter
def stop_spoken(message: str) -> str:
    """Return what a finding says, where its phrase is known; else as the engine wrote it."""
    return languages.spoken(known_sentence(message))


@register.filter
def place_spoken(place: str) -> str:
    """Return the place a finding is about: 'line A, bays 1-4'."""
    return languages.spoken(place_words(place))


@register.filter
def run_posts(run: SpacerRun) -> str:
    """Return what a run of bays stands between: 'posts 1 to 4'."""
    return _("posts {both}").format(both=_between(run.from_post, run.to_post))


def _between(first: int, last: int) -> str:
    return _("{first} to {last}").format(first=first or _("wall"), last=last or _("wall"))


@register.filter
def under_words(key: str) -> str:
    """Return a key of the data as words."""
    return key.replace("_", " ")


@register.filter
def bare(length: str) -> str:
    """Return a length without its unit, for a column whose head names it."""
    return length.removesuffix(" in").removesuffix(" mm").removesuffix(" m")
