"""Reads a stored layout into the lines of a build sheet, with the string's figures at each post."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import chain, pairwise
from math import dist
from typing import Any

from estimating.engine.crew_figures import (
    PostFigures,
    Stake,
    StringPost,
    bag_share,
    figures_under,
    post_figures,
)
from estimating.engine.ground import Ground, ground_from
from estimating.engine.heights import post_top_in
from estimating.engine.site import GroundShot
from estimating.engine.string_line import string_at_posts, string_over_bays, ties
from estimating.selectors.sheet_bays import ground_at, sheet_bay, steps_of, string_bays
from estimating.selectors.sheet_parts import (
    CREW_CODES,
    SheetBar,
    SheetCut,
    SheetGate,
    SheetLine,
    SheetPost,
    StringSetting,
)
from estimating.selectors.stored_words import known_sentence, place_words
from firm.measure import sold
from firm.measure.said import Said
from firm.selectors.profile import firm_units

Json = Mapping[str, Any]
TERMINALS = frozenset({"end", "corner", "gate", "pull"})


class SheetReader:
    """Reads a stored result as it is: making its dataclasses again takes too long for a page."""

    def __init__(self, document: Json, catalog: Json, result: Json, string: StringSetting) -> None:
        self.systems: Json = catalog.get("fence_systems") or {}
        self.prices: Json = catalog.get("prices") or {}
        self.measured = {line["id"]: line for line in document.get("lines", ())}
        self.holes = {hole["post_number"]: hole for hole in result.get("holes", ())}
        self.result = result
        self.string = string
        concrete = result.get("concrete") or {}
        net_ft3 = concrete.get("net_ft3") or 0.0
        self.waste_factor = concrete.get("with_waste_ft3", 0.0) / net_ft3 if net_ft3 else 1.0
        self.yield_ft3 = concrete.get("bag_yield_ft3", 0.0)

    def name_of(self, item: str) -> str:
        """Return an item's name in the price book it was sold from."""
        return str(self.prices.get(item, {}).get("name") or item.replace("_", " "))

    def bags(self) -> int:
        """Return the bags of the take-off, which is also what is bought and loaded.

        What over-dig takes is in it by the firm's own percentage: no sheet adds to it again.
        """
        concrete: Json = self.result.get("concrete") or {}
        taken = [
            each["purchase_units"]
            for each in self.result.get("quantities", ())
            if each["item"] == concrete.get("bag_item")
        ]
        return int(taken[0] if taken else concrete.get("bags", 0))

    def cuts(self) -> tuple[SheetCut, ...]:
        return tuple(
            SheetCut(
                item_name=self.name_of(each["item"]),
                length_in=each["length_in"],
                pieces=each["pieces"],
                place=place_words(each["place"]),
            )
            for each in self.result.get("cuts", ())
        )

    def saw_list(self) -> tuple[SheetBar, ...]:
        """Return how stock is cut, where that says more than the list of the pieces does."""
        return tuple(
            SheetBar(
                item_name=self.name_of(bar["item"]),
                stock_length_in=bar["stock_length_in"],
                bars=bar["bars"],
                pieces=tuple((each["length_in"], each["pieces"]) for each in bar["pieces"]),
                offcut_in=bar["offcut_in"],
                is_kept=bar["is_kept"],
            )
            for plan in self.result.get("cut_plans", ())
            if _says_more(plan["bars"])
            for bar in plan["bars"]
        )

    def stops(self) -> tuple[str, ...]:
        """Return why the layout can't be built as it stands: a post moved too far, say."""
        return tuple(
            _stop(each)
            for each in self.result.get("findings", ())
            if each["severity"] == "stop" and each["code"] in CREW_CODES
        )

    def concrete_comes(self) -> str:
        """Return what brings the concrete where it doesn't come in bags, in words."""
        ways: Sequence[Json] = (self.result.get("concrete") or {}).get("ways", ())
        return "; ".join(
            f"{buy['name']}: {_bought(buy['units'], buy['purchase_unit'])}"
            for way in ways
            if way["is_chosen"] and way["kind"] != "bags"
            for buy in way["buys"]
        )

    def line(self, line: Json) -> SheetLine:
        system: Json = self.systems.get(line["system"], {})
        rule: Json = system.get("hole") or {}
        bays, ground = string_bays(line), ground_at(line)
        over = string_over_bays(bays, ground, height_in=self.string.height_in)
        figures = self._figures(line, system, string_at_posts(bays, over))
        posts = [self._post(each, system, figures[each["number"]]) for each in line["posts"]]
        tops = {
            post.number: each["elevation_in"]
            + post.string_over_ground_in
            + post.top_above_string_in
            for post, each in zip(posts, line["posts"], strict=True)
        }
        steps = steps_of(line, float(system.get("ground_gap_in", 2.0)))
        return SheetLine(
            line_id=line["line_id"],
            name=line["name"],
            system_name=system.get("name") or line["system"].replace("_", " "),
            family=system.get("family", "panel"),
            scope=line["scope"],
            height_in=float(system.get("height_in", 0.0)),
            length_in=line["length_in"],
            rise_in=_rise_in(line["posts"]),
            finished_face=line["finished_face"],
            old_footings=line.get("old_footings", 0),
            posts=tuple(
                replace(
                    post,
                    top_below_first_in=tops[posts[0].number] - tops[post.number],
                    **steps.get(post.number, {}),
                )
                for post in posts
            ),
            bays=tuple(sheet_bay(each, system, tops, ground) for each in line["bays"]),
            gates=tuple(_gate(each, system.get("gate") or {}) for each in line["gates"]),
            setting=system.get("setting", ""),
            concrete_top_in=float(rule.get("concrete_top_in", -2.0)),
            gravel_in=float(rule.get("gravel_in", 0.0)),
            ground_gap_in=float(system.get("ground_gap_in", 2.0)),
            max_rack_in=float(system.get("max_rack_in", 0.0)),
            ties=tuple(ties(bays, over)),
            has_level_string=any(bay.is_level for bay in bays),
        )

    def _figures(
        self, line: Json, system: Json, string: Mapping[int, float]
    ) -> dict[int, PostFigures]:
        """Return the posts' figures; `string` is what it runs over at each, where that is known."""
        rule: Json = system.get("hole") or {}
        posts = [
            StringPost(
                number=post["number"],
                stake=Stake(x_in=post["x_in"], y_in=post["y_in"], ground_in=post["elevation_in"]),
                top_over_ground_in=post_top_in(
                    height_in=float(system.get("height_in", 0.0)),
                    family=system.get("family", "panel"),
                    kind=post["kind"],
                ),
                hole_depth_in=self._hole(post).get("depth_in", 0.0),
                gravel_in=float(rule.get("gravel_in", 0.0)),
            )
            for post in line["posts"]
        ]
        if not string:
            before, after = self._stakes_beyond(line)
            return post_figures(
                posts, string_height_in=self.string.height_in, before=before, after=after
            )
        lifts = {post["number"]: post.get("lift_in", 0.0) for post in line["posts"]}
        figures = {}
        for post in posts:
            ground_in = post.stake.ground_in
            over_in = string.get(post.number, ground_in) - ground_in + self.string.height_in
            figures[post.number] = figures_under(post, over_in, lift_in=lifts[post.number])
        return figures

    def _stakes_beyond(self, line: Json) -> tuple[Stake | None, Stake | None]:
        """Return where the string is tied beyond a line's own posts.

        The height of the ground there is this line's own: two lines need not share a datum.
        """
        own = {post["number"]: post for post in line["posts"]}
        parts = sorted(
            chain(line["bays"], line["gates"]),
            key=lambda part: part.get("start_station_in", part.get("station_in", 0.0)),
        )
        if not own or not parts:
            return None, None
        first, last = parts[0]["from_post"], parts[-1]["to_post"]
        points = line["plan_points"]
        ground = self._ground(line["line_id"])
        before = after = None
        if first and first not in own:
            before = _stake(points[0], ground.elevation_at(0.0))
        if last == line["posts"][0]["number"] and last != line["posts"][-1]["number"]:
            after = _stake(points[-1], own[last]["elevation_in"])  # a closed line
        elif last and last not in own:
            after = _stake(points[-1], ground.elevation_at(sum(dist(*p) for p in pairwise(points))))
        return before, after

    def _ground(self, line_id: str) -> Ground:
        measured = self.measured.get(line_id, {})
        shots = [
            GroundShot(station_in=shot["station_in"], elevation_in=shot["elevation_in"])
            for shot in measured.get("ground", ())
        ]
        ground, _ = ground_from(shots, measured.get("taped", "level"))
        return ground

    def _hole(self, post: Json) -> Json:
        hole: Json = self.holes.get(post["number"], {})
        return hole

    def _post(self, post: Json, system: Json, figures: PostFigures) -> SheetPost:
        hole = self._hole(post)
        product = _product(system, post["kind"], post.get("size", ""))
        return SheetPost(
            number=post["number"],
            line_id=post["line_id"],
            kind=post["kind"],
            routing=post["routing"],
            product=self.name_of(post["product"]),
            width_in=post["width_in"],
            is_round=product.get("shape") == "round",
            length_in=post["length_in"],
            needed_length_in=figures.needed_length_in,
            hole_diameter_in=hole.get("diameter_in", 0.0),
            hole_depth_in=hole.get("depth_in", 0.0),
            hand_dig=post.get("hand_dig", False),
            station_in=post["station_in"],
            top_above_string_in=figures.top_above_string_in,
            string_to_bottom_in=figures.string_to_bottom_in,
            bags=bag_share(
                hole.get("concrete_ft3", 0.0),
                waste_factor=self.waste_factor,
                yield_ft3=self.yield_ft3,
            ),
            stiffener=self._stiffener(post, system, product),
            brace=_brace(post["kind"], system),
            string_over_ground_in=figures.string_over_ground_in,
            shared_with=post.get("shared_with", ""),
        )

    def _stiffener(self, post: Json, system: Json, product: Json) -> str:
        """Return how far a stiffener reaches in this post, or "" where none goes in.

        The system's own materials say it; a hollow gate post without any gets the default of
        full depth (common practice, no source: it carries the leaf's moment into the concrete).
        """
        kind = post["kind"]
        if post.get("size"):
            return ""  # a heavier gate post is strong by itself
        for material in system.get("materials", ()):
            roles = material.get("roles") or ()
            if material.get("driver") == "post" and "stiffener" in material["item"]:
                if roles and kind not in roles:
                    continue
                if reach := material.get("reach"):
                    return str(reach).replace("_", " ")
                name = self.name_of(material["item"])
                return "above ground" if "above" in name.lower() else "full depth"
        is_hollow = (product.get("displaces") or {}).get("wet_set") == "nothing"
        is_panel = system.get("family", "panel") == "panel"
        return "full depth" if kind == "gate" and is_hollow and is_panel else ""


