"""What is measured at a table, turned into the numbers of the gear: by hand, round trips, the trade's figures.

Kinds: *derived* is arithmetic from rigid-ball mechanics; *common practice, no source* is the trade's.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from conftest import RADIUS

from tablesim.errors import ScenarioError
from tablesim.model.gear import BallSet, Cloth, Cue, Rails
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Aim, Take, Tip
from tablesim.physics.roots import root
from tablesim.physics.simulation import Simulation, Track
from tablesim.physics.strike import pivot_length
from tablesim.study.calibrate import remark, with_finding
from tablesim.study.calibrate_cue import SquirtTest, calibrate_cue, cue_of_pivot, offset_of_shift_mm
from tablesim.study.calibrate_table import (
    calibrate_balls,
    calibrate_rails,
    calibrate_roll,
    calibrate_slide,
)
from tablesim.study.deflection import deflection_of
from tablesim.study.measured import propagated, reading_of
from tablesim.study.pace import travelled_m
from tablesim.study.setup import setup_of
from tablesim.study.stroke import launch_of, level_deg, stroke_at, struck
from tablesim.units import INCH_M

ALONE = Scenario(balls={"cue": (0.6, 0.635)})
QUARTER_MM = 1000 * 0.25 * RADIUS
FIRM = SquirtTest(offset_mm=QUARTER_MM, distance_m=72 * INCH_M, pace_m_s=9.0, elevation_deg=0.0)


def played(scenario: Scenario, *moving: tuple[float, ...]) -> Track:
    """The track of balls set going by numbers x, y, v_x, v_y, w_x, w_y, w_z, to the end."""
    return Simulation(setup_of(scenario), np.array(moving)).run()


def rolling(x: float, v: float, y: float = 0.635) -> tuple[float, ...]:
    """A ball rolling along the table."""
    return (x, y, v, 0.0, 0.0, v / RADIUS, 0.0)


class TestErrors:
    """Error bars."""

    def test_scatter_or_statement_whichever_is_larger(self) -> None:
        """By hand: 1, 2, 3 scatter by 1, so 1/sqrt(3); a stated 2 makes it 2/sqrt(3); one reading has its own."""
        assert reading_of([1.0, 2.0, 3.0], 0.1).error == pytest.approx(1 / math.sqrt(3))
        assert reading_of([1.0, 2.0, 3.0], 2.0).error == pytest.approx(2 / math.sqrt(3))
        assert (reading_of([5.0], 0.3).mean, reading_of([5.0], 0.3).error) == (5.0, 0.3)

    def test_errors_of_a_product_add_in_squares(self) -> None:
        """By hand: 3 x 4 with 0.3 and 0.1: sqrt((4 0.3)^2 + (3 0.1)^2)."""
        assert propagated(lambda a, b: a * b, [3.0, 4.0], [0.3, 0.1]) == pytest.approx(math.hypot(1.2, 0.3))

    def test_roots_of_steep_flat_and_end_touching_functions(self) -> None:
        assert root(lambda x: 1 / x - 0.02, 2.0, 500.0) == pytest.approx(50.0, rel=1e-9)
        assert root(lambda x: min(x, 1.0) - 0.25, 0.0, 6.0) == pytest.approx(0.25, abs=1e-9)
        assert root(lambda x: x - 6.0, 0.0, 6.0) == 6.0


class TestCue:
    """Squirt test and pivot length."""

    @pytest.mark.parametrize(("off_in", "pivot_in"), [(2.25, 9.0), (1.0, 20.0)])
    def test_1_off_the_line_at_six_feet_and_pivot_length(self, off_in: float, pivot_in: float) -> None:
        """Common practice, no source: at 72 in and 0.25 R, 2.25 in off is a pivot of 9 in, 1.0 in one of 20; 5 %."""
        found = calibrate_cue(ALONE, Cue(), FIRM, [25.4 * off_in])
        assert found.pivot_m.value / INCH_M == pytest.approx(pivot_in, rel=0.05)

    def test_13_error_of_a_millimetre_at_seven(self) -> None:
        """Derived: a pivot length from one shot carries 14 %, from ten 5 % (2 points either way)."""
        test = SquirtTest(7.0, 72 * INCH_M, 9.0, 0.0, off_error_mm=1e-6)
        for shots, per_cent in ((1, 14.0), (10, 5.0)):
            pivot = calibrate_cue(ALONE, Cue(), test, [57.0] * shots).pivot_m
            assert 50.0 * (pivot.high - pivot.low) / pivot.value == pytest.approx(per_cent, abs=2.0)

    @pytest.mark.parametrize(
        ("q", "quarter_deg", "half_deg"),
        [
            (15, 1.889, 3.466), (20, 1.485, 2.709), (25, 1.223, 2.224), (30, 1.040, 1.886), (40, 0.800, 1.446),
            (50, 0.650, 1.173), (75, 0.443, 0.796),
        ],
    )  # fmt: skip
    def test_squirt_read_at_a_quarter_radius(self, q: float, quarter_deg: float, half_deg: float) -> None:
        """Derived, printed to 0.001 deg: a level squirt of so much means this end mass and so much at half a radius."""
        off = 1000 * FIRM.distance_m * math.tan(math.radians(quarter_deg))
        found = calibrate_cue(ALONE, Cue(), FIRM, [off])
        assert found.ball_to_end_mass.value == pytest.approx(q, rel=0.002)
        assert found.squirt_deg.value == pytest.approx(half_deg, abs=0.003)
        assert found.swerve_mm == pytest.approx(0.0, abs=1e-9)

    @pytest.mark.parametrize("q", [8.0, 22.0, 60.0])
    @pytest.mark.parametrize("pace", [2.0, 5.0])
    @pytest.mark.parametrize("elevation", [0.0, 4.0])
    @pytest.mark.parametrize("offset_mm", [5.0, 12.0])
    def test_round_trip_with_swerve(self, q: float, pace: float, elevation: float, offset_mm: float) -> None:
        """Left english through the whole engine and the rail's far end, on a cloth of one's own: the end mass again."""
        place = ALONE.change(cloth=Cloth(sliding_friction=0.27), cues={"mine": Cue(ball_to_end_mass=q)})
        take = Take(name="t", pace_m_s=pace, elevation_deg=elevation, tip=Tip(right=-offset_mm / 1000 / RADIUS),
                    aim=Aim(heading_deg=0.0))  # fmt: skip
        track = Simulation(
            setup_of(place), struck(place, launch_of(place, take, 0.0, stroke_at(place, take, level_deg(take))))
        ).run()
        end = next(event for event in track.events if event.kind == "edge").before[0]
        test = SquirtTest(offset_mm, end.x - 0.6, pace, elevation)
        found = calibrate_cue(place, Cue(), test, [-1000 * (end.y - 0.635)])
        assert found.ball_to_end_mass.value == pytest.approx(q, rel=1e-6)
        assert found.ball_to_end_mass.low < q < found.ball_to_end_mass.high

    def test_a_raised_butt_taken_for_level_misleads(self) -> None:
        """Swerve that is not allowed for makes a cue look better than it is."""
        slow = SquirtTest(QUARTER_MM, 1.5, 3.0, 4.0)
        level = SquirtTest(QUARTER_MM, 1.5, 3.0, 0.0)
        good, bad = (calibrate_cue(ALONE, Cue(), test, [30.0]).ball_to_end_mass.value for test in (slow, level))
        assert bad > 1.1 * good
        assert "swerve took" in remark(calibrate_cue(ALONE, Cue(), slow, [30.0]))

    def test_what_is_not_known_of_pace_and_butt_does_not_average_away(self) -> None:
        """A hundred shots leave the offset's error behind, not that of a butt whose height is guessed."""

        def bar(elevation_error_deg: float, shots: int) -> float:
            test = SquirtTest(QUARTER_MM, 1.8, 4.0, 4.0, elevation_error_deg=elevation_error_deg, pace_error=0.0)
            found = calibrate_cue(ALONE, Cue(), test, [38.0] * shots).ball_to_end_mass
            return found.high - found.low

        assert bar(0.0, 100) == pytest.approx(bar(0.0, 1) / 10.0, rel=0.1)
        assert bar(2.0, 100) > 0.5 * bar(2.0, 1)

    def test_a_pace_that_is_half_known_widens_the_bar(self) -> None:
        """It moves swerve only: not at all with a level cue."""

        def error(pace_error: float, elevation_deg: float) -> float:
            test = SquirtTest(
                QUARTER_MM, 1.8, 4.0, elevation_deg, 1e-6, 1e-6, pace_error=pace_error, elevation_error_deg=0.0
            )
            off = calibrate_cue(ALONE, Cue(), test, [38.0]).off
            assert off is not None
            return off.error

        # By hand: slip ends beyond 1.8 m, so swerve goes as 1/v^2: 20 % of it for 10 % of pace; 13.2 mm at 4 degrees.
        assert error(0.1, 4.0) == pytest.approx(0.2 * 13.2, rel=0.15)
        assert error(0.1, 0.0) < 1e-3

    def test_jab_factor_from_the_ratio(self) -> None:
        """Round trip."""
        cue = Cue(ball_to_end_mass=18.0, jab_factor=1.4)
        place = ALONE.change(cues={"mine": cue})
        takes = [
            Take(name=s, pace_m_s=4.0, elevation_deg=3.0, stroke=s, tip=Tip(right=0.25), aim=Aim(heading_deg=0.0))
            for s in ("smooth", "jab")
        ]
        smooth, jabbed = (deflection_of(place, take, (1.8,)).points[0].net_mm for take in takes)
        test = SquirtTest(QUARTER_MM, 1.8, 4.0, 3.0)
        found = calibrate_cue(place, Cue(), test, [smooth], [jabbed])
        assert found.jab_factor is not None
        assert found.jab_factor.value == pytest.approx(1.4, rel=1e-6)
        assert calibrate_cue(place, Cue(), test, [smooth]).jab_factor is None

    def test_the_jab_factor_carries_both_readings_errors(self) -> None:
        """By hand, level cue: f = jabbed / smooth, each with the error e, so f errs by e sqrt(1 + f^2) / smooth."""
        found = calibrate_cue(ALONE, Cue(), FIRM, [50.0], [60.0])
        assert found.jab_factor is not None
        assert found.off is not None
        half = 0.5 * (found.jab_factor.high - found.jab_factor.low)
        assert half == pytest.approx(found.off.error * math.hypot(1.0, 1.2) / 50.0, rel=1e-3)

    def test_pivot_length_by_hand_and_back(self) -> None:
        """By hand, small offsets: q = 5 P / 2 R - 7/2, so 9 in and a 2.25 in ball give 16.5; and the law inverted."""
        assert cue_of_pivot(ALONE, [9 * INCH_M]).ball_to_end_mass.value == pytest.approx(16.5)
        for q in (5.0, 22.0, 120.0):
            for offset in (0.0, 0.25, 0.5):
                found = cue_of_pivot(ALONE, [pivot_length(offset, q, RADIUS)], offset_mm=1000 * offset * RADIUS)
                assert found.ball_to_end_mass.value == pytest.approx(q, rel=1e-9)

    def test_the_contact_moves_less_than_the_cue(self) -> None:
        """By hand: 12.7 mm with a 9-mm tip on a 2.25-in ball are 9.66 mm."""
        assert offset_of_shift_mm(ALONE, Cue(tip_radius_m=0.009), 12.7) == pytest.approx(9.66, abs=0.005)

    @pytest.mark.parametrize(
        ("test", "off", "message"),
        [
            (FIRM, [], "off the line: must have one reading or more"),
            (FIRM, [900.0], r"off the line: must lie from .* to .* mm .* got 900\. Check offset"),
            (FIRM, [-5.0], "off the line: must lie from"),
            (SquirtTest(20.0, 1.8, 4.0, 0.0), [50.0], r"offset: .*not above 14\.7 mm; got 20"),
            (SquirtTest(0.5, 1.8, 4.0, 0.0), [50.0], "offset: must lie above its uncertainty of 1 mm"),
            (SquirtTest(7.0, -1.8, 4.0, 0.0), [50.0], "distance: must be a number above 0; got -1.8"),
            (SquirtTest(7.0, 1.8, 0.3, 0.0), [50.0], r"distance: must not exceed the 0\.\d+ m .* Play firmer"),
            (SquirtTest(7.0, 1.8, 400.0, 0.0), [50.0], "pace_m_s: .*; got 400"),
            (SquirtTest(7.0, 1.8, 4.0, 3.0, math.nan), [50.0], "offset: must lie above its uncertainty of nan"),
            (SquirtTest(7.0, 1.8, 4.0, 3.0, off_error_mm=-1.0), [50.0], "uncertainty of a reading, mm: .* got -1"),
            (SquirtTest(7.0, 1.8, 4.0, 3.0, pace_error=0.9), [50.0], "uncertainty of the pace, as a share: .* got 0.9"),
            (SquirtTest(7.0, 1.8, 4.0, 3.0, elevation_error_deg=math.inf), [50.0], "uncertainty of the butt, deg: .*"),
            (SquirtTest(7.0, 1.8, 4.0, 40.0), [50.0], "elevation_deg: .*; got 40"),
        ],
    )
    def test_bad_input(self, test: SquirtTest, off: list[float], message: str) -> None:
        with pytest.raises(ScenarioError, match=message):
            calibrate_cue(ALONE, Cue(), test, off)

    def test_bad_pivots(self) -> None:
        for pivots, offset, message in (
            ([], 0.0, "pivot length: must have one"),
            ([0.01], 0.0, "pivot length: must lie from 0.06"),
            ([0.3], 40.0, "offset: must lie from 0 to 28.3 mm; got 40"),
        ):
            with pytest.raises(ScenarioError, match=message):
                cue_of_pivot(ALONE, pivots, offset_mm=offset)


