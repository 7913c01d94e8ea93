"""What small changes to an estimate's site would save, and how each is said."""

from dataclasses import dataclass

from estimating import mapping
from estimating.engine.saver_changes import (
    DivideAnew,
    DropPin,
    MoveGate,
    SharePost,
    Shorten,
    UseOffcuts,
)
from estimating.engine.savers import SaverHint, saver_hints
from estimating.engine.site import FenceLine, Site
from estimating.models import Estimate
from estimating.selectors.measurements import read_with
from firm.errors import Refusal
from firm.measure.written import long_length, short_length
from firm.models import AuditEntry
from firm.selectors.profile import firm_units

# Up to eight whole estimates are made: 1000 posts take some two seconds.
MOST_POSTS = 1000
TOOK = "took a saving"
NUMBER_WORDS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


@dataclass(frozen=True, kw_only=True, slots=True)
class Saving:
    """One hint in words: `change` is what to do, `fewer` what is needed less of."""

    hint: SaverHint
    change: str
    fewer: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Savings:
    """The savings of an estimate, the greatest first, and how many changes were not looked at."""

    rows: tuple[Saving, ...]
    left_out: int


def savings_of(estimate: Estimate) -> Savings:
    """Return what small changes would save, at the estimate's own prices.

    Raises:
        EngineError: the document can't be worked with any more.
        Refusal: there are so many posts that the page would keep its reader waiting.
    """
    posts = len(estimate.result.get("holes", ()))
    if posts > MOST_POSTS:
        raise Refusal(
            f"This site has {posts:,} posts, and {MOST_POSTS:,} can be looked through at once. "
            "Price a part of it as a site of its own."
        )
    if not estimate.document.get("lines"):
        return Savings(rows=(), left_out=0)
    read = read_with(estimate.document, estimate.catalog, leave_out=True)
    found = saver_hints(
        estimate.document,
        read.catalog,
        typed=mapping.typed_lines(estimate.typed_lines.all()),
        overrides=mapping.overrides(estimate.overrides.all()),
    )
    rows = tuple(
        Saving(hint=hint, change=change_words(read.site, hint), fewer=_fewer(hint))
        for hint in found.hints
    )
    return Savings(rows=rows, left_out=found.left_out)


def saving_taken(estimate: Estimate) -> AuditEntry | None:
    """Return the record of the saving that made the version an estimate now stands on, if any."""
    if estimate.measurement is None:
        return None
    taken = AuditEntry.objects.filter(
        target_type=estimate._meta.label_lower, target_id=str(estimate.pk), action=TOOK
    )
    last = taken.order_by("-pk").first()
    is_last = last is not None and last.after["version"] == estimate.measurement.version
    return last if is_last else None


def change_words(site: Site, hint: SaverHint) -> str:
    """Return what a hint asks to be done, in the firm's units."""
    change = hint.change
    if isinstance(change, UseOffcuts):
        return f"Buy {change.units} of {change.name}: {change.override.reason}"
    line = next(line for line in site.lines if line.id == change.line_id)
    match change:
        case MoveGate():
            towards = "start" if change.by_in < 0 else "end"
            name = _line_words(line)
            return (
                f"Move gate {change.gate_id} {_length(abs(change.by_in))} towards the {towards} "
                f"of {name}"
            )
        case Shorten():
            return _shorten_words(line, change)
        case SharePost():
            return _share_words(site, line, change)
        case DivideAnew():
            return f"Divide {_line_words(line)} into full bays, with the rest in one short bay each"
        case DropPin():
            at = long_length(change.station_in, firm_units())
            return f"Let the ground decide on the bay at {at} of {_line_words(line)}"


def _shorten_words(line: FenceLine, change: Shorten) -> str:
    first = change.cuts[0]
    by, name = _length(first.by_in), _line_words(line)
    if len(change.cuts) == 1:
        if first.at == "start":
            return f"Start {name} {by} farther in"
        return f"End {name} {by} sooner"
    last = change.cuts[1]
    moved = [str(number) for number in range(first.leg + 2, last.leg + 1)]
    legs = f"leg {moved[0]}" if len(moved) == 1 else f"legs {moved[0]} to {moved[-1]}"
    return (
        f"Set {legs} of {name} back {by}, so that legs {first.leg + 1} and {last.leg + 1} "
        "get so much shorter"
    )


def _share_words(site: Site, line: FenceLine, change: SharePost) -> str:
    other = next(each for each in site.lines if each.id == change.with_line)
    words = f"Let the {change.at} of {_line_words(line)} use the post at "
    at = change.with_at if change.with_at.startswith("corner") else f"the {change.with_at}"
    words += f"{at} of {_line_words(other)}"
    if change.longer_in > 0:
        words += f": it is taped {_length(change.longer_in)} longer, to that post's middle"
    elif change.longer_in < 0:
        words += f": it is taped {_length(-change.longer_in)} shorter, to that post's middle"
    return words


def _line_words(line: FenceLine) -> str:
    is_named = line.name and line.name != f"Line {line.id}"
    return f"line {line.id} ({line.name})" if is_named else f"line {line.id}"


def _fewer(hint: SaverHint) -> str:
    """Return "one post and one bay less"; a bay more is said as well."""
    counts = [(hint.posts, "post"), (hint.bays, "bay"), (hint.steps, "step")]
    less = [_counted(count, word) for count, word in counts if count > 0]
    more = [_counted(-count, word) for count, word in counts if count < 0]
    parts = [" and ".join(less) + " less" if less else "", " and ".join(more)]
    parts[1] += " more" if more else ""
    if hint.cut_bays > 0 and not hint.bays:
        parts.append(f"{_counted(hint.cut_bays, 'bay')} less to cut")
    if hint.offcuts:
        parts.append(f"{_counted(hint.offcuts, 'bay')} made of what is left of others")
    return ", ".join(part for part in parts if part)


def _counted(count: int, word: str) -> str:
    number = NUMBER_WORDS[count] if count < len(NUMBER_WORDS) else str(count)
    return f"{number} {word}{'' if count == 1 else 's'}"


def _length(inches: float) -> str:
    return short_length(inches, firm_units())
