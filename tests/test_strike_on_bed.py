"""The strike on the bed: what the bed rubs while the tip pushes, how the ball hops, whose mass the shaft feels.

The law of the bed is derived here (strike.rubbed_on_bed); it is compared with an
integration over the milliseconds of a push, and with the theorem that Coriolis
gave for where a stroke leads in the end (1835).  The bed's restitution of 0.5 is
Alciatore's, "Physics of Pool and Billiards" property list.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from conftest import RADIUS
from scipy.integrate import solve_ivp

from tablesim.errors import ScenarioError
from tablesim.model.gear import BallSet, Cloth, Cue, OddBall
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Aim, Take, Target, Tip
from tablesim.physics.cloth import cloth_slip
from tablesim.physics.strike import Stroke, strike_ball, tip_impulse, vertical_impulse
from tablesim.resources import open_scenario
from tablesim.study.answer import answer_take
from tablesim.study.correct import correct_take
from tablesim.study.deflection import deflection_of
from tablesim.study.explain import explain_take
from tablesim.study.hops import hop_of
from tablesim.study.laws import StrikeGear, strike_law
from tablesim.study.predict import predict_take
from tablesim.study.stroke import squirt_of, stroke_at, stroke_of

G = 9.81


def strokes(count: int, seed: int) -> list[tuple[Stroke, float]]:
    """Any stroke that a tip can hold, the butt from level to 60 degrees, every third near level; the bed's friction."""
    rng = np.random.default_rng(seed)
    found = []
    for k in range(count):
        steepest = math.pi / 3 if k % 3 else 0.03
        offset, clock = 0.5 * math.sqrt(rng.random()), rng.uniform(0, math.tau)
        stroke = Stroke(
            rng.uniform(0.5, 9.0), offset * math.cos(clock), offset * math.sin(clock), rng.uniform(0, steepest),
            rng.uniform(10, 80), rng.uniform(0.25, 0.4), rng.choice([0.0, 1.0, 1.25]),
        )  # fmt: skip
        found.append((stroke, rng.uniform(0.05, 0.5)))
    return found


def pushed(stroke: Stroke, mu_s: float) -> np.ndarray:
    """The ball after a push that rises and falls over a millisecond, on a bed that holds it up: v_x, v_y, w.

    Newton's and Euler's equations step by step: the tip's force, the bed's push
    against its vertical part, and Coulomb's friction of the bed, softened below
    a slip of 1e-5 m/s.  For that long gravity counts for nothing.
    """
    forward, left, up = tip_impulse(stroke)
    cos_e, sin_e = math.cos(stroke.elevation), math.sin(stroke.elevation)
    whole = np.array([forward * cos_e + up * sin_e, left, up * cos_e - forward * sin_e])
    s_l, s_u = stroke.offset_left, stroke.offset_up
    c = math.sqrt(1 - s_l**2 - s_u**2)
    arm = RADIUS * np.array([-c * cos_e + s_u * sin_e, s_l, s_u * cos_e + c * sin_e])
    lasts = 1e-3

    def rates(t: float, q: np.ndarray) -> np.ndarray:
        tip = whole * math.pi / (2 * lasts) * math.sin(math.pi * t / lasts)
        slip = np.array([q[0] - RADIUS * q[3], q[1] + RADIUS * q[2]])
        rub = -mu_s * max(0.0, -tip[2]) * slip / max(np.hypot(*slip), 1e-5)
        torque = np.cross(arm, tip) + np.cross([0, 0, -RADIUS], [*rub, 0.0])
        return np.array([*(tip[:2] + rub), *(2.5 / RADIUS**2 * torque)])

    done = solve_ivp(rates, (0, lasts), np.zeros(5), method="Radau", rtol=1e-9, atol=1e-11, max_step=lasts / 50)
    return np.asarray(done.y[:, -1])


@pytest.mark.parametrize("case", range(40))
def test_the_bed_rubs_as_a_finite_push_has_it(case: int) -> None:
    stroke, mu_s = strokes(40, 7)[case]
    ball = strike_ball(stroke, RADIUS, mu_s)
    found = np.array([ball.vx, ball.vy, RADIUS * ball.wx, RADIUS * ball.wy, RADIUS * ball.wz])
    reference = pushed(stroke, mu_s) * [1, 1, RADIUS, RADIUS, RADIUS]
    assert found == pytest.approx(reference, abs=2e-5 * stroke.pace)


def test_some_of_those_end_their_slip_in_the_strike_and_some_lift_the_ball() -> None:
    ends = [np.hypot(*cloth_slip(strike_ball(s, RADIUS, mu), RADIUS)) < 1e-9 for s, mu in strokes(40, 7)]
    lifts = [vertical_impulse(s) > 0 for s, _ in strokes(40, 7)]
    assert 0 < sum(ends) < 40
    assert 0 < sum(lifts) < 40


