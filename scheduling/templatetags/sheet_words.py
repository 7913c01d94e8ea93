"""Filters that say a day sheet's posts and bays in plain words."""

from django import template

from estimating.selectors.build_sheets import SheetBay, SheetPost
from firm.measure import written
from firm.selectors.profile import firm_units
from scheduling.selectors.sheet_content import TOO_LITTLE_IN, SpacerRun

register = template.Library()

KIND_WORDS = {
    "line": "Line post",
    "end": "End post",
    "corner": "Corner post",
    "gate": "Gate post",
    "pull": "Pull post",
}
ROUTING_WORDS = {
    "line": "routed straight through",
    "end": "routed on one face",
    "corner": "routed on two neighbouring faces",
    "three_way": "routed on three faces",
    "blank": "not routed, blank",
}
SHORT_KIND_WORDS = {kind: words.removesuffix(" post") for kind, words in KIND_WORDS.items()}
SHORT_ROUTING_WORDS = {
    "line": "through",
    "end": "one face",
    "corner": "two faces",
    "three_way": "three faces",
    "blank": "blank",
}
SETTING_WORDS = {
    "wet_set": "Fill the hole, push the post into the wet concrete, tap it to height, plumb it "
    "both ways, check it to the string at top and bottom, and again after 10 to 20 minutes.",
    "pour_around": "Stand the post to the string, brace it two ways, then pour around it.",
    "dry_pack": "Stand the post to the string, brace it, fill in the dry mix, then the water.",
    "tamped": "Stand the post to the string, fill in earth or gravel in layers of 6 in, and tamp "
    "each layer hard before the next.",
}


@register.filter
def post_words(post: SheetPost) -> str:
    """Return a post's kind and which faces take rails: 'Line post, routed straight through'."""
    return _joined(KIND_WORDS, ROUTING_WORDS, post)


@register.filter
def post_words_short(post: SheetPost) -> str:
    """Return the same for a narrow column: 'Line, through'."""
    return _joined(SHORT_KIND_WORDS, SHORT_ROUTING_WORDS, post)


def _joined(kinds: dict[str, str], routings: dict[str, str], post: SheetPost) -> str:
    kind = kinds.get(post.kind, post.kind)
    routing = routings.get(post.routing, "")
    return f"{kind}, {routing}" if routing else kind


@register.filter
def post_size(post: SheetPost) -> str:
    """Return a post's size and length: '5 in square, 9-0 long'."""
    units = firm_units()
    shape = "round" if post.is_round else "square"
    length = written.long_length(post.length_in, units)
    return f"{written.short_length(post.width_in, units)} {shape}, {length} long"


@register.filter
def is_to_cut(post: SheetPost) -> bool:
    """Say whether a post is longer than string and hole need, by more than tapping takes up."""
    return post.spare_in > TOO_LITTLE_IN


@register.filter
def setting_words(setting: str) -> str:
    """Return how posts meet their concrete."""
    return SETTING_WORDS.get(setting, "")


@register.filter
def bay_posts(bay: SheetBay) -> str:
    """Return what a bay stands between: '3 to 4', 'wall to 1'."""
    return _between(bay.from_post, bay.to_post)


@register.filter
def rise_words(bay: SheetBay) -> str:
    """Return how far the fence rises or falls over a bay: 'up 2-1/2 in'."""
    length = written.short_length(abs(bay.rise_in), firm_units())
    if abs(bay.rise_in) <= TOO_LITTLE_IN:
        return "level, steps" if bay.follows == "stepped" else "level"
    return f"{'up' if bay.rise_in > 0 else 'down'} {length}"


@register.filter
def top_below_words(post: SheetPost) -> str:
    """Return how far a post's top lies under the first: '5 in', '2 in above it'."""
    length = written.short_length(abs(post.top_below_first_in), firm_units())
    return f"{length} above it" if post.top_below_first_in < -TOO_LITTLE_IN else length


@register.filter
def step_words(post: SheetPost) -> str:
    """Return the step at a post as it is met from the line's start: 'drop 5 in'."""
    length = written.short_length(abs(post.step_in), firm_units())
    return f"{'rise' if post.step_in > 0 else 'drop'} {length}"


@register.filter
def bottom_words(post: SheetPost) -> str:
    """Return how high the two bays at a step end over the post's ground."""
    units = firm_units()
    before, after = (written.short_length(each, units) for each in post.bottoms_in)
    first, second = post.step_bays
    return f"bottom of bay {first} {before} over the ground here, of bay {second} {after}"


@register.filter
def run_posts(run: SpacerRun) -> str:
    """Return what a run of bays stands between: 'posts 1 to 4'."""
    return f"posts {_between(run.from_post, run.to_post)}"


def _between(first: int, last: int) -> str:
    return f"{first or 'wall'} to {last or 'wall'}"


@register.filter
def under_words(key: str) -> str:
    """Return a key of the data as words."""
    return key.replace("_", " ")


@register.filter
def bare(length: str) -> str:
    """Return a length without its unit, for a column whose head names it."""
    return length.removesuffix(" in").removesuffix(" mm").removesuffix(" m")
