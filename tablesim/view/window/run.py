"""Opening the window and turning its loop."""

from __future__ import annotations

import gc
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from tablesim.errors import TablesimError
from tablesim.interrupts import EXIT_CODE, SHELL, hand_over
from tablesim.model.lesson import load_lesson
from tablesim.model.whole import fingerprint
from tablesim.resources import file_and_scene, lesson_file, open_scenario, place_of_scene, ready_scenarios
from tablesim.scene.drawable import drawable
from tablesim.scene.look import EVENING, IVORY

if TYPE_CHECKING:
    import pygame

    from ..document.document import Document
    from .app import App

SIZE = (1280, 800)
SMALLEST = (640, 400)
FRAMES_A_SECOND = 60
WRONG_PYGAME = (
    "the pygame found here is not pygame-ce, which tablesim needs; mend it with:"
    " pip uninstall pygame pygame-ce; pip install pygame-ce"
)


def start_display(size: tuple[int, int] | None = None) -> pygame.Surface:
    """Set SDL up and open the window, whose surface is returned; TablesimError says what is missing."""
    os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
    os.environ.setdefault("SDL_WINDOWS_DPI_AWARENESS", "permonitorv2")
    os.environ.setdefault("SDL_IME_SHOW_UI", "1")
    try:
        import pygame
    except ImportError as error:
        raise TablesimError(f"the window needs pygame-ce, which cannot be loaded ({error}); {WRONG_PYGAME}") from None
    if not getattr(pygame, "IS_CE", False):
        raise TablesimError(WRONG_PYGAME)
    try:
        pygame.display.init()
        pygame.font.init()
        pygame.display.set_caption("tablesim")
        pygame.display.set_icon(icon())
        surface = pygame.display.set_mode(size or fitting(pygame.display.get_desktop_sizes()), pygame.RESIZABLE)
    except pygame.error as error:
        raise TablesimError(f"no window can be opened here ({error}); the commands work without one") from None
    pygame.key.set_repeat(350, 40)
    surface.fill(pygame.Color(EVENING.room))
    words = pygame.font.Font(None, 32).render("tablesim", True, pygame.Color(EVENING.muted))
    surface.blit(words, words.get_rect(center=surface.get_rect().center))
    pygame.display.flip()
    return surface


def fitting(desktops: list[tuple[int, int]]) -> tuple[int, int]:
    """A window's first size [pixels]: as large as is comfortable, with room for its frame on the smallest screen."""
    w, h = min(desktops, default=SIZE)
    wide, high = min(w - 40, max(SIZE[0], w * 3 // 4)), min(h - 90, max(SIZE[1], h * 3 // 4))
    return max(wide, SMALLEST[0]), max(high, SMALLEST[1])


def icon() -> pygame.Surface:
    """A cue ball with the tip's mark left of its centre."""
    import pygame

    big = pygame.Surface((256, 256), pygame.SRCALPHA)
    pygame.draw.circle(big, pygame.Color(EVENING.cloth), (128, 128), 126)
    pygame.draw.circle(big, pygame.Color(IVORY), (128, 128), 88)
    pygame.draw.circle(big, pygame.Color("#2b5f8f"), (92, 128), 26)
    return pygame.transform.smoothscale(big, (64, 64))


def lesson_named(name_or_file: str | None) -> tuple[Path, int] | None:
    """A lesson's file and the place of the scene to begin with, if it is a lesson that is named, as FILE or FILE#2."""
    file, number = file_and_scene(name_or_file or "")
    path = lesson_file(file)
    if path is None:
        return None
    return path, 0 if number is None else place_of_scene(load_lesson(path), file, number)


def title_of(document: Document) -> str:
    """The window's title: what is open, in which file, and whether it is changed."""
    changed = "• " if document.unsaved or document.lesson_unsaved else ""
    return drawable(f"{changed}{document.scenario.title or 'untitled'} ({document.file_words}) – tablesim")


def greet(app: App, name_or_file: str | None) -> None:
    """At the very first start, with nothing to open and nothing to answer: what to do first."""
    if name_or_file is None and not app.settings.welcomed and app.overlay is None:
        app.act("first_steps")


def _stay(app: App, ended: list[int]) -> None:
    """Turn frames until the window is closed, or a signal that ends it has come."""
    import pygame

    clock = pygame.time.Clock()
    while app.running and not ended:
        app.events(pygame.event.get())
        painted = app.frame()
        title = title_of(app.document)
        if pygame.display.get_caption()[0] != title:
            pygame.display.set_caption(title)
        if painted:
            pygame.display.flip()
        clock.tick(FRAMES_A_SECOND)


def run(name_or_file: str | None = None) -> None:
    """Open the window, with a scenario or lesson if named, and stay until it is closed.

    Ctrl-C exits with 130, being ended by the system or with its terminal with 143 or 129: unsaved work is kept.
    """
    lesson = lesson_named(name_or_file)
    own = name_or_file and lesson is None and name_or_file not in ready_scenarios()
    path = Path(name_or_file) if own and name_or_file else None
    known = None if path is None else fingerprint(path)
    scenario = None if name_or_file is None or lesson is not None else open_scenario(name_or_file)
    from ..answers.worker import Helper

    worker = Helper()  # first: it gets ready while the window is opened
    surface = start_display()
    import pygame

    from ..document.places import Places
    from .app import App

    app = App(surface, Places(), scenario, path, known, worker=worker)
    if lesson is not None:
        app.guard(lambda: app.files.open_lesson(*lesson))
    greet(app, name_or_file)
    gc.freeze()  # what is there by now stays: the collector need not walk through it in the middle of a drag
    try:
        ended: list[int] = []  # by these signals
        hand_over(ended.append)  # from here on there may be work to keep
        _stay(app, ended)
        if ended:
            app.keep_unsaved()
            sys.exit(SHELL + ended[0])
    except KeyboardInterrupt:
        app.keep_unsaved()
        sys.exit(EXIT_CODE)
    except Exception as error:
        app.keep_unsaved()
        print(
            f"tablesim: the window met a fault of ours ({type(error).__name__}: {error});"
            " your work was kept and will be offered at the next start",
            file=sys.stderr,
        )
        if os.environ.get("TABLESIM_DEBUG"):
            raise
        sys.exit(1)
    finally:
        app.close()
        pygame.quit()
