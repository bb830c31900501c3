"""A shot: where it is aimed, where the tip strikes, how hard, with what."""

from __future__ import annotations

import math
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, model_validator

from .base import Model
from .gear import StrokeKind
from .table import PocketName

MAX_NAME = 40  # letters
Name = Annotated[str, Field(min_length=1, max_length=MAX_NAME)]


def as_tuple(value: Any) -> Any:
    """JSON has lists where the models have tuples."""
    return tuple(value) if isinstance(value, list) else value


Point = Annotated[tuple[float, float], BeforeValidator(as_tuple)]
Near = Annotated[float, Field(ge=-5.0, le=10.0)]  # [m]: some metres about any table
PointNear = Annotated[tuple[Near, Near], BeforeValidator(as_tuple)]

MAX_ELEVATION_DEG = 15.0
LEVEL_DEG = 4.0  # of the butt in an ordinary level stroke: never 0, the rail is in the way; common practice, no source


class Tip(Model):
    """Where the tip touches the ball, in ball radii from its centre, seen along the cue."""

    right: float = Field(0.0, ge=-1.0, le=1.0, description="+ is right english")
    up: float = Field(0.0, ge=-1.0, le=1.0, description="+ is follow, - is draw")

    @model_validator(mode="after")
    def _on_the_ball(self) -> Tip:
        if self.offset >= 0.99:
            raise ValueError(f"must touch the ball: right and up together stay under 0.99 radii; got {self.offset:.3f}")
        return self

    @property
    def offset(self) -> float:
        """Distance from the centre, in ball radii."""
        return math.hypot(self.right, self.up)


class Aim(Model):
    """The cue's line, stated in one of three ways.

    ``heading_deg``: its direction, counterclockwise from +x.  ``toward``
    "pocket": the line that would, without squirt, swerve or throw, send the
    target ball across the pocket's mouth ``offset_mm`` left (+) of its centre,
    as the travelling ball sees it.  ``corrected``: the line that works, solved.
    """

    heading_deg: float | None = Field(None, ge=-360.0, le=720.0)
    toward: Literal["pocket"] | None = None
    offset_mm: float | None = Field(None, ge=-2000.0, le=2000.0)
    corrected: Literal[True] | None = None

    @model_validator(mode="after")
    def _one_way(self) -> Aim:
        ways = [self.heading_deg is not None, self.toward is not None, self.corrected is not None]
        if sum(ways) != 1:
            raise ValueError(
                'must be one of {"heading_deg": 30}, {"toward": "pocket", "offset_mm": 0} or {"corrected": true};'
                f" got {sum(ways)} of them"
            )
        if self.offset_mm is not None and self.toward is None:
            raise ValueError('offset_mm goes with "toward": "pocket" only')
        return self


class Take(Model):
    """One way of playing the layout."""

    name: Name
    cue: Name | None = Field(None, description="a cue of the file; omitted: its first")
    pace_m_s: float = Field(
        ge=0.05, le=20.0, description="ball speed that the same stroke gives on a level centre hit; a hard break is 13"
    )
    tip: Tip = Tip()
    elevation_deg: float | None = Field(
        None,
        ge=0.0,
        le=MAX_ELEVATION_DEG,
        description="of the butt; omitted: as level as an ordinary stroke is, 4 (common practice, no source). Where"
        " a rail or a ball behind the cue ball needs more, the stroke is played with the least that clears it: told."
        " Firm strokes with the butt up make the ball hop: told, not played",
    )
    stroke: StrokeKind = Field("smooth", description="jab multiplies squirt by the cue's jab_factor")
    aim: Aim = Aim(toward="pocket")


class Target(Model):
    """The ball to pot and the pocket meant for it."""

    ball: Name
    pocket: PocketName


class Mark(Model):
    """Something drawn on the layout: a label, a zone for the cue ball, or an arrow."""

    kind: Literal["label", "zone", "arrow"]
    at: PointNear = Field(description="where, or the arrow's start [m]")
    to: PointNear | None = Field(None, description="the arrow's end [m]")
    radius_m: float | None = Field(None, gt=0.0, le=2.0, description="of a zone")
    text: str = Field("", max_length=200)

    @model_validator(mode="after")
    def _complete(self) -> Mark:
        if self.kind == "arrow" and self.to is None:
            raise ValueError("an arrow needs 'to'")
        if self.kind == "zone" and self.radius_m is None:
            raise ValueError("a zone needs 'radius_m'")
        return self
