"""One page for any browser, without network: a scenario or a lesson to look at, to play and to try other strokes on."""

from __future__ import annotations

import base64
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from tablesim.errors import ScenarioError, TablesimError
from tablesim.model.lesson import Lesson, Scene, lesson_to_json
from tablesim.model.scenario import Scenario, to_json
from tablesim.model.whole import by_suffix, write_whole
from tablesim.scene.look import IVORY
from tablesim.scene.spin import EVERY_M

from .encode import Stopped
from .painter import BAND, CUE_SPOT, CUE_SPOTS, NUMBER_INK, SPOT, SPOTS
from .share_data import FIGURES, places_shown, scene_data
from .share_grid import count, others_data
from .share_page import escaped_json, page_html
from .sheet_words import CAUTION, SIGNS, told_takes
from .timing import BEFORE_S, NEAR_S

MOST_BYTES = 8_000_000  # more than this no one sends about; an ordinary lesson takes less than a tenth
SUFFIXES = {".html": "html", ".htm": "html"}
LONGEST_NAME = 60  # letters of the name of the file inside

Progress = Callable[[int, int], object]


@dataclass(frozen=True)
class ShareWishes:
    """How a page is wanted.

    ``others``: with other paces, cues and sides about each scene's chosen take;
    ``data``: the file that can be saved from the page, byte for byte (None: what is
    shared, written anew); ``name``: what that file is to be called.
    """

    others: bool = True
    data: bytes | None = None
    name: str | None = None


@dataclass(frozen=True)
class Share:
    """What was written: scenes, strokes worked out beside the takes, and the size of the file."""

    path: str
    scenes: int
    others: int
    bytes: int


def share(
    what: Scenario | Lesson,
    out_path: str,
    wishes: ShareWishes = ShareWishes(),
    progress: Progress = lambda done, whole: None,
    stop: threading.Event | None = None,
) -> Share:
    """Write a page (.html) that opens in any browser without network.

    A lesson must have its scenes' scenarios in it.  ``progress`` hears of (strokes
    done, strokes in all); ``stop`` ends it early with Stopped.  For many scenes
    call :func:`tablesim.prepare` before.  TablesimError, with nothing written: for
    a scene without takes, one that names a file, or a page of more than 8 MB.

    >>> made = ts.share(ts.open_scenario("two-cues"), "two-cues.html", ts.ShareWishes(others=False))
    >>> made.scenes, made.bytes < 200_000
    (1, True)
    """
    by_suffix(out_path, SUFFIXES)
    lesson = what if isinstance(what, Lesson) else Lesson(title=what.title, scenes=[Scene(scenario=what)])
    pairs = _checked(lesson)
    tell = _Teller(progress, stop, sum(_work(scene, scenario, wishes) for scene, scenario in pairs))
    scenes: list[dict[str, Any]] = []
    size = 0
    for scene, scenario in pairs:
        scenes.append(_scene(scene, scenario, wishes, tell))
        size += len(escaped_json(scenes[-1]).encode("utf-8"))
        _check_size(out_path, size, len(scenes), len(pairs))
    title = lesson.title or scenes[0]["caption"] or "Shot"
    page = page_html(title, _data(title, scenes, _file(what, title, wishes))).encode("utf-8")
    _check_size(out_path, len(page), len(scenes), len(pairs))
    tell.look()
    write_whole(out_path, page)
    return Share(out_path, len(scenes), sum(len(s["others"]["cells"]) for s in scenes if s["others"]), len(page))


class _Teller:
    """Counts strokes, tells of them, and ends the work when that is asked for."""

    def __init__(self, progress: Progress, stop: threading.Event | None, whole: int) -> None:
        self._progress, self._stop, self._done, self._whole = progress, stop, 0, whole

    def look(self) -> None:
        """Stopped if the work is to end."""
        if self._stop is not None and self._stop.is_set():
            raise Stopped

    def __call__(self) -> None:
        self.look()
        self._done += 1
        self._progress(self._done, self._whole)


def _checked(lesson: Lesson) -> list[tuple[Scene, Scenario]]:
    """The scenes with their scenarios; ScenarioError where one cannot be shared."""
    if not lesson.scenes:
        raise ScenarioError("scenes: a page needs one at least; the lesson has none: keep a view in the window")
    return list(_scenarios(lesson))


def _scenarios(lesson: Lesson) -> Iterator[tuple[Scene, Scenario]]:
    for k, scene in enumerate(lesson.scenes):
        where = f"scenes[{k}]" if len(lesson.scenes) > 1 else "the scenario"
        if scene.scenario is None:
            raise ScenarioError(
                f"{where}.file: a page takes scenarios, not files of them; got {str(scene.file)[:60]!r}:"
                " put the scenario there, or use the command tablesim share"
            )
        if not scene.scenario.takes:
            raise ScenarioError(f"{where}: takes: a page shows one at least; it has none: give it one in the window")
        yield scene, scene.scenario


def _work(scene: Scene, scenario: Scenario, wishes: ShareWishes) -> int:
    shown, places = places_shown(scene, scenario)
    return len(places) + (count(scenario, scenario.takes[shown[0]]) if wishes.others else 0)


def _scene(scene: Scene, scenario: Scenario, wishes: ShareWishes, tell: _Teller) -> dict[str, Any]:
    shown, places = places_shown(scene, scenario)
    told = []
    for place in places:
        told += told_takes(scenario, [scenario.takes[place]])
        tell()
    chosen = scenario.takes[shown[0]]
    others = others_data(scenario, chosen, tell) if wishes.others else None
    return scene_data(scene, scenario, told, places) | {"others": others}


def _data(title: str, scenes: list[dict[str, Any]], file: dict[str, str]) -> dict[str, Any]:
    """All that the page is told."""
    return {
        "title": title, "scenes": scenes, "file": file, "figures": FIGURES, "caution": CAUTION, "signs": SIGNS,
        "before": BEFORE_S, "near": NEAR_S, "every": EVERY_M,
        "looks": {
            "cueSpot": CUE_SPOT, "cueSpots": CUE_SPOTS.tolist(), "spots": SPOTS.tolist(), "spot": SPOT, "band": BAND,
            "ivory": IVORY, "number": NUMBER_INK,
        },
    }  # fmt: skip


def _file(what: Scenario | Lesson, title: str, wishes: ShareWishes) -> dict[str, str]:
    """The file inside: its name, and its bytes as base64."""
    text = lesson_to_json(what) if isinstance(what, Lesson) else to_json(what)
    data = text.encode("utf-8") if wishes.data is None else wishes.data
    kept = "".join(c if c.isalnum() or c in "-_." else "-" for c in wishes.name or title).strip("-.")[:LONGEST_NAME]
    name = (kept.removesuffix(".json") or "shot") + ".json"
    return {"name": name, "base64": base64.b64encode(data).decode("ascii")}


def _check_size(path: str, size: int, done: int, whole: int) -> None:
    if size > MOST_BYTES:
        after = f" after {done} of {whole} scenes" if done < whole else ""
        raise TablesimError(
            f"{path}: a page may have at most {MOST_BYTES / 1e6:g} MB; got {size / 1e6:.1f} MB{after}: share it without"
            " other strokes (--no-others), or fewer scenes at a time (LESSON#1 is the first alone)"
        )
