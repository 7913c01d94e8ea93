"""Fences on slopes: the trade handbook's worked 48 ft (section 7, example C of section 11) and the
slope cases of section 11 of the formula handbook, which are computed there from plain geometry.

Common practice, no source, for how bays step and rack; a general article cites 18 in over 6 ft as
a limit for racking; the gap under a pool barrier is ISPSC section 305.2.
"""

import math
from dataclasses import replace

import pytest

from estimating.engine.bays import count_bays
from estimating.engine.catalog import FenceSystem
from estimating.engine.panel_spacing import level_on_centre_in
from estimating.engine.result import LineLayout
from estimating.engine.site import BayPin, FenceLine, GroundShot
from tests.unit.layout_samples import PANEL, laid_out, line, only_line


def fall(run_in: float, fall_in: float) -> tuple[GroundShot, ...]:
    return (
        GroundShot(station_in=0, elevation_in=0),
        GroundShot(station_in=run_in, elevation_in=-fall_in),
    )


def on(system: FenceSystem, fence: FenceLine, **conditions: bool) -> LineLayout:
    return only_line(laid_out(replace(fence, system=system.key), systems=(system,), **conditions))


# A fence whose posts stand 72-1/2 in over level ground, stepped: its panels don't rack at all.
STEPPED = replace(PANEL, key="stepped", height_in=72.5, max_rack_in=0)
RACKED = replace(PANEL, key="racked", max_rack_in=24)


@pytest.mark.source("N", "common practice, no source: the trade's worked steps")
class TestSteppedVinyl:
    """48 ft, 6 bays of 96 in, the ground falls 30 in: a step of 5 in at every bay."""

    @pytest.fixture(params=["does not rack", "pinned to step"])
    def fence(self, request: pytest.FixtureRequest) -> LineLayout:
        if request.param == "does not rack":
            return on(STEPPED, line(576, ground=fall(576, 30)))
        pins = tuple(BayPin(station_in=96 * bay + 48, follows="stepped") for bay in range(6))
        may_rack = replace(STEPPED, max_rack_in=6)
        return on(may_rack, line(576, ground=fall(576, 30), bay_pins=pins))

    def test_each_bay_is_level_at_the_height_of_its_uphill_post(self, fence: LineLayout) -> None:
        bases = [(bay.base_start_in, bay.base_end_in) for bay in fence.bays]

        assert bases == [(-5.0 * bay, -5.0 * bay) for bay in range(6)]
        assert {bay.follows for bay in fence.bays} == {"stepped"}

    def test_posts_stand_72_and_a_half_then_77_and_a_half(self, fence: LineLayout) -> None:
        stands = [72.5 + post.lift_in for post in fence.posts]

        assert stands == pytest.approx([72.5] + [77.5] * 6)

    def test_tops_lie_under_the_first_by_0_0_5_10_15_20_25(self, fence: LineLayout) -> None:
        tops = [post.elevation_in + 72.5 + post.lift_in for post in fence.posts]

        below = [tops[0] - top for top in tops]
        assert below == pytest.approx([0, 0, 5, 10, 15, 20, 25])


@pytest.mark.source("C", "plane geometry of slopes, worked apart")
class TestSlopeGeometry:
    """Section 11 of the formula handbook."""

    def test_rail_of_an_8_ft_bay_that_rises_18_in(self) -> None:
        # 10.62 degrees, 18.75 %, rail 8.139 ft between post middles.
        fence = on(RACKED, line(96, ground=fall(96, 18)))

        (bay,) = fence.bays
        assert math.degrees(math.atan2(-bay.rise_in, bay.on_centre_in)) == pytest.approx(
            10.62, abs=0.005
        )
        along = bay.panel_in * bay.on_centre_in / (bay.spacer_in + 2 * RACKED.rail_insertion_in)
        assert along / 12 == pytest.approx(8.139, abs=0.0005)

    def test_100_ft_that_fall_12_ft_take_13_steps_of_11_08_in(self) -> None:
        # ceil(100 / 8) = 13 bays of 7.692 ft; 144 / 13 = 11.08 in each.
        fence = on(replace(STEPPED, height_tolerance_in=12), line(1200, ground=fall(1200, 144)))

        assert len(fence.bays) == count_bays(1200, 96) == 13
        steps = [
            before.base_end_in - after.base_start_in
            for before, after in zip(fence.bays, fence.bays[1:], strict=False)
        ]
        assert steps == pytest.approx([11.08] * 12, abs=0.07)  # heights are on a 1/16 in grid
        assert sum(bay.on_centre_in for bay in fence.bays) / 13 / 12 == pytest.approx(
            7.692, abs=0.0005
        )

    def test_slope_length_and_rail_of_the_same_run_racked(self) -> None:
        # sqrt(100^2 + 12^2) = 100.717 ft; 8 ft on that slope 8.057.
        fence = on(RACKED, line(1200, ground=fall(1200, 144)))

        along = sum(math.hypot(bay.on_centre_in, bay.rise_in) for bay in fence.bays)
        assert along / 12 == pytest.approx(100.717, abs=0.0005)
        (bay,) = on(RACKED, line(96, ground=fall(96, 96 * 0.12))).bays
        assert math.hypot(bay.on_centre_in, bay.rise_in) / 12 == pytest.approx(8.057, abs=0.0005)

    @pytest.mark.source("S", "a general article: racking to 18 in over 6 ft")
    def test_rack_limit_of_18_in_over_6_ft_is_14_degrees(self) -> None:
        # atan(18 / 72) = 14.04: at the limit a bay racks, over it it steps.
        limited = replace(RACKED, key="limited", max_on_centre_in=72, max_rack_in=18)
        at_limit = on(limited, line(72, ground=fall(72, 72 * math.tan(math.radians(14.0)))))
        over = on(limited, line(72, ground=fall(72, 72 * math.tan(math.radians(14.2)))))

        assert at_limit.bays[0].because == "within_rack"
        assert over.bays[0].because == "over_rack"