def _product(system: Json, kind: str, size: str) -> Json:
    """Return the post product that serves a kind; "end" serves any that is missing.

    `size` names a gate post other than the usual one.
    """
    gate: Json = system.get("gate") or {}
    sizes: dict[str, Json] = {"slide": (gate.get("slide") or {}).get("post") or {}}
    sizes |= {each["key"]: each["post"] for each in gate.get("heavier_posts") or ()}
    if sizes.get(size):
        return sizes[size]
    posts: Json = system.get("posts") or {}
    found: Json = posts.get(kind) or posts.get("end") or {}
    return found


def _stop(finding: Json) -> str:
    place, figure = place_words(finding["place"]), place_words(finding["figure"])
    message, limit = known_sentence(finding["message"]), place_words(finding["limit"])
    parts = {"place": place, "message": message, "figure": figure}
    if limit:
        return Said("{place}: {message} {figure}, limit {limit}.", **parts, limit=limit)
    return Said("{place}: {message} {figure}.", **parts)


def _says_more(bars: Sequence[Json]) -> bool:
    """Say whether bars are more than one piece each of one stock length, and nothing to keep."""
    several = len({bar["stock_length_in"] for bar in bars}) > 1
    return several or any(
        bar["is_kept"] or sum(each["pieces"] for each in bar["pieces"]) > 1 for bar in bars
    )


