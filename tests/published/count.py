"""Counts the checks of this folder by what stands behind each: `python -m tests.published.count`.

Every test here carries `@pytest.mark.source(tag, where)`: the standard, section and edition its
figures come from, or "common practice, no source", or "from memory". In the table a test counts
once for each of its cases, under the weakest thing the expected figure needs: a computed figure
is computed even where its formula was read. Against the bars it counts once for each tag, however
many cases it has: one rule held on many fence systems is one check. Exits 1 under either bar, or
where a test has no mark.
"""

import contextlib
import io
from collections import Counter
from pathlib import Path

import pytest

HERE = Path(__file__).resolve().parent
TAGS = {
    "P": "published worked example",
    "T": "published table",
    "S": "published text",
    "L": "a general-purpose library's answer",
    "N": "common practice, no source",
    "C": "computed apart from the program",
    "M": "from memory",
}
PUBLISHED = ("P", "T", "S")
# Checks of the calendar and of photographs: in the table, not in the bars.
BESIDE_THE_ESTIMATE = frozenset(
    {
        "test_exif_positions.py",
        "test_great_circles.py",
        "test_holidays.py",
        "test_cure_waits.py",
        "test_locate_tickets.py",
        "test_maturity.py",
    }
)
FEWEST_PUBLISHED = 30
FEWEST = 60


class Collector:
    """Notes what pytest collects, without running it."""

    def __init__(self) -> None:
        self.counted: dict[str, Counter[str]] = {}
        self.unmarked: list[str] = []
        self.sources: dict[str, set[str]] = {}
        # Tests without their cases: file, class and name, tag.
        self.tests: set[tuple[str, str, str]] = set()

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        for item in items:
            own = [mark for mark in item.own_markers if mark.name == "source"]
            # A case's own mark stands behind its test's.
            mark = own[-1] if own else item.get_closest_marker("source")
            if item.path.name == "test_count.py":
                continue
            if mark is None or mark.args[0] not in TAGS or not str(mark.args[1]).strip():
                self.unmarked.append(item.nodeid)
                continue
            self.counted.setdefault(item.path.name, Counter())[mark.args[0]] += 1
            self.sources.setdefault(item.path.name, set()).add(mark.args[1])
            name = item.nodeid.split("::", 1)[1].split("[", 1)[0]
            self.tests.add((item.path.name, name, mark.args[0]))


def collect() -> Collector:
    """Return every check of this folder by file and tag."""
    collector = Collector()
    with contextlib.redirect_stdout(io.StringIO()):
        pytest.main(
            ["--collect-only", "-q", "-p", "no:cacheprovider", str(HERE)], plugins=[collector]
        )
    return collector


def total_of(collector: Collector) -> Counter[str]:
    """Return the checks of the estimate by tag."""
    total: Counter[str] = Counter()
    for name, counts in collector.counted.items():
        if name not in BESIDE_THE_ESTIMATE:
            total += counts
    return total


def tests_of(collector: Collector) -> Counter[str]:
    """Return the tests of the estimate by tag, each once whatever its cases."""
    return Counter(tag for name, _test, tag in collector.tests if name not in BESIDE_THE_ESTIMATE)


def table(collector: Collector) -> str:
    """Return the checks by file and tag, with their sums and the bars."""
    width = max(len(name) for name in collector.counted) + 1
    rows = [f"{'':{width}}" + "".join(f"{tag:>5}" for tag in TAGS)]
    for name, counts in sorted(collector.counted.items()):
        beside = "*" if name in BESIDE_THE_ESTIMATE else ""
        cells = "".join(f"{counts[tag] or '':>5}" for tag in TAGS)
        rows.append(f"{name + beside:{width}}{cells}")
    total = total_of(collector)
    rows.append(f"{'in all':{width}}" + "".join(f"{total[tag]:>5}" for tag in TAGS))
    tests = tests_of(collector)
    rows.append(f"{'tests, cases apart':{width}}" + "".join(f"{tests[tag]:>5}" for tag in TAGS))
    rows.append("*  beside the estimate: not in the sums")
    rows += [f"{tag}  {words}" for tag, words in TAGS.items()]
    rows += [
        f"{what}: published (P, T, S) {published(counts)}, in all {counts.total()}; of these "
        f"computed (C) {counts['C']}, from memory (M) {counts['M']}"
        for what, counts in (("cases", total), ("tests", tests))
    ]
    rows.append(f"bars, by tests: {FEWEST_PUBLISHED} published, {FEWEST} in all")
    return "\n".join(rows)


def published(total: Counter[str]) -> int:
    """Return how many checks hold the program against something published."""
    return sum(total[tag] for tag in PUBLISHED)


def main() -> int:
    collector = collect()
    print(table(collector))  # noqa: T201
    for name in collector.unmarked:
        print(f"no source: {name}")  # noqa: T201
    tests = tests_of(collector)
    is_enough = published(tests) >= FEWEST_PUBLISHED and tests.total() >= FEWEST
    return 0 if is_enough and not collector.unmarked else 1


if __name__ == "__main__":
    raise SystemExit(main())