class TestCloth:
    """Slow rolls and stop shots."""

    def test_roll_by_hand(self) -> None:
        """Derived: 1.962 m in 6.32456 s is mu_r = 2 x 1.962 / (9.81 x 40) = 0.010."""
        found = calibrate_roll([(1.962, math.sqrt(40.0))]).rolling_resistance
        assert found is not None
        assert found.value == pytest.approx(0.010, rel=1e-12)
        # By hand, to first order: 2 x 0.2 s / 6.32 s and 5 mm / 1.962 m.
        assert found.high - found.value == pytest.approx(
            0.010 * math.hypot(0.4 / math.sqrt(40), 0.005 / 1.962), rel=0.01
        )

    @pytest.mark.parametrize("mu_r", [0.005, 0.010, 0.03])
    def test_round_trip_of_rolls(self, mu_r: float) -> None:
        place = ALONE.change(cloth=Cloth(rolling_resistance=mu_r))
        rolls = []
        for v in (0.2, 0.4):
            track = played(place, rolling(0.2, v))
            rolls.append((track.state_of(0, track.end_time).x - 0.2, track.duration))
        found = calibrate_roll(rolls).rolling_resistance
        assert found is not None
        assert found.value == pytest.approx(mu_r, rel=1e-9)

    @pytest.mark.parametrize("mu_s", [0.12, 0.20, 0.35])
    @pytest.mark.parametrize("low_mm", [7.0, 12.0])
    def test_round_trip_of_a_stop_shot(self, mu_s: float, low_mm: float) -> None:
        """The engine plays draw at the pace that stops the cue ball dead; gap and run give the friction again."""
        gap = 0.08
        place = Scenario(
            cloth=Cloth(sliding_friction=mu_s, rolling_resistance=0.012),
            balls={"cue": (0.2, 0.635), "1": (0.2 + gap + 2 * RADIUS, 0.635)},
        )

        def left_over(pace: float) -> float:
            """Cue ball's topspin [rad/s] as it meets the object ball."""
            take = Take(name="t", pace_m_s=pace, tip=Tip(up=-low_mm / 1000 / RADIUS), aim=Aim(heading_deg=0.0))
            simulation = Simulation(
                setup_of(place), struck(place, launch_of(place, take, 0.0, stroke_at(place, take, level_deg(take))))
            )
            simulation.run()
            track = simulation.track()
            self.track = track
            return next(e for e in track.events if e.kind == "ball").before[0].wy

        left_over(root(left_over, 0.9, 4.0))
        end = self.track.states_at(self.track.duration)
        assert end[0, 0] == pytest.approx(0.2 + gap, abs=0.005)  # e < 1 leaves it a crawl
        first = next((e for e in self.track.events if e.kind == "edge"), None)
        assert first is None
        found = calibrate_slide(place, low_mm, [(gap, end[1, 0] - 0.2 - gap - 2 * RADIUS)], Cue(), 4.0)
        assert found.sliding_friction is not None
        assert found.sliding_friction.value == pytest.approx(mu_s, rel=1e-6)
        assert found.sliding_friction.low < mu_s < found.sliding_friction.high

    def test_bad_input(self) -> None:
        for rolls, message in (
            ([], "rolls: must have one"),
            ([(2.0, 0.0)], "seconds: must be a number above 0; got 0"),
            ([(math.nan, 6.0)], "distance: must be a number above 0; got nan"),
            (
                [(2.0, 1.0)],
                r"rolling resistance: must lie from 0.001 to 0.05; the readings give 0.4077\. Roll it slowly",
            ),
        ):
            with pytest.raises(ScenarioError, match=message):
                calibrate_roll(rolls)
        for low, stops, message in (
            (10.0, [], "stop shots: must have one"),
            (20.0, [(0.3, 2.0)], r"low: must lie from 1 to 14\.7 mm"),
            (10.0, [(0.3, -2.0)], "run: must be a number above 0; got -2"),
            (10.0, [(2.0, 0.3)], "sliding friction: must lie from 0.02 to 0.5; .*stop dead"),
        ):
            with pytest.raises(ScenarioError, match=message):
                calibrate_slide(ALONE, low, stops, Cue())


