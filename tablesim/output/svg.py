"""A picture as an SVG drawing, of the same shapes as the painter's."""

from __future__ import annotations

from collections.abc import Sequence
from xml.sax.saxutils import escape

import numpy as np

from tablesim.scene.look import IVORY, Look, ball_colour
from tablesim.scene.shapes import Array, Ball, Box, Disc, Frame, Path, Pen, Shape, Text

from .painter import DASHED_FOR, FONT, HALO, SPOT, UP, band_quads, lines_of, spot_outline, spots_of, width_of
from .plate import Layer, Plate


def svg_text(picture: Plate, layers: Sequence[Layer]) -> bytes:
    """The picture as an SVG drawing, a pixel a unit."""
    width, height = picture.size
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" viewBox="0 0 {width} {height}">',
        f'<rect width="{width}" height="{height}" {_ink(picture.look.room, "fill")}/>',
    ]
    for k, layer in enumerate(layers):
        drawn = [part for shape in layer.scene for part in _svg_shape(shape, layer.frame, picture)]
        parts += drawn if layer.within is None else _clipped(f"seen{k}", layer.within, drawn)
    return "\n".join([*parts, "</svg>\n"]).encode("utf-8")


def _clipped(name: str, box: Box, drawn: list[str]) -> list[str]:
    """What is drawn, seen within a box only."""
    x0, y0, x1, y1 = box
    rect = f'<rect x="{_n(x0)}" y="{_n(y0)}" width="{_n(x1 - x0)}" height="{_n(y1 - y0)}"/>'
    return [f'<defs><clipPath id="{name}">{rect}</clipPath></defs>', f'<g clip-path="url(#{name})">', *drawn, "</g>"]


def _svg_shape(shape: Shape, frame: Frame, picture: Plate) -> list[str]:
    if isinstance(shape, Path):
        if len(shape.points) < 2:
            return []
        return [_svg_path(frame.pixels(shape.points), shape.closed, _style(shape.pen, shape.fill, frame.point))]
    x, y = (float(v) for v in frame.pixels(np.array([[shape.x, shape.y]]))[0])
    if isinstance(shape, Text):
        return [part for line in lines_of(shape, frame, picture.size) for part in _svg_words(line, x, y, frame.point)]
    if isinstance(shape, Ball):
        return _svg_ball(shape, x, y, frame, picture.look)
    style = _style(shape.pen, shape.fill, frame.point)
    if isinstance(shape, Disc):
        return [_circle(x, y, shape.radius_m * frame.pixels_a_metre, style)]
    radius = shape.radius * frame.point
    if not shape.corners:
        return [_circle(x, y, radius, style)]
    a = 2.0 * np.pi * np.arange(shape.corners) / shape.corners
    corners = np.column_stack([x + radius * np.sin(a), y - radius * np.cos(a)])
    return [_svg_path(corners, True, style)]


def _n(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".")


def _circle(x: float, y: float, radius: float, style: str) -> str:
    return f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(radius)}" {style}/>'


def _svg_path(points: Array, closed: bool, style: str) -> str:
    way = " ".join(f"{_n(x)},{_n(y)}" for x, y in points.tolist())
    return f'<path d="M{way}{"Z" if closed else ""}" {style}/>'


def _ink(colour: str, what: str) -> str:
    """A fill or stroke of "#rrggbb" or "#rrggbbaa"."""
    opacity = f' {what}-opacity="{_n(int(colour[7:], 16) / 255.0)}"' if len(colour) > 7 else ""
    return f'{what}="{colour[:7]}"{opacity}'


def _style(pen: Pen | None, fill: str | None, point: float) -> str:
    """Attributes of a shape, as the painter draws it."""
    parts = [_ink(fill, "fill") if fill else 'fill="none"']
    if pen is not None:
        cap = "butt" if pen.dashes and pen.dashes[0] >= 1.0 else "round"
        parts.append(
            f'{_ink(pen.colour, "stroke")} stroke-width="{_n(pen.width * point)}" stroke-linecap="{cap}"'
            ' stroke-linejoin="round"'
        )
        if pen.dashes:
            stretch = point * max(1.0, pen.width / DASHED_FOR)
            parts.append(f'stroke-dasharray="{" ".join(_n(d * stretch) for d in pen.dashes)}"')
    return " ".join(parts)


def _svg_words(shape: Text, x: float, y: float, point: float) -> list[str]:
    """Words, over a broad outline of themselves in the halo's colour."""
    anchor = min((0.0, 0.5, 1.0), key=lambda a: abs(a - shape.across))
    aside = (anchor - shape.across) * width_of(shape.text, shape.size)
    x, y = x + (shape.dx + aside) * point, y + (0.73 * shape.up * shape.size - shape.dy) * point
    size = shape.size * point
    start = (
        f'<text x="{_n(x)}" y="{_n(y)}" font-family="{FONT}, sans-serif" font-size="{_n(size)}"'
        f' text-anchor="{ {0.0: "start", 0.5: "middle", 1.0: "end"}[anchor] }"'
        + (' font-weight="bold"' if shape.bold else "")
    )
    words = escape("".join(c for c in shape.text if c.isprintable()))
    halo = [f"{start} {_style(Pen(shape.halo, HALO * shape.size), None, point)}>{words}</text>"] if shape.halo else []
    return [*halo, f"{start} {_ink(shape.colour, 'fill')}>{words}</text>"]


def _svg_ball(ball: Ball, x: float, y: float, frame: Frame, look: Look) -> list[str]:
    """A ball, of the same parts as the painter's."""
    colour, stripe = ball_colour(ball.name)
    turn, number = np.eye(3) if ball.turn is None else ball.turn, "" if ball.name == "cue" else ball.name[:3]
    r = ball.radius_m * frame.pixels_a_metre
    place, flat = np.array([ball.x, ball.y]), ball.radius_m
    sx, sy = (float(v) for v in frame.pixels(np.array([[ball.x + 0.12 * flat, ball.y - 0.16 * flat]]))[0])
    parts = [
        _circle(sx, sy, 1.03 * r, _style(None, "#00000038", frame.point)),
        _circle(x, y, r, _style(Pen(look.ball_edge, 1.0), IVORY if stripe else colour, frame.point)),
    ]
    if stripe:
        style = _style(Pen(colour, 0.5), colour, frame.point)
        parts += [_svg_path(frame.pixels(place + flat * quad), True, style) for quad in band_quads(turn)]
    spots = [] if ball.turn is None else [(turn @ spot, SPOT, fill) for spot, fill in spots_of(ball)]
    for at, size, fill in [*spots, *([(turn @ UP, 0.52, IVORY)] if number else [])]:
        ring = spot_outline(at, size)
        if ring is not None:
            parts.append(_svg_path(frame.pixels(place + flat * ring), True, _style(None, fill, frame.point)))
    if number and (turn @ UP)[2] >= 0.55:
        at = place + 0.9 * flat * (turn @ UP)[:2]
        size = 0.62 * r / frame.point * (1.0 if len(number) < 2 else 0.85)
        px, py = (float(v) for v in frame.pixels(at[None])[0])
        parts += _svg_words(Text(0.0, 0.0, number, size, "#1a1a1a", bold=True), px, py, frame.point)
    return parts
