"""Pictures of the window in its main states, without a screen: ``python -m tablesim.view.window.pictures FOLDER``."""

from __future__ import annotations

import os
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from tablesim.physics import jit
from tablesim.resources import open_scenario
from tablesim.units import FOOT_M

if TYPE_CHECKING:
    from ..document.series_maker import SeriesMaker
    from .app import App

SIZES = {
    "small": ((640, 400), 1.0),
    "laptop": ((1280, 800), 1.0),
    "beamer": ((1920, 1080), 1.25),
    "4k": ((3840, 2160), 2.0),
}


def take_pictures(folder: Path, sizes: tuple[str, ...] = tuple(SIZES)) -> list[Path]:
    """Write a picture of every state at every size; returns the files."""
    os.environ["SDL_VIDEODRIVER"] = "dummy"
    import pygame

    from ..document.places import Places
    from .app import App
    from .run import start_display

    folder.mkdir(parents=True, exist_ok=True)
    written = []
    jit.prepare()
    for size in sizes:
        (width, height), scale = SIZES[size]
        surface = start_display((width, height))
        for name, (scenario, prepare) in STATES.items():
            with tempfile.TemporaryDirectory() as aside:
                app = App(surface, Places(Path(aside)), open_scenario(scenario))
                app.settings.scale = scale
                app.restyle()
                settle(app)
                prepare(app)
                settle(app)
                file = folder / f"{name}-{size}.png"
                pygame.image.save(app.surface, file)
                written.append(file)
                app.close()
    return written


def settle(app: App, seconds: float = 60.0) -> None:
    """Turn frames until everything has been computed and painted; TimeoutError if that takes longer."""
    until = time.monotonic() + seconds
    calm = 0
    while calm < 3:
        if time.monotonic() > until:
            raise TimeoutError(f"the window has not come to rest in {seconds:g} s")
        painted = app.frame()
        works = app.worker.busy or app.thumbnails.busy or app.worker.engine in ("starting", "preparing")
        calm = 0 if painted or works else calm + 1
        time.sleep(0.005)


def _softer(app: App) -> None:
    app.editor.choose(2)
    settle(app)
    app.editor.set_pace(3.0)
    settle(app)


def _softer_projector(app: App) -> None:
    _softer(app)
    app.act("look")


def _compare(app: App) -> None:
    app.editor.choose(2)
    app.editor.toggle_shown(5)
    app.editor.toggle_shown(0)


def _closer(app: App) -> None:
    _compare(app)
    settle(app)
    app.act("fit_shot")
    app.act("lens")


def _lens(app: App) -> None:
    _compare(app)
    app.act("lens")


def _closer_projector(app: App) -> None:
    _closer(app)
    app.act("look")


def _growth(app: App) -> None:
    app.editor.toggle_shown(5)
    app.editor.choose(2)
    app.act("growth")


def _details(app: App) -> None:
    app.editor.choose(1)
    app.act("details")


def _page(name: str) -> Callable[[App], None]:
    return lambda app: app.open_page(name)


def _projector(app: App) -> None:
    _compare(app)
    app.act("look")


def _act(name: str) -> Callable[[App], None]:
    return lambda app: app.act(name)


def _playing(app: App) -> None:
    _compare(app)
    settle(app)
    app.act("play")
    player = app.table.player
    assert player is not None
    player.faster(-2)
    player.step(1)
    while player.contact() is None:
        player.step(1)


def _jabbed(app: App) -> None:
    """Takes that differ in more than the pace, more of them than there are rows."""
    for stroke, side in (("smooth", -0.3), ("jab", -0.3), ("smooth", 0.2), ("jab", 0.2)):
        app.editor.choose(4)
        app.editor.add_take()
        app.editor.set_stroke(stroke)
        app.editor.set_tip(side, -0.1)


def _jabbed_projector(app: App) -> None:
    _jabbed(app)
    app.act("look")


def _all_playing(app: App) -> None:
    app.act("show_all")
    settle(app)
    app.act("play")
    player = app.table.player
    assert player is not None
    player.slow_contact()
    player.go_to(min(player.contacts()) - 0.02)


def _show_playing(app: App) -> None:
    _show(app)
    settle(app)
    app.act("play")
    app.act("play")


def _lesson(app: App) -> None:
    _compare(app)
    app.act("keep")
    app.act("look")
    app.editor.choose(4)
    app.act("growth")
    app.act("keep")
    app.book.rename("It grows with distance")
    app.open_page("Lesson")


def _not_kept(app: App) -> None:
    _lesson(app)
    app.editor.set_pace(2.0)
    app.act("save")


def _show(app: App) -> None:
    _lesson(app)
    app.book.showing = True  # as by F5, in a window of the picture's size


LONG = (
    "The same aim with two cues: with a slender shaft the cue ball leaves its line less, the push grows with distance, "
    "and a soft shot swerves back; so take the aim on the side of the english when soft, opposite when firm"
)


def _show_long(app: App) -> None:
    _lesson(app)
    app.book.rename(LONG)
    app.book.showing = True


def _typing(app: App) -> None:
    _lesson(app)
    app.act("look")
    app.book.rename(LONG)
    settle(app)
    field = next(w for w in app.parts.controls() if w.key == "caption")
    app.focus_on(field)
    field.typed(LONG + " (and so on)")
    app.dirty = True


