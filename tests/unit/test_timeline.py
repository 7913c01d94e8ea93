"""A job's timeline as drawn: where moments lie, worked by hand from the width and the days.

At 428 wide with 4 at each side, 14 days have 30 each; the first is Monday, May 4.
"""

import datetime as dt
import re
import xml.etree.ElementTree as ET
from zoneinfo import ZoneInfo

from scheduling.drawing.timeline import Bar, Look, Mark, Point, Row, Timeline, timeline_svg
from scheduling.engine.wording import weekday_words

ZONE = ZoneInfo("America/New_York")
SVG = "{http://www.w3.org/2000/svg}"
WIDTH = 428.0


def at(day: int, hour: int = 0) -> dt.datetime:
    return dt.datetime(2026, 5, day, hour, tzinfo=ZONE)


def may(day: int) -> dt.date:
    return dt.date(2026, 5, day)


def drawn(*rows: Row, marks: tuple[Mark, ...] = ()) -> ET.Element:
    timeline = Timeline(first=may(4), last=may(17), rows=rows, marks=marks, title="Job 1 & others")
    return ET.fromstring(timeline_svg(timeline, width=WIDTH, key="k", day_words=weekday_words))  # noqa: S314 - our own


def bars(svg: ET.Element) -> list[tuple[float, float, str]]:
    """Return the bars, which alone have an edge: where they begin, how wide, what fills them."""
    return [
        (float(one.attrib["x"]), float(one.attrib["width"]), one.attrib["fill"])
        for one in svg.iter(f"{SVG}rect")
        if "stroke" in one.attrib
    ]


def row(*found: Bar, points: tuple[Point, ...] = (), when: str = "Tue") -> Row:
    return Row(name="Hanging", when=when, bars=found, points=points)


def test_bar_lies_to_the_hour_between_its_moments() -> None:
    # Tuesday noon is 1.5 days in: 4 + 45 = 49; a whole day on, 30 wide.
    work = Bar(begins_at=at(5, 12), ends_at=at(6, 12), look=Look.WORK)
    wait = Bar(begins_at=at(4), ends_at=at(6), look=Look.WAIT)
    (x, width, _), (wait_x, wait_width, hatch) = bars(drawn(row(work), row(wait)))
    assert (x, width) == (49.0, 30.0)
    assert (wait_x, wait_width) == (4.0, 60.0)
    assert hatch == "url(#timeline-k-hatch)"


def test_short_work_can_still_be_seen() -> None:
    # A quarter of an hour would be 0.3 wide.
    work = Bar(begins_at=at(5, 12), ends_at=at(5, 12) + dt.timedelta(minutes=15), look=Look.WORK)
    assert bars(drawn(row(work)))[0][1] == 3.0


def test_what_reaches_beyond_the_days_ends_at_their_edge() -> None:
    # The last day ends at 4 + 14 x 30 = 424.
    open_ended = Bar(begins_at=at(16), ends_at=None, look=Look.WINDOW)
    from_long_ago = Bar(begins_at=None, ends_at=at(5), look=Look.WINDOW)
    far = Bar(begins_at=at(1), ends_at=dt.datetime(2026, 8, 1, tzinfo=ZONE), look=Look.WINDOW)
    found = [each[:2] for each in bars(drawn(row(open_ended), row(from_long_ago), row(far)))]
    assert found == [(364.0, 60.0), (4.0, 30.0), (4.0, 420.0)]


def test_what_lies_outside_the_days_is_not_drawn() -> None:
    over = Bar(begins_at=at(1), ends_at=at(3), look=Look.WORK)
    later = Bar(begins_at=at(20), ends_at=at(21), look=Look.WORK)
    svg = drawn(row(over, later, points=(Point(on=may(1), has_come=True),)))
    assert bars(svg) == []
    assert [one for one in svg.iter(f"{SVG}path") if "z" in one.attrib["d"]] == []


def test_diamond_stands_in_the_middle_of_its_day() -> None:
    # Wednesday, May 6: 4 + 2.5 x 30 = 79.
    svg = drawn(row(points=(Point(on=may(6), has_come=False),)))
    (diamond,) = [one for one in svg.iter(f"{SVG}path") if "z" in one.attrib["d"]]
    assert diamond.attrib["d"].startswith("M79.0 ")
    assert diamond.attrib["fill"] == "#ffffff"


def test_deadline_stands_at_the_end_of_its_day_and_today_at_its_beginning() -> None:
    # Friday, May 15 ends at 4 + 12 x 30 = 364; Monday begins at 4.
    marks = (
        Mark(on=may(4), name="Today", when="Mon May 4"),
        Mark(on=may(15), name="Promised for", when="Fri May 15", is_due=True),
        Mark(on=dt.date(2026, 9, 1), name="Wanted by", when="Tue Sep 1", is_due=True),
    )
    svg = drawn(row(), marks=marks)
    words = {one.text: one.attrib for one in svg.iter(f"{SVG}text")}
    assert (words["Today: Mon May 4"]["x"], words["Today: Mon May 4"]["text-anchor"]) == (
        "8.0",
        "start",
    )
    due = words["Promised for: Fri May 15"]
    assert (due["x"], due["text-anchor"]) == ("360.0", "end")
    assert "Wanted by: Tue Sep 1" not in words
    lines = [one.attrib["d"] for one in svg.iter(f"{SVG}path")]
    assert any(line.startswith("M364.0 ") for line in lines)


def test_weekends_are_shaded_and_mondays_named() -> None:
    svg = drawn(row())
    shaded = [float(one.attrib["x"]) for one in svg.iter(f"{SVG}rect") if "x" in one.attrib]
    # Saturdays and Sundays are days 5, 6, 12 and 13 from the first.
    assert shaded == [154.0, 184.0, 364.0, 394.0]
    names = [one.text for one in svg.iter(f"{SVG}text")]
    assert names == ["Mon May 4", "Mon May 11", "Hanging: Tue"]


def test_words_are_cut_where_they_find_no_room_and_marked_up_safely() -> None:
    svg = drawn(row(when="not before <Friday> & " + "later " * 30))
    words = [str(one.text) for one in svg.iter(f"{SVG}text")][-1]
    assert words.startswith("Hanging: not before <Friday> & later")
    assert words.endswith("\N{HORIZONTAL ELLIPSIS}")
    assert re.fullmatch("Job 1 & others", str(svg.findtext(f"{SVG}title")))
