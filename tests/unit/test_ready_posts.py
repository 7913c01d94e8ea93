"""A bay hangs when both its posts are hard, and never on a post of which nothing is known."""

import datetime as dt

from scheduling.engine.ready_posts import Hung, ReadyGroup, ready_groups

NOON = dt.datetime(2026, 5, 6, 12, tzinfo=dt.UTC)
LATER = NOON + dt.timedelta(hours=26)


def test_later_of_its_posts_decides() -> None:
    bays = [Hung(name=str(bay), posts=(bay, bay + 1)) for bay in range(1, 6)]
    ready = {1: NOON, 2: NOON, 3: LATER, 4: NOON, 5: NOON}
    # Post 3 holds bays 2 and 3; bay 5 ends at post 6, which is not set.
    assert ready_groups(bays, ready) == (
        ReadyGroup(ready_at=NOON, names=("1", "4")),
        ReadyGroup(ready_at=LATER, names=("2", "3")),
        ReadyGroup(ready_at=None, names=("5",)),
    )


def test_post_set_at_an_unknown_hour_and_a_bay_between_walls_carry_nothing() -> None:
    hung = [Hung(name="1", posts=(1, 2)), Hung(name="2", posts=())]
    assert ready_groups(hung, {1: NOON, 2: None}) == (ReadyGroup(ready_at=None, names=("1", "2")),)
