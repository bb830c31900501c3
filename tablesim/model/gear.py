"""Gear: cloth, rails, balls and cues.  Every default carries its source."""

from __future__ import annotations

from collections import OrderedDict
from typing import Literal

from pydantic import Field

from tablesim.physics.ball_ball import ball_friction
from tablesim.physics.records import BallLaw, ClothLaw, RailLaw
from tablesim.units import INCH_M, OUNCE_KG, STANDARD_GRAVITY_M_S2

from .base import Model

PROPERTIES = "Alciatore, 'Physics of Pool and Billiards' property list, Colorado State Univ."
WPA = "WPA equipment specification"
PRACTICE = "common practice, no source"

MAX_BALLS = 22
STANDARD_BALL_KG = 0.170  # the ball to which a shaft's ball_to_end_mass refers

StrokeKind = Literal["smooth", "jab"]
FrictionLaw = Literal["falling", "constant"]


class Cloth(Model):
    """What the bed does to a ball."""

    sliding_friction: float = Field(0.20, ge=0.02, le=0.5, description=f"mu_s. {PROPERTIES}: 0.15-0.4")
    rolling_resistance: float = Field(
        0.010, ge=0.001, le=0.05, description=f"mu_r, deceleration / g. {PROPERTIES}: 0.005-0.015"
    )
    spin_deceleration_rad_s2: float = Field(
        10.0, ge=0.5, le=50.0, description=f"sidespin lost per second. {PROPERTIES}: 5-15"
    )
    bed_restitution: float = Field(
        0.5, ge=0.0, le=0.9, description=f"ball on slate and cloth: how high a stroke makes it hop. {PROPERTIES}: 0.5"
    )

    @property
    def law(self) -> ClothLaw:
        """What the physics needs of the cloth."""
        return ClothLaw(
            mu_s=self.sliding_friction, mu_r=self.rolling_resistance,
            spin_deceleration=self.spin_deceleration_rad_s2, gravity=STANDARD_GRAVITY_M_S2,
        )  # fmt: skip


class Rails(Model):
    """What the cushions do to a ball."""

    restitution: float = Field(
        0.85,
        ge=0.3,
        le=1.0,
        description="energetic. Chosen so that a rolling ball straight into the rail comes off with 0.85 of its speed;"
        f" {PROPERTIES}: 0.6-0.9 as a player sees it",
    )
    friction: float = Field(
        0.14, ge=0.0, le=0.4, description="nose on ball. Mathavan, Jackson, Parkin, Proc. IMechE C 224 (2010) 1863"
    )
    facing_restitution: float = Field(
        0.70,
        ge=0.2,
        le=1.0,
        description="energetic, of the pockets' facings and points: thin rubber on wood, deader than a cushion;"
        f" {PRACTICE}",
    )
    facing_friction: float = Field(0.20, ge=0.0, le=0.4, description=f"facings and points on ball; {PRACTICE}")
    nose_height: float = Field(0.635, ge=0.5, le=0.7, description=f"of the ball's diameter. {WPA}: 0.625-0.645")

    @property
    def law(self) -> RailLaw:
        """What the physics needs of the rails."""
        return RailLaw(restitution=self.restitution, friction=self.friction)

    @property
    def facing_law(self) -> RailLaw:
        """What the physics needs of the pockets' facings and points."""
        return RailLaw(restitution=self.facing_restitution, friction=self.facing_friction)


class OddBall(Model):
    """A ball unlike the set, such as a heavy cue ball."""

    diameter_m: float | None = Field(None, ge=0.04, le=0.08, description="omitted: as the set")
    mass_kg: float | None = Field(None, ge=0.05, le=0.5, description="omitted: as the set")


