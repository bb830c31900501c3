"""What is shown of the table, and how closely: actions by name."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

import pygame

from tablesim.errors import TablesimError
from tablesim.scene.closer import about_shot

from ..answers.steps import ANSWERS
from .desk import Desk

MAGNIFIED = (1, 2, 5, 10)


def by_name(desk: Desk) -> dict[str, Callable[[], object]]:
    """The actions."""
    return {
        "growth": partial(growth, desk), "magnify": partial(magnify, desk),
        "corrected": partial(turn_over, desk, "corrected"), "spin": partial(turn_over, desk, "spin"),
        "whole_ways": partial(turn_over, desk, "whole_ways"), "lens": partial(lens, desk),
        "closer": partial(zoom, desk, 1.0), "farther": partial(zoom, desk, -1.0),
        "fit_shot": partial(fit_shot, desk), "whole_table": partial(show, desk, closer=None),
    }  # fmt: skip


def show(desk: Desk, **fields: Any) -> None:
    """Show it otherwise: fields of Shown."""
    desk.editor.shown = replace(desk.editor.shown, **fields)


def turn_over(desk: Desk, field: str) -> None:
    """Something that is shown or not, the other way."""
    show(desk, **{field: not getattr(desk.editor.shown, field)})


def growth(desk: Desk) -> None:
    """The distance off the line, on or off."""
    desk.stop_playing()
    on = desk.editor.shown.growth > 0
    show(desk, growth=0 if on else 5)
    if not on:
        desk.tell("Distance off the cue's line, sideways ×5. M changes the magnification.")


def magnify(desk: Desk) -> None:
    """Another magnification of the distance off the line."""
    now = desk.editor.shown.growth
    at = MAGNIFIED.index(now) if now in MAGNIFIED else -1
    show(desk, growth=MAGNIFIED[(at + 1) % len(MAGNIFIED)])


def lens(desk: Desk) -> None:
    """The lenses, on or off."""
    if desk.editor.scenario.target is None:
        raise TablesimError("The lenses show contact and pocket mouth: pick a target ball and a pocket first.")
    turn_over(desk, "lens")


def zoom(desk: Desk, steps: float) -> None:
    """Look closer, or from farther off, about the mouse if it is over the table."""
    table = desk.table
    table.zoom(steps, desk.ui.mouse if table.rect.collidepoint(desk.ui.mouse) else None)


def fit_shot(desk: Desk) -> None:
    """Look at the part of the table where the shot is."""
    editor = desk.editor
    answers = editor.findings[ANSWERS] if editor.findings is not None else {}
    show(desk, closer=about_shot(editor.scenario, answers))


def wheel(desk: Desk, steps: float) -> None:
    """Over the table: turn the cue, coarsely with Shift, finely with Ctrl; look closer with Alt."""
    mods = pygame.key.get_mods()
    if mods & pygame.KMOD_ALT:
        zoom(desk, steps)
    else:
        desk.table.wheel(steps, 10.0 if mods & pygame.KMOD_SHIFT else 0.1 if mods & pygame.KMOD_CTRL else 1.0)