@pytest.mark.source("C", "plane geometry of rails of fixed length, worked apart")
class TestPanelsOfFixedRails:
    """A racked panel keeps its rails' length: its level on-centre is sqrt(R^2 - rise^2)."""

    PANELS = replace(PANEL, key="panels", rails="fixed", max_rack_in=18, division="full_and_short")

    def test_96_in_with_18_in_of_rise_span_94_30_level(self) -> None:
        assert level_on_centre_in(96, 18) == pytest.approx(94.30, abs=0.005)

    def test_a_slope_of_ready_made_panels_is_spaced_by_it(self) -> None:
        # On the slope of 18 in to 94.30 a panel spans 94.30, on the grid 94-1/4. 377 in are four
        # such bays; level, four of 96 would reach 384.
        slope = 18 / math.sqrt(96**2 - 18**2)
        fence = on(self.PANELS, line(377, ground=fall(377, 377 * slope)))

        assert [bay.on_centre_in for bay in fence.bays] == [94.25] * 4
        assert {bay.because for bay in fence.bays} == {"within_rack"}
        assert {bay.is_cut for bay in fence.bays} == {False}
        for bay in fence.bays:
            assert math.hypot(bay.on_centre_in, bay.rise_in) == pytest.approx(96, abs=1 / 16)

    def test_rails_cut_on_site_keep_the_level_spacing(self) -> None:
        slope = 18 / math.sqrt(96**2 - 18**2)
        cut = replace(self.PANELS, key="cut", rails="cut_on_site", max_rack_in=19)
        fence = on(cut, line(384, ground=fall(384, 384 * slope)))

        assert [bay.on_centre_in for bay in fence.bays] == [96] * 4
        # 96 in at that slope rise 18.33: a rail of 94 in level is 94 x 97.73 / 96 = 95.70 long.
        assert fence.bays[0].panel_in == pytest.approx(95.70, abs=0.005)


@pytest.mark.source("C", "2 in under a pool barrier (ISPSC section 305.2), worked apart")
class TestPoolBarrier:
    """A level bay opens its gap by the fall: 2 in at most, so 2 / 96 = 2.1 % at 8 ft."""

    @pytest.mark.parametrize(("fall_in", "longer_in"), [(2.0, 0.0), (2.25, 0.25), (5.0, 3.0)])
    def test_a_stepped_bay_over_2_in_of_gap_gets_longer_infill(
        self, fall_in: float, longer_in: float
    ) -> None:
        # Panels that stand on the ground at their uphill post: the gap is the fall.
        pool = replace(STEPPED, key="pool", ground_gap_in=0.0)
        fence = on(pool, line(96, ground=fall(96, fall_in)), pool_barrier=True)

        assert fence.bays[0].largest_gap_in == pytest.approx(fall_in)
        assert fence.bays[0].longer_infill_in == pytest.approx(longer_in)

    def test_a_racked_barrier_keeps_its_gap(self) -> None:
        fence = on(RACKED, line(576, ground=fall(576, 30)), pool_barrier=True)

        assert {bay.follows for bay in fence.bays} == {"racked"}
        assert [bay.largest_gap_in for bay in fence.bays] == pytest.approx([2.0] * 6)
        assert {bay.longer_infill_in for bay in fence.bays} == {0.0}