def test_where_a_stroke_leads_in_the_end_is_not_the_beds_to_say() -> None:
    """Coriolis 1835: parallel to the line from the ball's resting point to where the cue's axis meets the cloth."""
    for stroke, mu_s in strokes(200, 8):
        smooth = stroke._replace(stroke_factor=0.0)
        ball = strike_ball(smooth, RADIUS, mu_s)
        ux, uy = cloth_slip(ball, RADIUS)
        way = np.array([ball.vx - 2 / 7 * ux, ball.vy - 2 / 7 * uy])
        s_l, s_u, e = stroke.offset_left, stroke.offset_up, stroke.elevation
        # The axis passes the point (0, s_l, R + ...) of the ball's middle plane; in units of R from the resting point.
        forward, aside = (math.cos(e) + s_u) / math.sin(e), s_l
        assert way[1] * forward - way[0] * aside == pytest.approx(
            0.0, abs=1e-9 * np.hypot(*way) * np.hypot(forward, aside)
        )
        assert way[0] * forward >= 0.0


@pytest.mark.parametrize(("elevation_deg", "moved_mm"), [(3.0, 6.4), (5.0, 17.8), (8.0, 45.9), (15.0, 175.3)])
def test_what_it_moves_at_the_pocket(monkeypatch: pytest.MonkeyPatch, elevation_deg: float, moved_mm: float) -> None:
    """Derived from the impulse mu_s times the vertical one, on the ready scenario, low-squirt cue, hard."""
    scenario = open_scenario("two-cues")
    take = scenario.take_named("low-squirt, hard").model_copy(update={"elevation_deg": elevation_deg})
    there = predict_take(scenario, take).target.miss_mm
    monkeypatch.setattr(
        "tablesim.study.stroke.strike_ball", lambda stroke, radius, mu_s: strike_ball(stroke, radius, 0.0)
    )
    without = predict_take(scenario, take).target.miss_mm
    assert there is not None
    assert without is not None
    assert without - there == pytest.approx(moved_mm, abs=0.1)


def test_the_law_alone_tells_tip_and_bed_apart() -> None:
    found = strike_law(4.5, -0.3, 0.0, 3.0, 50.0)
    dry = strike_law(4.5, -0.3, 0.0, 3.0, 50.0, StrikeGear(sliding_friction=0.0))
    assert found.squirt_deg == dry.squirt_deg < 0.0 < found.bed_turn_deg
    assert dry.bed_turn_deg == 0.0
    assert math.degrees(math.atan2(*found.velocity_m_s[::-1])) == pytest.approx(found.squirt_deg + found.bed_turn_deg)
    # Level and at centre height nothing presses on the bed.
    assert strike_law(4.5, -0.3, 0.0, 0.0, 50.0) == strike_law(
        4.5, -0.3, 0.0, 0.0, 50.0, StrikeGear(sliding_friction=0.0)
    )


def test_the_law_alone_has_no_answer_beyond_the_miscue_limit() -> None:
    strike_law(2.0, 0.5, 0.0, 0.0, 22.0)
    with pytest.raises(ScenarioError, match=r"--right, --up: beyond 0\.514 ball radii .* got 0\.600"):
        strike_law(2.0, 0.6, 0.0, 0.0, 22.0)
    assert strike_law(2.0, 0.6, 0.0, 0.0, 22.0, StrikeGear(tip_friction=0.8)).squirt_deg > 0.0


@pytest.mark.parametrize("elevation_deg", [6.0])
def test_the_bed_is_part_of_swerve_where_it_is_told(elevation_deg: float) -> None:
    scenario = open_scenario("two-cues")
    take = scenario.take_named("low-squirt, hard").model_copy(update={"elevation_deg": elevation_deg})
    why = explain_take(scenario, take)
    parts = {part.cause: part.mm for part in why.parts}
    assert why.miss_mm is not None
    assert sum(parts.values()) == pytest.approx(why.miss_mm, abs=1e-9)
    at = deflection_of(scenario, take, (0.02,)).points[0]
    assert parts["swerve"] < -40.0
    assert at.swerve_mm > 0.02 * 1000 * math.tan(math.radians(0.03))  # turned at once, before any curve
    assert at.squirt_mm == pytest.approx(20.0 * math.tan(squirt_of(stroke_of(scenario, take, None), RADIUS)))


