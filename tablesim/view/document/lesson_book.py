"""The lesson beside the document: views kept, put in order, shown one after the other."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from tablesim.errors import TablesimError
from tablesim.model.lesson import Lesson, Scene
from tablesim.model.scenario import Scenario
from tablesim.resources import scenario_of

from .editor import Editor
from .lesson_edits import Thing, with_same
from .tempo import Tempo, kept_speed, kept_tempo


class LessonBook:
    """What can be done to the lesson; every change is a step of the document's undo.

    ``usual`` tells at which speeds of time the person plays what has none of its own.
    """

    def __init__(self, editor: Editor, usual: Callable[[], Tempo] = Tempo) -> None:
        self.editor, self._usual = editor, usual
        self._other: tuple[int, Tempo, Tempo] | None = None  # of a scene: its place, its own tempo, that asked for
        self.at = 0  # the scene chosen where what is on the screen came from none
        self.showing = False  # one after the other, full screen

    @property
    def lesson(self) -> Lesson:
        """The lesson as it stands."""
        return self.editor.document.lesson

    @property
    def scene(self) -> Scene | None:
        """The scene chosen."""
        return self.lesson.scenes[self.place] if self.lesson.scenes else None

    @property
    def place(self) -> int:
        """Place of the scene that what is on the screen came from, else of the one chosen."""
        at = self.at if self.shown is None else self.shown
        return max(0, min(at, len(self.lesson.scenes) - 1))

    @property
    def shown(self) -> int | None:
        """Place of the scene that what is on the screen came from, also after undo; None if it came from none."""
        return self.editor.document.state.scene

    @property
    def _kept(self) -> Tempo | None:
        """The tempo kept with the scene that what is on the screen came from; None if there is none."""
        shown = self.shown
        return kept_tempo(self.lesson.scenes[shown]) if shown is not None and shown < len(self.lesson.scenes) else None

    @property
    def tempo(self) -> Tempo:
        """At which speeds of time to play: as asked for while the scene is shown, as kept with it, or as usual."""
        kept = self._kept
        if kept is None:
            return self._usual()
        return self._other[2] if self._other is not None and self._other[:2] == (self.shown, kept) else kept

    def set_tempo(self, tempo: Tempo) -> bool:
        """Play this scene otherwise for now; False where it has no tempo of its own, and the usual one is meant."""
        kept, shown = self._kept, self.shown
        if kept is None or shown is None:
            return False
        self._other = (shown, kept, tempo)
        return True

    def _choose(self, at: int, shown: bool) -> None:
        """Choose a scene, which is the one that what is on the screen came from or is not."""
        self.at = at
        self.editor.document.came_from(at if shown else None)

    def _change(self, done: str, **fields: object) -> None:
        document = self.editor.document
        document.change(self.editor.scenario, done, lesson=self.lesson.change(**fields))
        document.settle()

    def view(self, caption: str) -> Scene:
        """What is on the screen, as a scene."""
        editor, shown = self.editor, self.editor.see()
        takes = editor.scenario.takes
        return Scene(
            caption=caption,
            scenario=editor.scenario,
            take=takes[editor.chosen].name if takes else None,
            with_takes=[takes[i].name for i in shown.takes if i < len(takes) and i != editor.chosen],
            corrected=shown.corrected,
            off_the_line=shown.growth,
            spin=shown.spin,
            whole_ways=shown.whole_ways,
            closer=shown.closer,
            lens=shown.lens,
            speed=kept_speed(self.tempo),
            contact_speed=self.tempo.contact_speed,
        )

    def keep(self) -> None:
        """Keep this view as a scene after the one chosen."""
        scenes = list(self.lesson.scenes)
        at = self.place + 1 if scenes else 0
        caption = self.editor.scenario.title or f"scene {len(scenes) + 1}"
        scenes.insert(at, self.view(caption))
        self._change("view kept", scenes=scenes)
        self._choose(at, True)

    def renew(self) -> None:
        """Put this view in place of the scene chosen, under its caption."""
        if self.scene is not None:
            self._replace("view renewed", self.view(self.scene.caption))
            self._choose(self.place, True)

    def _replace(self, done: str, scene: Scene) -> None:
        scenes = list(self.lesson.scenes)
        scenes[self.place] = scene
        self._change(done, scenes=scenes)

    def rename(self, caption: str) -> None:
        """Give the scene chosen another caption."""
        if self.scene is not None:
            fields = {name: getattr(self.scene, name) for name in Scene.model_fields}
            self._replace("caption", Scene.model_validate({**fields, "caption": caption}))

    def make_same(self, model: Scenario, things: Iterable[Thing]) -> None:
        """These things of a scenario in all scenes that hold their own."""
        self._change("the same in all scenes", scenes=with_same(self.lesson, model, things).scenes)

    def title(self, title: str) -> None:
        """Give the lesson a title."""
        self._change("lesson's title", title=title)

    def move(self, by: int) -> None:
        """Move the scene chosen up (-1) or down."""
        scenes = list(self.lesson.scenes)
        to = self.place + by
        if 0 <= to < len(scenes):
            scenes.insert(to, scenes.pop(self.place))
            self._change("scene moved", scenes=scenes)
            self._choose(to, self.shown is not None)

    def copy(self) -> None:
        """A second scene like the one chosen, after it."""
        if self.scene is not None:
            scenes = list(self.lesson.scenes)
            scenes.insert(self.place + 1, self.scene)
            self._change("scene copied", scenes=scenes)
            self._choose(self.place + 1, self.shown is not None)

    def remove(self) -> None:
        """Remove the scene chosen."""
        if self.scene is not None:
            scenes = [s for i, s in enumerate(self.lesson.scenes) if i != self.place]
            self._change("scene removed", scenes=scenes)
            self._choose(self.place, False)

    def show(self, at: int) -> None:
        """Put a scene on the screen; TablesimError, with the place moved on, if its file is missing."""
        if not self.lesson.scenes:
            raise TablesimError("The lesson has no scenes yet: arrange a view, then keep it.")
        self.at = max(0, min(at, len(self.lesson.scenes) - 1))
        scene = self.lesson.scenes[self.at]
        path = self.editor.document.lesson_path
        try:
            scenario = scenario_of(scene, path.parent if path else None)
        except TablesimError as error:
            self._choose(self.at, False)
            raise TablesimError(f"Scene {self.at + 1}: {error}. The other scenes can still be shown.") from None
        self._put(scene, scenario)

    def _put(self, scene: Scene, scenario: Scenario) -> None:
        editor = self.editor
        chosen, *others = scene.places_in(scenario) or (0,)
        editor.dismiss()
        editor.select()
        editor.document.change(scenario, f"scene {self.at + 1} shown", None, chosen, other_file=True)
        editor.document.came_from(self.at)
        self._other = None
        editor.shown = replace(
            editor.shown,
            takes=tuple(others),
            corrected=scene.corrected,
            growth=scene.off_the_line,
            spin=scene.spin,
            whole_ways=scene.whole_ways,
            closer=scene.closer,
            lens=scene.lens,
        )