def _brace(kind: str, system: Json) -> str:
    """Return whether a post is braced while its concrete sets (common practice, no source).

    What is poured or packed around stands loose until then; of posts pushed into wet concrete the
    terminals, from which everything else is aligned.
    """
    if system.get("setting") in {"pour_around", "dry_pack"}:
        return "two ways"
    return "two ways" if kind in TERMINALS else ""


def _stake(point: Sequence[float], ground_in: float) -> Stake:
    return Stake(x_in=point[0], y_in=point[1], ground_in=ground_in)


def _rise_in(posts: Sequence[Json]) -> float:
    return float(posts[-1]["elevation_in"] - posts[0]["elevation_in"]) if posts else 0.0


def _gate(gate: Json, hardware: Json) -> SheetGate:
    return SheetGate(
        id=gate["id"],
        line_id=gate["line_id"],
        from_post=gate["from_post"],
        to_post=gate["to_post"],
        clear_opening_in=gate["clear_opening_in"],
        leaf_in=gate["leaf_in"],
        leaves=gate["leaves"],
        hinge_gap_in=hardware.get("hinge_gap_in", 0.0),
        latch_gap_in=hardware.get("latch_gap_in", 0.0),
        centre_gap_in=hardware.get("centre_gap_in", 0.0),
        use=gate["use"],
        hinge_side=gate["hinge_side"],
        swing=gate["swing"],
        latch=gate["latch"],
        kind=gate.get("kind", "swing"),
        widths_in=tuple(gate.get("leaf_widths_in") or (gate["leaf_in"],) * gate["leaves"]),
        hinges=gate.get("hinges", 2),
        tail_in=gate.get("tail_in", 0.0),
        roller_post=gate.get("roller_post", 0),
    )


def _bought(count: float, unit: str) -> str:
    """Return what is bought: 4 x trailer; cubic metres of what a metric firm buys by the yard."""
    units = firm_units()
    if sold.metric_in_one(unit, units) != 1:
        return sold.count_words(count, unit, units)
    return f"{count} \N{MULTIPLICATION SIGN} {sold.unit_words(unit, units)}"
