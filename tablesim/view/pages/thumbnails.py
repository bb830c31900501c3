"""Small pictures of a lesson's scenes: worked out beside the window, painted not more than one a frame."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pygame

from tablesim.errors import TablesimError
from tablesim.model.lesson import Scene
from tablesim.model.scenario import Scenario
from tablesim.output.painter import Painter
from tablesim.physics import jit
from tablesim.resources import scenario_of
from tablesim.scene.closer import MARGIN_M
from tablesim.scene.look import Look
from tablesim.scene.picture import ground_scene, lively_scene
from tablesim.scene.shapes import Scene as Shapes
from tablesim.scene.shapes import fit
from tablesim.scene.shot import Shown, mouth_scene, take_scene
from tablesim.study.answer import Answer
from tablesim.study.predict import predict_take

from ..table.table_view import order_of, picture_of

SHARE = 0.55  # of the weight of lines, as if the picture lay farther away
KEPT = 300  # pictures


@dataclass(frozen=True)
class Worked:
    """A scene's scenario, its takes' paths by their places, and the place of the chosen one."""

    scenario: Scenario
    answers: dict[int, Answer]
    chosen: int


def worked_out(scene: Scene, folder: Path | None) -> Worked | None:
    """The paths of a scene as aimed; None where its scenario cannot be read."""
    try:
        scenario = scenario_of(scene, folder)
        answers = {}
        for place in scene.places_in(scenario):
            take = scenario.takes[place]
            try:
                answers[place] = Answer(take, predict_take(scenario, take), None, None, None)
            except TablesimError:  # an aim that names no line has no path
                continue
    except TablesimError:
        return None
    return Worked(scenario, answers, next(iter(scene.places_in(scenario)), 0))


def small_scene(worked: Worked, look: Look) -> Shapes:
    """The table with the paths, without words."""
    shown = Shown(worked.chosen, tuple(worked.answers), corrected=False, others=False, labels=False)
    shapes = ground_scene(worked.scenario, look) + mouth_scene(worked.scenario, look)
    for place in sorted(worked.answers, key=lambda k: k == worked.chosen):
        shapes += take_scene(worked.scenario, worked.answers[place], place, shown, look)
    return shapes + lively_scene(worked.scenario)


class Thumbnails:
    """The pictures asked for so far, kept by scene; ``work`` is done in a thread of its own."""

    def __init__(self, work: Callable[[Scene, Path | None], Worked | None] = worked_out) -> None:
        self._work = work
        self._asked: dict[int, Scene] = {}  # kept, so that no other scene gets its number
        self._found: dict[int, Worked | None] = {}
        self._painted: dict[tuple[int, int, int, str], pygame.Surface] = {}
        self._todo: queue.SimpleQueue[tuple[int, Scene, Path | None]] = queue.SimpleQueue()
        self._free = True  # a picture may be painted in this frame
        self._waiting = False  # one could not
        self._told = 0
        self._thread: threading.Thread | None = None

    def turn(self) -> bool:
        """A frame begins; True if there is a picture to be painted that was not there before."""
        self._free = True
        more = self._waiting or len(self._found) != self._told
        self._waiting, self._told = False, len(self._found)
        return more

    @property
    def busy(self) -> bool:
        """True while pictures are still being worked out."""
        return self._waiting or len(self._found) < len(self._asked)

    def picture(self, scene: Scene, folder: Path | None, size: tuple[int, int], look: Look) -> pygame.Surface | None:
        """A scene's picture of so many pixels, or None while there is none."""
        number = id(scene)
        if number not in self._asked:
            self._ask(number, scene, folder)
        found, key = self._found.get(number), (number, *size, look.name)
        if found is not None and key not in self._painted:
            if not self._free:
                self._waiting = True
                return None
            self._free = False
            self._painted[key] = thumbnail_of(found, size, look)
        return self._painted.get(key)

    def _ask(self, number: int, scene: Scene, folder: Path | None) -> None:
        if len(self._asked) >= KEPT and not self.busy:
            self._asked, self._found, self._painted, self._told = {}, {}, {}, 0
        self._asked[number] = scene
        self._todo.put((number, scene, folder))
        if self._thread is None:
            self._thread = threading.Thread(target=self._run, name="thumbnails", daemon=True)
            self._thread.start()

    def _run(self) -> None:
        while True:
            number, scene, folder = self._todo.get()
            with jit.using(jit.at_hand()):
                self._found[number] = self._work(scene, folder)


def thumbnail_of(worked: Worked, size: tuple[int, int], look: Look) -> pygame.Surface:
    """The picture, in memory of its own."""
    table = worked.scenario.table.surface
    painter = Painter(*size, look, order_of(pygame.display.get_surface() or pygame.Surface(size)))
    painter.lay(None)
    frame = fit(table.length_m, table.width_m, MARGIN_M, (0.0, 0.0, float(size[0]), float(size[1])), SHARE)
    painter.paint(small_scene(worked, look), frame)
    return picture_of(painter).copy()
