"""How high a fence and its posts stand: the one rule that everything asks.

A fence's height is measured from the finished ground under it to its top edge, the gap below it
inside. Town codes measure so: La Mirada 21.62.040(b)(1), "the vertical distance from the ground
elevation or finished grade ... to the highest point"; Ellwood City 1480.03(b), "from the existing
ground elevation ... to the top of the fence"; Deer Park (Ohio), "between the grade of the ground
abutting the fence and the top edge". Pool barriers too: the consumer safety commission's
guidelines (publication 362) ask for a top "at least 48 inches above grade". So a fence of 72 in
with a gap of 2 in has 70 in of infill, stands 72 in high in a yard limited to 72, and its posts
end at 72. Fabric is hung by its posts, which are set by the ground as well.
"""

# An instruction sheet for chain link and a reference book: a terminal stands 2 in above the
# fabric's height, a line post 2 in below it, which its loop and the rail make up.
FABRIC_CAP_IN = 2.0


def fence_top_in(height_in: float, *, lift_in: float = 0.0) -> float:
    """Return how high a fence's top edge stands over the ground under it.

    `lift_in` is how much higher the bay stands there than on level ground.
    """
    return height_in + lift_in


def infill_in(height_in: float, gap_in: float) -> float:
    """Return what is left for panel or boards between the gap and the top edge."""
    return max(0.0, height_in - gap_in)


def post_top_in(*, height_in: float, family: str, kind: str) -> float:
    """Return how high a post's top stands over level ground, its cap not counted."""
    if family != "fabric":
        return fence_top_in(height_in)
    return fence_top_in(height_in) + (-FABRIC_CAP_IN if kind == "line" else FABRIC_CAP_IN)


def tallest_part_in(*, height_in: float, family: str) -> float:
    """Return how high a fence's tallest part stands, its terminals with it."""
    return max(fence_top_in(height_in), post_top_in(height_in=height_in, family=family, kind="end"))
