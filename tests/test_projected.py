"""The look for a projector: letters for the back of the room, in a layout that still fits."""

from __future__ import annotations

from collections.abc import Callable

import pygame
import pytest
from window import Driver

from tablesim.output.painter import Painter
from tablesim.scene.shapes import Frame, Scene, Text
from tablesim.view.controls import fields, lines_field, widgets
from tablesim.view.document.places import Settings
from tablesim.view.window.pictures import STATES

Open = Callable[..., Driver]


@pytest.mark.parametrize(
    ("size", "own", "scale"),
    [
        ((1920, 1080), 1.0, 1080 / 45 / 13),  # letters of 13 points are a forty-fifth of the height
        ((1920, 1080), 1.25, 1080 / 45 / 13),  # whatever the person's own size
        ((1920, 1080), 2.0, 2.0),  # but if that is larger
        ((1280, 800), 1.0, 800 / 45 / 13),
        ((800, 1280), 1.0, 1.25),  # 640 points are left across
        ((640, 400), 1.0, 1.0),
    ],
)
def test_how_much_larger_all_is(size: tuple[int, int], own: float, scale: float) -> None:
    assert Settings(look="projector", scale=own).scale_in(*size) == pytest.approx(scale)
    assert Settings(look="evening", scale=own).scale_in(*size) == own
    assert Settings(look="evening", scale=own).scale_in(*size, from_afar=True) == pytest.approx(scale)


def test_the_look_enlarges_controls_and_keeps_them_in_the_window(window: Open) -> None:
    w = window(size=(1920, 1080))
    before = {c.key: c.rect.copy() for c in w.app.parts.controls()}
    w.key(pygame.K_v)
    w.settle()
    after = {c.key: c.rect for c in w.app.parts.controls()}
    assert before.keys() - after.keys() <= {"ledger"}  # nothing had to go but the bars, which F4 gives room
    assert after["save"].h == pytest.approx(w.app.ui.scale * before["save"].h, abs=1.0)
    page = {c.key for c in w.app.parts.widgets}  # which may be scrolled
    assert all(w.app.surface.get_rect().contains(rect) for key, rect in after.items() if key not in page)
    w.key(pygame.K_v)
    w.settle()
    assert {c.key: c.rect for c in w.app.parts.controls()} == before


def test_a_window_made_larger_is_enlarged_then(window: Open) -> None:
    w = window(size=(1280, 800))
    w.key(pygame.K_v)
    before = w.app.ui.scale
    pygame.display.set_mode((1920, 1080))
    w.send(pygame.Event(pygame.WINDOWSIZECHANGED, x=1920, y=1080))
    assert w.app.ui.scale == pytest.approx(before * 1080 / 800)


@pytest.mark.parametrize("size", [(1280, 800), (1920, 1080)])
@pytest.mark.parametrize("state", STATES)
def test_every_word_can_be_read_from_the_back_of_the_room(
    window: Open, monkeypatch: pytest.MonkeyPatch, state: str, size: tuple[int, int]
) -> None:
    """No letters are smaller than a forty-fifth of the window's height, on controls, pages and table alike.

    But for words within a zone, which are as large as the zone lets them be.
    """
    found: list[tuple[float, str]] = []
    written, painted = widgets.letters, Painter.paint

    def letters(text: str, pixels: int, colour: str, bold: bool) -> pygame.Surface:
        found.append((pixels, text))
        return written(text, pixels, colour, bold)

    def paint(painter: Painter, scene: Scene, frame: Frame) -> None:
        found.extend((s.size * frame.point, s.text) for s in scene if isinstance(s, Text) and not s.within_m)
        painted(painter, scene, frame)

    for module in (widgets, fields, lines_field):
        monkeypatch.setattr(module, "letters", letters)
    monkeypatch.setattr(Painter, "paint", paint)
    scenario, prepare = STATES[state]
    w = window(scenario=scenario, size=size)
    prepare(w.app)
    w.settle()
    found.clear()
    w.app.settings.look = "projector"
    w.app.restyle()
    w.settle()
    w.app.draw()
    assert len(found) > 10
    least = size[1] / 45 - 0.5  # letters are whole pixels
    assert [words for pixels, words in found if pixels < least] == []