def _list(app: App) -> None:
    from ..controls.fields import Choice

    app.open_page("Gear")
    settle(app)
    choice = next(w for w in app.parts.controls() if w.key == "test")
    assert isinstance(choice, Choice)
    app.focus_on(choice)
    choice.open()
    app.dirty = True


def _warning(app: App) -> None:
    app.act("details")
    app.tell("Not saved: the folder is read-only; choose another folder with Ctrl Shift S, or free this one.", True)


def _spin(app: App) -> None:
    app.editor.choose(1)
    app.act("spin")
    app.act("details")


def _drill(app: App) -> None:
    app.editor.add_ball("8")
    app.editor.add_mark("zone", "stop here")
    app.editor.set_mark(at=(0.6, 0.9))
    app.open_page("Layout")


def _staged(app: App) -> None:
    app.settings.unit = "inch"
    app.editor.stage(2 * FOOT_M, 30.0)
    app.editor.select("3")
    app.open_page("Layout")


def _not_staged(app: App) -> None:
    app.open_page("Layout")
    app.guard(lambda: app.editor.stage(2.5, -60.0))


def _half_tip(app: App) -> None:
    for action in ("tip_centre", "half_tip_left", "quarter_tip_up"):
        app.act(action)


def _zones(app: App) -> None:
    for at, radius, text in (
        ((0.6, 0.9), 0.2, "the cue ball stops here, ten times out of ten"),
        ((2.3, 0.3), 0.15, "position for the 8, then a stop shot"), ((2.3, 0.9), 0.06, "unattainable"),
        ((1.27, 0.12), 0.1, "short"),
    ):  # fmt: skip
        app.editor.add_mark("zone", text)
        app.editor.set_mark(at=at, radius_m=radius)


def _measured(app: App) -> None:
    app.measuring.chosen = "squirt: the cue"
    app.measuring.texts["squirt: the cue"] |= {"off, mm": "51 55 60", "jabbed, mm": "66 70"}
    app.open_page("Gear")


def _measured_details(app: App) -> None:
    _measured(app)
    app.act("details")


def _series(app: App, paces: str = "soft, medium, hard") -> SeriesMaker:
    from ..pages.series_page import SeriesPage

    app.act("series")
    assert isinstance(app.overlay, SeriesPage)
    maker = app.overlay.maker
    maker.texts |= {"pace": paces, "side": "half a tip left, none, half a tip right"}
    maker.cues.append("wood")
    return maker


def _series_made(app: App) -> None:
    _series(app).make(False)
    app.close_overlay()


def _same(app: App) -> None:
    from ..pages.same_page import SamePage

    for pace, place in ((1.5, (1.5, 0.8)), (2.0, (1.6, 0.7))):
        app.editor.place_ball("3", *place)
        app.editor.set_pace(pace)
        app.act("keep")
    app.editor.set_gear("table", "table", {"size": "8ft"})
    app.editor.set_cue_number("ball_to_end_mass", 40.0)
    app.editor.set_gear_field("ball_set", "condition", 2.0)
    app.open_page("Lesson")
    app.act("same")
    assert isinstance(app.overlay, SamePage)
    app.overlay.maker.ticked += list(app.overlay.maker.found)[:2]


# Name of a state: the ready scenario, and what is done to it.
STATES: dict[str, tuple[str, Callable[[App], object]]] = {
    "softer": ("two-cues", _softer), "softer-projector": ("two-cues", _softer_projector),
    "compare": ("two-cues", _compare), "closer": ("two-cues", _closer), "lens": ("two-cues", _lens),
    "closer-projector": ("two-cues", _closer_projector), "growth": ("two-cues", _growth),
    "details": ("two-cues", _details), "layout": ("two-cues", _drill), "gear": ("two-cues", _page("Gear")),
    "measured": ("two-cues", _measured), "measured-details": ("two-cues", _measured_details),
    "projector": ("two-cues", _projector), "help": ("two-cues", _act("help")), "open": ("two-cues", _act("open")),
    "hand-out": ("two-cues", _act("hand_out")),
    "playing": ("two-cues", _playing), "lesson": ("two-cues", _lesson), "show": ("two-cues", _show),
    "jabbed": ("two-cues", _jabbed), "jabbed-projector": ("two-cues", _jabbed_projector),
    "all-playing": ("two-cues", _all_playing), "show-playing": ("two-cues", _show_playing),
    "staged": ("two-cues", _staged), "not-staged": ("two-cues", _not_staged), "half-tip": ("two-cues", _half_tip),
    "zones": ("two-cues", _zones), "first-steps": ("two-cues", _act("first_steps")), "list": ("two-cues", _list),
    "show-long": ("two-cues", _show_long), "typing": ("two-cues", _typing), "warning": ("two-cues", _warning),
    "not-kept": ("two-cues", _not_kept),
    "series": ("two-cues", _series), "no-series": ("two-cues", lambda app: _series(app, "1.5, three")),
    "series-made": ("two-cues", _series_made),
    "same": ("two-cues", _same), "spin": ("two-cues", _spin), "break": ("opening-break", lambda app: None),
}  # fmt: skip


if __name__ == "__main__":
    for file in take_pictures(Path(sys.argv[1]), tuple(sys.argv[2:]) or tuple(SIZES)):
        print(file)