class TestRails:
    """The ramp."""

    @pytest.mark.parametrize("e", [0.4, 0.72, 0.85, 0.97])
    @pytest.mark.parametrize("v", [0.4, 0.65])
    def test_round_trip(self, e: float, v: float) -> None:
        """The same roll, free and into the foot rail, on the engine's table."""
        place = ALONE.change(cloth=Cloth(sliding_friction=0.25, rolling_resistance=0.011), rails=Rails(restitution=e))
        free_track = played(place, rolling(0.1, v))
        free = free_track.state_of(0, free_track.duration).x - 0.1
        nose = place.table.surface.length_m - place.nose_distance_m("cue")
        track = played(place, rolling(nose - 0.3, v))
        back = nose - track.state_of(0, track.duration).x
        found = calibrate_rails(place, [free], 0.3, [back])
        assert found.restitution.value == pytest.approx(e, abs=2e-5)
        hit = next(event for event in track.events if event.kind == "edge")
        assert found.rebound.value == pytest.approx(-hit.after[0].vx / hit.before[0].vx, rel=1e-4)

    def test_46_a_calibrated_table_predicts_the_usual_stroke(self) -> None:
        """Common practice, no source: 19 diamonds with two end rails; after calibration the stop is right within one.

        Readings to the half centimetre and the tenth of a second; the gear unlike the default, which is off by more.
        """
        theirs = ALONE.change(cloth=Cloth(rolling_resistance=0.0125), rails=Rails(restitution=0.76))
        diamond = theirs.table.surface.length_m / 8
        track = played(theirs, rolling(0.1, 0.65))
        free = round(track.state_of(0, track.duration).x - 0.1, 2)
        nose = theirs.table.surface.length_m - theirs.nose_distance_m("cue")
        banked = played(theirs, rolling(nose - 0.5, 0.65))
        back = round(nose - banked.state_of(0, banked.duration).x, 2)
        ours = with_finding(ALONE, calibrate_roll([(free, round(track.duration, 1))]))
        ours = with_finding(ours, calibrate_rails(ours, [free], 0.5, [back]))
        pace = root(lambda v: travelled_m(setup_of(theirs), v) - 19 * diamond, 1.0, 5.0)
        assert travelled_m(setup_of(ours), pace) == pytest.approx(19 * diamond, abs=diamond)
        assert abs(travelled_m(setup_of(ALONE), pace) - 19 * diamond) > diamond

    def test_bad_input(self) -> None:
        for free, rail, back, message in (
            ([], 0.9, [0.4], "free rolls: must have one"),
            ([2.0], 0.9, [], "ways back: must have one"),
            ([2.0], -1.0, [0.4], "rail: must be a number above 0; got -1"),
            ([2.0], 2.5, [0.4], r"rail: must be nearer than the free roll of 2\.000 m; got 2\.5"),
            ([2.0], 0.9, [1.0], "back over what was left of the roll: must lie from .* meet the rail straight"),
        ):
            with pytest.raises(ScenarioError, match=message):
                calibrate_rails(ALONE, free, rail, back)


