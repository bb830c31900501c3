"""Looks: every colour and weight of a scene, in one place.

Twelve takes have a colour each, and every pattern goes with two colours that are
told apart at a glance with any of the common deficiencies of colour vision, as a
test works out; no meaning hangs on colour alone.
"""

from __future__ import annotations

from dataclasses import dataclass

from .shapes import Colour

SOLID: tuple[float, ...] = ()
PATTERNS: tuple[tuple[float, ...], ...] = (SOLID, (14, 5), (14, 4, 3, 4), (7, 4), (14, 4, 3, 4, 3, 4), (9, 3, 9, 10))
PATTERN_NAMES = ("solid", "long dashes", "dash and dot", "short dashes", "dash and two dots", "pairs of dashes")
CORRECTED: tuple[float, ...] = (0.5, 5.5)  # round dots, for the corrected path of every take
TAKES_TOGETHER = 12  # in one picture, as many as there are colours
LATER: tuple[float, ...] = (1.6, 4.4)  # the same beyond the first leg


@dataclass(frozen=True)
class Look:
    """Colours, and the weights of lines [points] and letters."""

    name: str
    room: Colour
    panel: Colour
    raised: Colour
    edge: Colour
    text: Colour
    muted: Colour
    accent: Colour
    warning: Colour
    cloth: Colour
    cushion: Colour
    rail: Colour
    rail_edge: Colour
    sight: Colour
    pocket: Colour
    ink: Colour  # lines and words on the cloth
    ink_soft: Colour
    trace: Colour
    halo: Colour
    takes: tuple[Colour, ...]
    line: float = 2.2
    letters: float = 13.0
    ball_edge: Colour = "#00000055"

    def take_colour(self, index: int) -> Colour:
        """Colour of the take at a place in the list."""
        return self.takes[index % len(self.takes)]


def pattern(index: int) -> tuple[float, ...]:
    """Line pattern of the take at a place in the list; with its colour it is no other take's, up to 36 of them."""
    return PATTERNS[_pattern_place(index)]


def pattern_name(index: int) -> str:
    """What the pattern is called."""
    return PATTERN_NAMES[_pattern_place(index)]


def _pattern_place(index: int) -> int:
    """The second half of the colours, and each colour that comes again, has another pattern."""
    return (index + index // len(PATTERNS)) % len(PATTERNS)


EVENING = Look(
    name="evening",
    room="#1b2024", panel="#242a2f", raised="#30383e", edge="#414b52", text="#eeebe4", muted="#a3adaf",
    accent="#f2b84b", warning="#ff9d7a",
    cloth="#2f6660", cushion="#27544f", rail="#4b3a30", rail_edge="#35291f", sight="#e6dcc4", pocket="#0d1011",
    ink="#f4f1e9", ink_soft="#f4f1e970", trace="#f4f1e959", halo="#1b3a37",
    takes=(
        "#ffc35c", "#8fd3ff", "#ffa3c4", "#cdea6b", "#ffffff", "#c8b6ff",
        "#fba174", "#86e755", "#fc8de9", "#42fa42", "#42fa9e", "#74fbfb",
    ),
)  # fmt: skip

INKS = (
    "#a44a00", "#00549e", "#a1126b", "#3f6600", "#111111", "#5540b0",
    "#c70525", "#0505c7", "#500243", "#c705c7", "#630303", "#04758b",
)  # fmt: skip
PROJECTOR = Look(
    name="projector",
    room="#ffffff", panel="#f3f3ef", raised="#ffffff", edge="#8d9494", text="#0c0f10", muted="#4a5254",
    accent="#8a4b00", warning="#a3200d",
    cloth="#e9f3ee", cushion="#b9d3c8", rail="#5a5f60", rail_edge="#2e3233", sight="#ffffff", pocket="#16191a",
    ink="#0c0f10", ink_soft="#0c0f1080", trace="#0c0f1055", halo="#ffffff",
    takes=INKS,
    line=4.2, letters=20.0,
)  # fmt: skip

PAPER = Look(
    name="paper",
    room="#ffffff", panel="#ffffff", raised="#ffffff", edge="#999999", text="#000000", muted="#555555",
    accent="#a44a00", warning="#a3200d",
    cloth="#ffffff", cushion="#f0f0ee", rail="#ffffff", rail_edge="#777777", sight="#555555", pocket="#d9d9d9",
    ink="#000000", ink_soft="#00000080", trace="#00000050", halo="#ffffff",
    takes=INKS,
    line=1.0, letters=8.0, ball_edge="#000000",
)  # fmt: skip

LOOKS = {look.name: look for look in (EVENING, PROJECTOR, PAPER)}

# Colours of numbered balls: common practice, no source.
BALL_COLOURS = {
    1: "#f6c915", 2: "#2456a8", 3: "#d03a2f", 4: "#6a3d8f", 5: "#ef7d22", 6: "#1f7a4a", 7: "#8a2b2e", 8: "#1a1a1a",
}  # fmt: skip
IVORY = "#f7f2e6"
OTHER_BALL = "#7d8a90"


def ball_colour(name: str) -> tuple[Colour, bool]:
    """(colour, is it a stripe) of a ball by its name; unnumbered balls are grey, the cue ball ivory."""
    if name == "cue":
        return IVORY, False
    number = int(name) if name.isdigit() and len(name) < 3 else 0
    if 1 <= number <= 8:
        return BALL_COLOURS[number], False
    if 9 <= number <= 15:
        return BALL_COLOURS[number - 8], True
    return OTHER_BALL, False
