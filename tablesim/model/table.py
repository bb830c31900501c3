"""The table: playing surface and pockets."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Literal

from pydantic import Field, model_validator

from tablesim.physics.edge import POCKETS, PocketSize, build_edge
from tablesim.physics.records import Edge
from tablesim.units import DIAMONDS_LONG, INCH_M

from .base import Model

PocketName = Literal["head-right", "side-right", "foot-right", "foot-left", "side-left", "head-left"]
assert PocketName.__args__ == POCKETS  # type: ignore[attr-defined]

WPA = "WPA tournament table and equipment specification"
BCA = "BCA equipment specification (older, looser)"


class PocketSet(Model):
    """Sizes of the pockets; a corner and a side pocket, all alike."""

    corner_mouth_m: float = Field(4.5625 * INCH_M, ge=0.09, le=0.25, description=f"point to point. {WPA}: 4.5-4.625 in")
    side_mouth_m: float = Field(5.0625 * INCH_M, ge=0.09, le=0.25, description=f"point to point. {WPA}: 5-5.125 in")
    corner_cut_deg: float = Field(142.0, ge=120.0, le=165.0, description=f"facing to nose line. {WPA}: 142 +-1")
    side_cut_deg: float = Field(104.0, ge=92.0, le=140.0, description=f"facing to nose line. {WPA}: 104 +-1")
    corner_shelf_m: float = Field(
        1.625 * INCH_M, ge=0.005, le=0.08, description=f"bed behind the mouth line. {WPA}: 1-2 1/4 in (from memory)"
    )
    side_shelf_m: float = Field(
        0.1875 * INCH_M, ge=0.0, le=0.05, description=f"bed behind the mouth line. {WPA}: 0-3/8 in (from memory)"
    )
    jaw_radius_m: float = Field(
        0.005, ge=0.0005, le=0.03, description="rounding of the points; common practice, no source"
    )


POCKET_SETS: dict[str, PocketSet] = {
    # WPA's smallest, WPA's middle, and the BCA's older, looser set (middle of each of its ranges).
    "tight": PocketSet(corner_mouth_m=4.5 * INCH_M, side_mouth_m=5.0 * INCH_M),
    "standard": PocketSet(),
    "loose": PocketSet(
        corner_mouth_m=5.0 * INCH_M,
        side_mouth_m=5.5 * INCH_M,
        side_cut_deg=103.0,
        corner_shelf_m=1.75 * INCH_M,
    ),
}


class Size(Model):
    """A playing surface of one's own, nose to nose."""

    length_m: float = Field(ge=1.0, le=4.5, description="head rail to foot rail, nose to nose")
    width_m: float = Field(ge=0.5, le=2.3, description="side rail to side rail, nose to nose")


SIZES: dict[str, Size] = {
    "9ft": Size(length_m=100 * INCH_M, width_m=50 * INCH_M),  # WPA
    "8ft": Size(length_m=92 * INCH_M, width_m=46 * INCH_M),  # WPA
    "7ft": Size(length_m=76 * INCH_M, width_m=38 * INCH_M),  # common practice, not a WPA size
}


class Table(Model):
    """The playing surface, nose to nose, and its pockets."""

    size: Literal["9ft", "8ft", "7ft"] | Size = Field("9ft", description=f"{WPA}; or lengths of one's own")
    pockets: Literal["tight", "standard", "loose"] | PocketSet = Field(
        "standard", description=f"tight, standard: {WPA}; loose: {BCA}; or numbers of one's own"
    )

    @model_validator(mode="after")
    def _room_for_the_pockets(self) -> Table:
        sizes, pockets = self.surface, self.pocket_set
        corner = pockets.corner_mouth_m / math.sqrt(2.0)
        if 2.0 * corner + pockets.side_mouth_m + 0.4 > sizes.length_m or 2.0 * corner + 0.1 > sizes.width_m:
            raise ValueError(
                f"pockets leave no rail: mouths of {pockets.corner_mouth_m:g} and {pockets.side_mouth_m:g} m"
                f" on {sizes.length_m:g} x {sizes.width_m:g} m"
            )
        return self

    @property
    def surface(self) -> Size:
        """The playing surface in metres."""
        return self.size if isinstance(self.size, Size) else SIZES[self.size]

    @property
    def diamond_m(self) -> float:
        """A diamond along the table [m]."""
        return self.surface.length_m / DIAMONDS_LONG

    @property
    def pocket_set(self) -> PocketSet:
        """The pockets' sizes."""
        return self.pockets if isinstance(self.pockets, PocketSet) else POCKET_SETS[self.pockets]

    @property
    def edge(self) -> Edge:
        """Noses, jaws and drops as the engine uses them."""
        return _edge(self.surface, self.pocket_set)


@lru_cache(maxsize=64)
def _edge(size: Size, p: PocketSet) -> Edge:
    corner = PocketSize(p.corner_mouth_m, math.radians(p.corner_cut_deg), p.corner_shelf_m)
    side = PocketSize(p.side_mouth_m, math.radians(p.side_cut_deg), p.side_shelf_m)
    return build_edge(size.length_m, size.width_m, corner, side, p.jaw_radius_m)