def test_a_heavier_cue_ball_squirts_less_in_proportion() -> None:
    """The end mass is the shaft's; a ball 6 % heavier is pushed aside 6 % less by it (derived here)."""
    take = Take(name="t", pace_m_s=3.0, tip=Tip(right=0.4), elevation_deg=0.0, aim=Aim(heading_deg=0.0))
    place = Scenario(balls={"cue": (0.6, 0.6)}, cues={"c": Cue(ball_to_end_mass=40.0)})
    usual = squirt_of(stroke_at(place, take, 0.0), RADIUS)
    for set_of in (BallSet(odd={"cue": OddBall(mass_kg=1.06 * 0.170)}), BallSet(mass_kg=1.06 * 0.170)):
        heavy = squirt_of(stroke_at(place.change(ball_set=set_of), take, 0.0), RADIUS)
        assert usual / heavy == pytest.approx((1 + 42.4 + 2.5 * 0.84) / (1 + 40 + 2.5 * 0.84), rel=1e-4)
        assert usual / heavy == pytest.approx(1.06, abs=0.005)
    assert "170 g" in Cue.model_fields["ball_to_end_mass"].description  # type: ignore[operator]


class TestHops:
    """Free flight by hand."""

    place = Scenario(balls={"cue": (0.6, 0.635), "1": (1.2, 0.635)}, target=Target(ball="1", pocket="foot-left"))

    far = place.change(balls={"cue": (1.7, 0.635), "1": (2.1, 0.635)})  # no rail under the cue

    def take(self, pace: float, elevation: float, up: float = 0.0) -> Take:
        return Take(name="t", pace_m_s=pace, elevation_deg=elevation, tip=Tip(up=up), aim=Aim(heading_deg=0.0))

    @pytest.mark.parametrize("bed", [0.0, 0.3, 0.5])
    def test_of_a_centre_ball_stroke(self, bed: float) -> None:
        """v sin(8 deg) into the bed, e times that out of it: h = u^2 / 2g, 2u / g long; each hop e times the last."""
        place = self.place.change(cloth=Cloth(bed_restitution=bed))
        hop = hop_of(place, self.take(4.5, 8.0), 0.0)
        up = bed * 4.5 * math.sin(math.radians(8.0))
        if not bed:
            assert hop is None
            return
        assert hop is not None
        assert hop.height_mm == pytest.approx(1000 * up**2 / (2 * G), rel=1e-3)
        speed = 4.5 * (math.cos(math.radians(8.0)) - 0.2 * math.sin(math.radians(8.0)))  # the bed has rubbed
        assert hop.length_m == pytest.approx(speed * 2 * up / G, rel=1e-3)
        assert hop.landings_s[:2] == pytest.approx([2 * up / G, 2 * up * (1 + bed) / G], rel=1e-3)

    def test_soft_strokes_stay_down_and_a_level_draw_lifts(self) -> None:
        assert hop_of(self.place, self.take(1.3, 3.0), 0.0) is None
        assert hop_of(self.far, self.take(6.0, 0.0), 0.0) is None
        lifted = hop_of(self.far, self.take(6.0, 0.0, up=-0.4), 0.0)
        assert lifted is not None
        assert lifted.height_mm > 0.1

    def test_who_is_met_in_the_air_is_told_everywhere(self) -> None:
        near = self.place.change(balls={"cue": (0.6, 0.635), "1": (0.8, 0.66)})
        take = self.take(4.5, 8.0).model_copy(update={"aim": Aim(corrected=True)})
        hop = predict_take(near, take).hop
        assert hop is not None
        assert hop.meets == "1"
        # Where it is met: on the parabola, at the time the balls meet.
        contact = predict_take(near, take).contact
        assert contact is not None
        when = contact.distance_m / 4.33
        up = 0.5 * 4.5 * math.sin(math.radians(8.0))
        assert hop.at_mm == pytest.approx(1000 * (up * when - 0.5 * G * when**2), abs=0.1)
        assert "still hopping when it meets ball 1" in answer_take(near, take).remarks
        assert "still hopping when it meets ball 1" in (correct_take(near, take).warning or "")
        far = self.place.change(balls={"cue": (0.6, 0.635), "1": (1.6, 0.66)})
        assert answer_take(far, take).remarks == ""
        assert correct_take(far, take).warning is None
        assert predict_take(far, take).hop is not None

    def test_a_ball_frozen_to_the_cue_ball_is_met_on_the_bed(self) -> None:
        frozen = self.place.change(balls={"cue": (0.6, 0.635), "1": (0.6 + 2 * RADIUS, 0.635)})
        hop = predict_take(frozen, self.take(4.5, 8.0)).hop
        assert hop is not None
        assert hop.meets is None
