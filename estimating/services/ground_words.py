"""What changed on the ground in words: for the customer, and beside the price for the office."""

from collections.abc import Iterable, Sequence

from estimating.engine.result import EstimateResult
from estimating.engine.site import Site
from estimating.models import ChangeOrder
from estimating.selectors.grounds import BuildUp, Found, Ground
from firm.measure.money import format_money
from firm.measure.written import exact_in, length_words
from firm.selectors.profile import firm_units

# More than these are counted: nobody signs a list of posts.
MOST_MOVES_TOLD = 6


def change_words(ground: Ground, found: Found) -> str:
    """Return what the fence is now against what was sold, a line of text for each change."""
    units = firm_units()
    sold, now = _by_line(ground.work.site, units), _by_line(found.site, units)
    lines = [
        f"{line.name}: measures {now[line.id]}, not {sold[line.id]} as sold."
        for line in found.site.lines
        if sold[line.id] != now[line.id]
    ]
    lines += _counts(ground, found)
    lines += _moves(found, units)
    return "\n".join(lines) or "Posts stand elsewhere than drawn; panels are cut to fit."


def _by_line(site: Site, units: str) -> dict[str, str]:
    return {
        line.id: length_words(sum(leg.length_in for leg in line.legs), units) for line in site.lines
    }


def _counts(ground: Ground, found: Found) -> Iterable[str]:
    sold_posts, posts = _sold_posts(ground), _post_count(found.result)
    if sold_posts[0] != posts[0]:
        yield f"Posts: {posts[0]}, not {sold_posts[0]} as sold."
    if sold_posts[1] != posts[1]:
        yield (
            f"Holes dug by hand beside marked utilities: {posts[1]}, not {sold_posts[1]} as sold."
        )


def _moves(found: Found, units: str) -> Iterable[str]:
    if len(found.standing) > MOST_MOVES_TOLD:
        yield f"{len(found.standing)} posts stand elsewhere than laid out; panels are cut to fit."
        return
    names = {line.id: line.name for line in found.site.lines}
    for (line_id, laid_out_in), stands_in in sorted(found.standing.items()):
        way = "further along" if stands_in > laid_out_in else "further back"
        yield (
            f"{names[line_id]}: the post laid out at {length_words(laid_out_in, units)} stands "
            f"{exact_in(abs(stands_in - laid_out_in), units)} {way}; panels are cut to fit."
        )


def _sold_posts(ground: Ground) -> tuple[int, int]:
    lines = ground.work.estimate.result.get("lines", ())
    posts = [post for line in lines for post in line["posts"]]
    return len(posts), sum(1 for post in posts if post["hand_dig"])


def _post_count(result: EstimateResult) -> tuple[int, int]:
    posts = [post for line in result.lines for post in line.posts]
    return len(posts), sum(1 for post in posts if post.hand_dig)


def remark_words(ground: Ground, total: BuildUp, earlier: Sequence[ChangeOrder]) -> tuple[str, ...]:
    """Return what the office should know of how the price of the change came about."""
    return (
        *_price_words(ground, total),
        *_hand_set_words(ground),
        *_signed_words(earlier),
        *_declined_words(earlier),
    )


def _price_words(ground: Ground, total: BuildUp) -> Iterable[str]:
    yield (
        f"By the prices of the sale the ground as found comes to {format_money(total.price)} "
        f"before tax and the ground as sold to {format_money(total.sold_price)}."
    )
    for each in ground.work.overrides:
        if each.target == "price":
            yield (
                f"The price was set by hand to {format_money(each.value)} when it was sold "
                f"({each.reason}): the difference is that of the two price build-ups, which "
                "leave it out."
            )


def _hand_set_words(ground: Ground) -> Iterable[str]:
    prices = ground.work.catalog.prices
    for each in ground.work.overrides:
        kind, _, name = each.target.partition(":")
        if kind == "hours":
            yield f"Hours of {name.replace('_', ' ')} were set by hand and count as sold."
        elif kind == "quantity":
            item = prices[name].name if name in prices else name
            yield f"The quantity of {item} was set by hand and counts as sold."


def _signed_words(earlier: Sequence[ChangeOrder]) -> Iterable[str]:
    for order in earlier:
        if order.state == ChangeOrder.State.SIGNED:
            yield (
                f"Change order {order.number} over {format_money(order.price_before_tax)} "
                "before tax is signed and taken off."
            )


def _declined_words(earlier: Sequence[ChangeOrder]) -> Iterable[str]:
    for order in earlier:
        if order.state == ChangeOrder.State.DECLINED:
            yield (
                f"The customer declined change order {order.number} over "
                f"{format_money(order.price_before_tax)} before tax; this one contains that "
                "amount again."
            )