class TestBalls:
    """Throw of a frozen ball."""

    @pytest.mark.parametrize("condition", [0.5, 1.0, 2.0])
    @pytest.mark.parametrize("cut_deg", [45.0, 60.0])
    @pytest.mark.parametrize("pace", [0.8, 1.1])
    def test_round_trip(self, condition: float, cut_deg: float, pace: float) -> None:
        """The engine plays the frozen balls; where the object ball stops gives their condition again."""
        place = Scenario(balls={"cue": (0.5, 0.4), "1": (0.5 + 2 * RADIUS, 0.4)}, ball_set=BallSet(condition=condition))
        take = Take(name="t", pace_m_s=pace, elevation_deg=0.0, aim=Aim(heading_deg=cut_deg))
        launch = launch_of(place, take, math.radians(cut_deg), stroke_at(place, take, 0.0))
        track = Simulation(setup_of(place), struck(place, launch)).run()
        stop = track.states_at(track.duration)[1, :2] - np.array(place.balls["1"])
        found = calibrate_balls(place.change(ball_set=BallSet()), cut_deg, [(1000 * stop[0], 1000 * stop[1])])
        assert found.condition.value == pytest.approx(condition, rel=1e-6)
        assert found.pace_m_s == pytest.approx(pace, rel=1e-6)
        assert found.throw_deg.value == pytest.approx(math.degrees(math.atan2(stop[1], stop[0])))

    def test_gripping_balls_leave_the_upper_end_open(self) -> None:
        """Derived: at 30 degrees, e = 1, gripping balls throw by tan(30)/7, however dirty they are."""
        place = ALONE.change(ball_set=BallSet(restitution=1.0))
        grip = math.tan(math.radians(30.0)) / 7.0
        found = calibrate_balls(place, 30.0, [(1000.0, 999.99 * grip)])
        assert found.condition.high == 6.0
        with pytest.raises(ScenarioError, match=r"off over along: must lie from 0 to 0\.08248 .* larger cut"):
            calibrate_balls(place, 30.0, [(1000.0, 1010.0 * grip)])

    def test_bad_input(self) -> None:
        for cut, stops, message in (
            (50.0, [], "stops: must have one"),
            (50.0, [(0.0, 10.0)], "along: must be a number above 0; got 0"),
            (50.0, [(1000.0, -10.0)], "off: must be a number above 0; got -10"),
            (89.0, [(1000.0, 10.0)], "cut, deg: must lie from 5 to 80; got 89"),
        ):
            with pytest.raises(ScenarioError, match=message):
                calibrate_balls(ALONE, cut, stops)
