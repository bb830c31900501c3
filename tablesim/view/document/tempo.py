"""At which speeds of time a shot is played."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from tablesim.model.lesson import Scene

from .places import Settings

CONTACT_SPEED = 1.0 / 20.0  # about the contact, where it is to be slower
SLOWEST_SHARE = 0.02  # of time


@dataclass(frozen=True)
class Tempo:
    """The speed of time, 1 as at the table, and that about the balls' contact (None: the same)."""

    speed: float = 1.0
    contact_speed: float | None = None


AS_AT_THE_TABLE = Tempo()


def kept_tempo(scene: Scene) -> Tempo | None:
    """What a scene says of it; None if nothing."""
    if scene.speed is None and scene.contact_speed is None:
        return None
    return Tempo(1.0 if scene.speed is None else scene.speed, scene.contact_speed)


def kept_speed(tempo: Tempo) -> float | None:
    """The speed as a scene says it: full speed is not said."""
    return None if tempo.speed == 1.0 else tempo.speed


def usual_tempo(settings: Settings) -> Tempo:
    """How the person plays; full speed where the settings name none."""
    try:
        speed = float(Fraction(settings.speed))
    except (ValueError, ZeroDivisionError, OverflowError):
        speed = 1.0
    return Tempo(speed if SLOWEST_SHARE <= speed <= 1.0 else 1.0, CONTACT_SPEED if settings.slow_contact else None)


def remember_tempo(settings: Settings, tempo: Tempo) -> None:
    """Make it the person's usual one."""
    settings.speed = str(Fraction(tempo.speed).limit_denominator(round(1.0 / SLOWEST_SHARE)))
    settings.slow_contact = tempo.contact_speed is not None
