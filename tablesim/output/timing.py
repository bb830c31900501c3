"""Which moments of a shot the frames of a clip show: before the strike, at a speed, slower about the contacts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from tablesim.errors import TablesimError

BEFORE_S = 1.0  # of the clip, with the cue at the ball
AFTER_S = 1.5  # of the clip, once everything lies still
LONGEST_S = 120.0
SLOWEST, FASTEST = 1.0 / 50.0, 10.0
NEAR_S = (0.06, 0.1)  # of played time before and after a contact, in which it may be slower


@dataclass(frozen=True)
class Timing:
    """How takes are played: ``speed``, and ``contact_speed`` near the times in ``contacts`` [s]; None: the same.

    ``before`` [s of the clip] pass ahead of the strike; everything lies still at ``ends`` [s].
    """

    speed: float
    contact_speed: float | None
    contacts: tuple[float, ...]
    before: float
    ends: float

    def __post_init__(self) -> None:
        for name, speed in (("speed", self.speed), ("contact speed", self.contact_speed)):
            if speed is not None and not SLOWEST * (1.0 - 1e-9) <= speed <= FASTEST:
                raise TablesimError(f"{name}: must be 1/{1 / SLOWEST:.0f} to {FASTEST:g}; got {speed:g}")

    @property
    def note(self) -> str:
        """The speeds in words; empty at full speed throughout."""
        words = [] if self.speed == 1.0 else [speed_words(self.speed)]
        if self.contact_speed is not None:
            words.append(f"contact at {speed_words(self.contact_speed).removesuffix(' speed')}")
        return ", ".join(words)

    def spans(self) -> list[tuple[float, float]]:
        """The spans of played time [s] about the contacts, joined where they overlap."""
        found: list[tuple[float, float]] = []
        for t in sorted(self.contacts) if self.contact_speed is not None else ():
            start, end = max(t - NEAR_S[0], 0.0), t + NEAR_S[1]
            if found and start <= found[-1][1]:
                start = found.pop()[0]
            found.append((start, end))
        return found

    def seconds(self) -> float:
        """Length [s] of the whole clip; TablesimError if it is longer than a clip can be."""
        slow = sum(max(min(end, self.ends) - start, 0.0) for start, end in self.spans())
        played = (self.ends - slow) / self.speed + slow / (self.contact_speed or self.speed)
        whole = self.before + played + AFTER_S
        if whole > LONGEST_S:
            raise TablesimError(
                f"seconds: a clip lasts at most {LONGEST_S:g} s; at {self.note or 'full speed'} these takes last"
                f" {whole:.0f} s: give a greater speed, or the seconds to show"
            )
        return whole

    def after(self, t: float, seconds: float) -> float:
        """The played time [s] at which the clip is that many seconds after it was at ``t``, through all changes."""
        for start, end in self.spans():
            for until, speed in ((start, self.speed), (end, self.contact_speed or self.speed)):
                if t < until:
                    if t + speed * seconds <= until:
                        return t + speed * seconds
                    seconds -= (until - t) / speed
                    t = until
        return t + self.speed * seconds

    def moments(self, seconds: float | None, fps: int) -> list[float]:
        """The time after the strike [s] of every frame; ``seconds``: the clip's length (None: to the end)."""
        whole = self.seconds() if seconds is None else seconds
        if not (0.0 < whole <= LONGEST_S and math.isfinite(whole)):
            raise TablesimError(f"seconds: must be more than 0 and at most {LONGEST_S:g}; got {whole:g}")
        t, found = -self.before * self.speed, list[float]()
        for _ in range(max(1, round(whole * fps))):
            found.append(t)
            t = self.after(t, 1.0 / fps)
        return found


def speed_words(speed: float) -> str:
    """A speed as people say it: "1/10 speed", "2× speed", "full speed"."""
    if speed == 1.0:
        return "full speed"
    share = Fraction(speed).limit_denominator(50)
    if speed < 1.0 and share.numerator and abs(float(share) - speed) < 1e-3 * speed:
        return f"{share.numerator}/{share.denominator} speed"
    return f"{speed:.3g}× speed"