class BallSet(Model):
    """The balls."""

    diameter_m: float = Field(2.25 * INCH_M, ge=0.04, le=0.08, description=f"{WPA}: 2.25 in +-0.005")
    mass_kg: float = Field(STANDARD_BALL_KG, ge=0.05, le=0.5, description=f"{WPA}: 156-170 g")
    restitution: float = Field(0.95, ge=0.5, le=1.0, description=f"ball to ball. {PROPERTIES}: 0.92-0.98")
    friction_floor: float = Field(
        0.00995, ge=0.0, le=0.5, description="a of mu = a + b exp(-c v). Alciatore TP A.14 on Marlow 1995 (from memory)"
    )
    friction_rise: float = Field(
        0.108, ge=0.0, le=0.5, description="b of mu = a + b exp(-c v). Alciatore TP A.14 on Marlow 1995 (from memory)"
    )
    friction_fall_s_m: float = Field(
        1.088, ge=0.0, le=20.0, description="c of mu = a + b exp(-c v). Alciatore TP A.14 on Marlow 1995 (from memory)"
    )
    friction_law: FrictionLaw = Field(
        "falling",
        description="falling: mu = a + b exp(-c v) of the rubbing speed v, 0.107 at 0.1 m/s and 0.014 at 3;"
        " constant: one mu at every speed. Both are in print and they disagree, most on firm strokes",
    )
    friction_constant: float = Field(
        0.06,
        ge=0.0,
        le=0.5,
        description="mu of the constant law. R. Cross, Am. J. Phys. 76 (2008) 205: typically 0.06;"
        f" {PROPERTIES}: 0.03-0.08",
    )
    condition: float = Field(
        1.0, ge=0.0, le=6.0, description=f"factor on ball friction: 1 clean, more when dirty or worn; {PRACTICE}"
    )
    odd: dict[str, OddBall] = Field({}, max_length=MAX_BALLS, description="balls unlike the set, by name")

    def radius_m(self, ball: str) -> float:
        """Radius [m] of a ball."""
        odd = self.odd.get(ball)
        own = None if odd is None else odd.diameter_m
        return (self.diameter_m if own is None else own) / 2.0

    def mass_of_kg(self, ball: str) -> float:
        """Mass [kg] of a ball."""
        odd = self.odd.get(ball)
        own = None if odd is None else odd.mass_kg
        return self.mass_kg if own is None else own

    def friction_at(self, slip_m_s: float) -> float:
        """Ball-to-ball friction coefficient at a rubbing speed [m/s]."""
        return ball_friction(slip_m_s, self.law)

    @property
    def law(self) -> BallLaw:
        """What the physics needs of the balls."""
        falls = self.friction_law == "falling"
        return BallLaw(
            restitution=self.restitution,
            a=self.friction_floor if falls else self.friction_constant,
            b=self.friction_rise if falls else 0.0,
            c=self.friction_fall_s_m,
            condition=self.condition,
        )


class Cue(Model):
    """A cue, as far as the ball can feel it."""

    ball_to_end_mass: float = Field(
        22.0,
        ge=2.0,
        le=500.0,
        description=f"mass of a ball of 170 g / end mass of the shaft; a heavier cue ball squirts less in proportion."
        f" 18-25 ordinary wood, 40-60 low-squirt; {PRACTICE}",
    )
    mass_kg: float = Field(19.0 * OUNCE_KG, ge=0.2, le=1.0, description=f"17-21 oz usual; {PRACTICE}")
    tip_restitution: float = Field(
        0.73, ge=0.3, le=1.0, description=f"{PROPERTIES}: leather 0.71-0.75, phenolic 0.81-0.87"
    )
    tip_friction: float = Field(
        0.6, ge=0.05, le=1.5, description=f"sets the miscue limit, offset sin(atan(mu)). {PROPERTIES}: 0.6"
    )
    tip_diameter_m: float = Field(0.0127, ge=0.005, le=0.014, description=f"{WPA}: at most 14 mm")
    tip_radius_m: float = Field(
        0.0106, ge=0.004, le=0.05, description=f"crown of the tip: nickel 10.6 mm, dime 9.0 mm; {PRACTICE}"
    )
    jab_factor: float = Field(
        1.25,
        ge=0.5,
        le=3.0,
        description="factor on squirt when jabbed. Player-reported, no source; measurements find none. Calibrate it",
    )

    def stroke_factor(self, stroke: StrokeKind) -> float:
        """Factor on squirt for a stroke."""
        return self.jab_factor if stroke == "jab" else 1.0

    def mass_ratio_to_end(self, ball_kg: float) -> float:
        """Mass of a ball [kg] over the end mass of the shaft, which is the same whatever it strikes."""
        return self.ball_to_end_mass * ball_kg / STANDARD_BALL_KG


# Ordered also where they are compared: a take without a cue is played with the first.
DEFAULT_CUES = OrderedDict({"house": Cue(), "low-squirt": Cue(ball_to_end_mass=50.0)})

# Presets to begin with; a table of one's own is better measured.  Common practice, no source, for the differences:
# new cloth is slick and rolls long, humid cloth is slow and grips; the numbers lie inside the sourced ranges.
CLOTHS = {
    "ordinary": Cloth(),
    "new": Cloth(sliding_friction=0.15, rolling_resistance=0.008, spin_deceleration_rad_s2=8.0),
    "worn": Cloth(sliding_friction=0.25, rolling_resistance=0.011, spin_deceleration_rad_s2=12.0),
    "humid": Cloth(sliding_friction=0.28, rolling_resistance=0.014, spin_deceleration_rad_s2=13.0),
}
RAILS = {"ordinary": Rails(), "lively": Rails(restitution=0.90), "dead": Rails(restitution=0.72)}
CONDITIONS = {"polished": 0.7, "clean": 1.0, "played": 1.3, "dirty": 2.0, "chalk at the contact": 3.0}
