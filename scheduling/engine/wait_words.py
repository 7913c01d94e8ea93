"""What is said of posts that wait: when they were set, then each work's rule, then the warnings."""

from collections.abc import Iterable
from dataclasses import dataclass

from firm.measure.said import Said, joined


@dataclass(frozen=True, kw_only=True, slots=True)
class Saying:
    """One work's wait in words, in parts, so that two works of one pour may be told together.

    `set_at` and `mix` are empty where nobody knows the pour. `by_work` is a warning whose figure
    may be another for each work: as it is said alone, and as it is said with the work's name.
    """

    rule: str
    set_at: str = ""
    mix: str = ""
    warnings: tuple[str, ...] = ()
    by_work: tuple[str, str] | None = None

    def head(self, *, is_planned: bool) -> str:
        """Return when the posts were set, or are to be, and in which mix."""
        if not self.set_at:
            return ""
        if is_planned:
            return Said("As planned, posts are set {at}, {mix}.", at=self.set_at, mix=self.mix)
        return Said("Posts set {at}, {mix}.", at=self.set_at, mix=self.mix)


def told_together(sayings: Iterable[Saying], *, is_planned: bool = False) -> str:
    """Return all that is said of some works, and once what is the same for several of them."""
    by_head: dict[str, list[Saying]] = {}
    for one in sayings:
        by_head.setdefault(one.head(is_planned=is_planned), []).append(one)
    told: list[str] = []
    for head, mine in by_head.items():
        rules = [one.rule for one in mine]
        warnings = [each for one in mine for each in one.warnings]
        told += [head, *dict.fromkeys([*rules, *warnings, *_told_by_work(mine)])]
    return joined(told)


def _told_by_work(sayings: Iterable[Saying]) -> list[str]:
    """Return what is the same for all works once, else each work's own with its name."""
    found = [one.by_work for one in sayings if one.by_work is not None]
    alone = dict.fromkeys(words for words, _ in found)
    return list(alone) if len(alone) < 2 else [words for _, words in found]
