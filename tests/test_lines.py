"""Lines that tell takes apart: their colours, and the ends of their dashes on every surface."""

from __future__ import annotations

import io
import itertools
import math
from typing import Any

import numpy as np
import pytest
from pypdf import PdfReader

from tablesim.output.page import Page
from tablesim.output.painter import Painter
from tablesim.output.svg import _style
from tablesim.scene.look import CORRECTED, EVENING, LOOKS, PATTERNS, TAKES_TOGETHER, Look, pattern
from tablesim.scene.shapes import Path, Pen, fit

WIDTH, HEIGHT = 200, 40
DASHED = [pattern for pattern in PATTERNS if pattern]


# How a colour looks to people without one kind of cones: G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A
# physiologically-based model for simulation of color vision deficiency", IEEE TVCG 15 (2009) 1291, severity 1.0, on
# linear RGB; numbers from memory.
SIGHT = {
    "all cones": np.eye(3),
    "no red": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "no green": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    "no blue": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
}


def linear(colour: str) -> np.ndarray:
    """Linear RGB of an sRGB colour (IEC 61966-2-1)."""
    parts = (int(colour[k : k + 2], 16) / 255.0 for k in (1, 3, 5))
    return np.array([v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts])


def lab(colour: str, sight: str = "all cones") -> tuple[float, float, float]:
    """CIE 1976 L*a*b* of an sRGB colour as such eyes see it, white at D65."""
    seen = np.clip(np.array(SIGHT[sight]) @ linear(colour), 0.0, 1.0)
    rows = ((0.4124, 0.3576, 0.1805, 0.9505), (0.2126, 0.7152, 0.0722, 1.0), (0.0193, 0.1192, 0.9505, 1.089))
    x, y, z = (float(np.dot(row[:3], seen)) / row[3] for row in rows)
    fx, fy, fz = (t ** (1 / 3) if t > (6 / 29) ** 3 else t / (3 * (6 / 29) ** 2) + 4 / 29 for t in (x, y, z))
    return 116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)


@pytest.mark.parametrize("look", LOOKS.values(), ids=LOOKS)
def test_no_two_takes_have_one_colour(look: Look) -> None:
    """Ten is a difference seen at a glance (CIE 1976, common practice)."""
    colours = [look.take_colour(index) for index in range(TAKES_TOGETHER)]
    for one, other in itertools.combinations(colours, 2):
        assert math.dist(lab(one), lab(other)) > 20.0, (one, other)
    assert look.take_colour(TAKES_TOGETHER) == colours[0]


@pytest.mark.parametrize("look", LOOKS.values(), ids=LOOKS)
@pytest.mark.parametrize("sight", SIGHT)
def test_takes_of_one_pattern_are_told_apart_by_anyone(look: Look, sight: str) -> None:
    for one, other in itertools.combinations(range(TAKES_TOGETHER), 2):
        if pattern(one) == pattern(other):
            apart = math.dist(lab(look.take_colour(one), sight), lab(look.take_colour(other), sight))
            assert apart > 40.0, (one, other)


def painted(dashes: tuple[float, ...], width: float) -> np.ndarray:
    """Which columns of a level line from 20 to 180 pixels are inked, along its middle."""
    painter = Painter(WIDTH, HEIGHT, EVENING)
    frame = fit(WIDTH, HEIGHT, 0.0, (0.0, 0.0, WIDTH, HEIGHT))
    painter.lay(None)
    empty = painter.pixels[HEIGHT // 2].astype(int)
    y = 0.5 * HEIGHT
    painter.paint([Path(np.array([[20.0, y], [180.0, y]]), Pen("#ffffff", width / frame.point, dashes))], frame)
    return np.asarray(np.abs(painter.pixels[HEIGHT // 2].astype(int) - empty).max(axis=1) > 100)


def test_dashes_end_where_they_end() -> None:
    """A round cap would lengthen each by half a width at either end, and close the gaps."""
    ink = painted((14.0, 5.0), 2.0)
    inked = [len(list(run)) for on, run in itertools.groupby(ink[20:172]) if on]
    assert inked == [14] * 8
    assert not painted((14.0, 5.0), 10.0)[20:180].all()
    assert painted((), 10.0)[20:180].all()


def test_a_solid_line_and_dots_are_round() -> None:
    """The cap reaches half a width beyond the end; dots of no length would not be seen without."""
    columns = np.nonzero(painted((), 10.0))[0]
    assert 15 <= columns[0] < 18
    dots = [len(list(run)) for on, run in itertools.groupby(painted(CORRECTED, 2.0)) if on]
    assert len(dots) > 20
    assert min(dots) >= 2


@pytest.mark.parametrize("dashes", [(), CORRECTED, *DASHED])
def test_svg_and_print_have_the_same_caps(dashes: tuple[float, ...]) -> None:
    butt = dashes in DASHED
    assert f'stroke-linecap="{"butt" if butt else "round"}"' in _style(Pen("#ffffff", 2.0, dashes), None, 1.0)
    page = Page("a4")
    page.outline([(20.0, 20.0), (60.0, 20.0)], Pen("#000000", 2.0, dashes))
    states: Any = PdfReader(io.BytesIO(page.data())).pages[0]["/Resources"]
    caps = [state.get_object().get("/LC") for state in states["/ExtGState"].values()]
    assert [cap for cap in caps if cap is not None] == [0 if butt else 1]
