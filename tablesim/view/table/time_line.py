"""The line of time: stretched up to the first contact, and the names at its ticks where there is room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

BEFORE_SHARE = 0.5  # of the line, for what happens up to the first contact


@dataclass(frozen=True)
class Stretch:
    """From played time [s] to a share of the line (0 to 1) and back, straight up to the knee and beyond it.

    ``contact_s`` is the time of the first contact, None without one.  A contact
    that comes later than half-way lies where it would on a straight line.
    """

    contact_s: float | None
    ends_s: float

    @property
    def _knee(self) -> tuple[float, float]:
        if self.contact_s is None or not 0.0 < self.contact_s < BEFORE_SHARE * self.ends_s:
            return max(self.ends_s, 1e-6), 1.0
        return self.contact_s, BEFORE_SHARE

    def share(self, t: float) -> float:
        """Where a time lies; those before and after lie at the ends."""
        at, share = self._knee
        if t <= at:
            return max(t, 0.0) / at * share
        return min(share + (t - at) / (self.ends_s - at) * (1.0 - share), 1.0) if self.ends_s > at else 1.0

    def time(self, share: float) -> float:
        """Which time lies there."""
        at, knee = self._knee
        share = min(max(share, 0.0), 1.0)
        return at * share / knee if share <= knee else at + (self.ends_s - at) * (share - knee) / (1.0 - knee)


@dataclass(frozen=True)
class Tick:
    """An event on the line: where [pixels], how wide its name is, and its rank, 0 before all others."""

    x: int
    wide: int
    rank: int


def named_ticks(ticks: Sequence[Tick], ends: tuple[int, int], gap: int) -> dict[int, int]:
    """Which ticks have their names, by their places, and where these begin [pixels].

    Within the line's ends, ``gap`` pixels apart; those of a lower rank first,
    then from the left.
    """
    placed = dict[int, int]()
    for k in sorted(range(len(ticks)), key=lambda k: (ticks[k].rank, ticks[k].x)):
        tick = ticks[k]
        left = max(ends[0], min(tick.x - tick.wide // 2, ends[1] - tick.wide))
        if left + tick.wide > ends[1] or any(
            left < other + ticks[j].wide + gap and other < left + tick.wide + gap for j, other in placed.items()
        ):
            continue
        placed[k] = left
    return placed
