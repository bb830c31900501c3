"""The window: its parts, its events, its frames.

The surface, the clock, the places and the worker are handed in, so that tests
turn time and events by hand.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterable
from functools import partial
from pathlib import Path

import pygame

from tablesim.errors import TablesimError
from tablesim.model.scenario import Scenario
from tablesim.physics import jit
from tablesim.scene.look import LOOKS, Look
from tablesim.study.pace import PaceScale, pace_scale

from ..answers.findings import Question as Asked
from ..answers.steps import STEPS
from ..answers.worker import Helper, Solver
from ..controls.fields import TextField
from ..controls.widgets import Ui, Widget
from ..document.document import Document
from ..document.editor import Editor, empty_table
from ..document.lesson_book import LessonBook
from ..document.measuring import Measuring
from ..document.places import Places, Settings
from ..document.tempo import Tempo, remember_tempo, usual_tempo
from ..pages.overlays import Overlay
from ..pages.thumbnails import Thumbnails
from ..table.play_bar import PlayBar
from ..table.playback import SPEEDS, Player
from ..table.table_view import TableView
from . import looking, notes
from .actions import Actions
from .aside import Aside
from .clicks import Clicks
from .files import Files
from .hand_out import HandOut
from .notes import Messages, Note
from .parts import Parts

FRAME_S = 1.0 / 60.0
LOOK_S = 2.0  # so often it is looked whether another program has changed the file
DEFINITION_S = 0.7  # the mouse has to rest so long on a control before it is explained


class App:
    """The window and everything in it."""

    def __init__(
        self,
        surface: pygame.Surface,
        places: Places,
        scenario: Scenario | None = None,
        path: Path | None = None,
        known: str | None = None,
        clock: Callable[[], float] = time.monotonic,
        worker: Solver | None = None,
    ) -> None:
        self.surface, self.places, self.clock = surface, places, clock
        self.settings: Settings = places.settings()
        self.document = Document(scenario or empty_table(), path, known)
        self.editor = Editor(self.document, self.tell)
        self.worker = worker or Helper()
        self.files = Files(self)
        self.hand_out = HandOut(self, self.files.ask_where)
        self.actions = Actions(self)
        self.overlay: Overlay | None = None
        self.running = True
        self.pace_scale: PaceScale | None = None
        self.messages = Messages(clock)
        self.ui = Ui(surface, self.look, self.settings.scale, self.settings.british)
        self.table = TableView(self.editor, self.look, self.settings.scale)
        self._asked: Asked | None = None
        self._aside = Aside(self.document, places, clock, partial(self.tell, warning=True))
        self._looked_at = 0.0
        self._held: Widget | None = None
        self._clicks = Clicks(clock)
        self._still_since = 0.0
        self._engine = self.worker.engine
        self._scale_key: object = None
        self.dirty = True
        self.book = LessonBook(self.editor, lambda: usual_tempo(self.settings))
        self.measuring = Measuring(self.editor)
        self.play_bar: PlayBar | None = None
        self.thumbnails = Thumbnails()
        self.parts = Parts(self)
        self.files.offer_left_behind()

    # --- what the parts ask of the window

    @property
    def look(self) -> Look:
        """The look chosen."""
        return LOOKS.get(self.settings.look, LOOKS["evening"])

    def tell(self, text: str, warning: bool = False) -> None:
        """Show a message for a while."""
        self.messages.tell(text, warning)
        self.dirty = True

    @property
    def message(self) -> str:
        """The message that stands, if any."""
        return self.messages.text

    @property
    def message_warns(self) -> bool:
        """True if it warns."""
        return self.messages.warns

    def act(self, action: str, event: pygame.Event | None = None) -> None:
        """Do what an action names."""
        self.guard(lambda: self.actions.do(action, event))

    def show_scene(self, at: int) -> None:
        """Put a scene of the lesson on the screen."""
        self.guard(lambda: self.files.leave_file(partial(self.book.show, at)))

    def guard(self, do: Callable[[], object]) -> None:
        """Do something; what breaks a rule becomes a message and changes nothing."""
        self.dirty = True
        try:
            do()
        except TablesimError as error:
            text = str(error)
            self.tell(text[:1].upper() + text[1:], warning=True)

    def restyle(self) -> None:
        """Look, scale or words have changed."""
        self.ui.british = self.settings.british
        self.ui.forget()
        self.parts.forget()
        self.dirty = True
        self.places.keep_settings(self.settings)

    def open_overlay(self, overlay: Overlay) -> None:
        """Put a page over the window."""
        self._blur()
        self.ui.hover = None
        overlay.close = self.close_overlay
        self.overlay = overlay
        self.ui.focus = overlay.first
        self.dirty = True

    def close_overlay(self) -> None:
        """Take the page away."""
        if self.overlay is not None and isinstance(self.ui.focus, TextField):
            self.ui.focus.text = None
        self.overlay, self.ui.focus, self._held = None, None, None
        self.dirty = True

    def open_page(self, page: str) -> None:
        """Show another page of the panel."""
        self.parts.page, self.parts.scroll, self.dirty = page, 0, True
        self.parts.forget()

    # --- frames

    def start_playing(self) -> None:
        """Play the shown takes from the strike."""
        if self.table.player is None:
            player = Player(self.editor, self.clock, self.book.tempo, self._keep_tempo)
            self.play_bar, self.table.player = PlayBar(player, self.stop_playing), player
            player.start()

    def _keep_tempo(self, tempo: Tempo) -> None:
        """Play so the next time, too: this scene, if it has a tempo of its own, else whatever has none."""
        if not self.book.set_tempo(tempo):
            remember_tempo(self.settings, tempo)
            self.places.keep_settings(self.settings)

    def playing_speed(self) -> float:
        """The speed of time that is set: that of the playing, or 1."""
        return SPEEDS[self.table.player.speed] if self.table.player is not None else 1.0

    def stop_playing(self) -> None:
        """Back to the layout at rest."""
        self._blur()
        self.play_bar = self.table.player = None

    def frame(self) -> bool:
        """Take what has been computed, ask for what is needed, and paint if anything has changed; True if painted."""
        self._catch_up()
        if self.table.player is not None and self.table.player.tick():
            self.dirty = True
        if self.hand_out.tick() | self.thumbnails.turn():
            self.dirty = True
        if not self.dirty:
            return False
        self.dirty = False
        self.draw()
        return True

    def _catch_up(self) -> None:
        self._take_in()
        if self.worker.engine != self._engine:
            self._engine, self._asked, self.dirty = self.worker.engine, None, True  # the fast engine has more to say
            if self._engine == "plain" and jit.wanted() and (why := jit.refusal()) is not None:
                self.tell(f"Answers take longer: {why}", warning=True)
        if self.ui.hover is not None and 0.0 < self.clock() - self._still_since - DEFINITION_S < 0.1:
            self.dirty = True
        question = self.editor.question()
        if question != self._asked:
            self._asked = question
            self.worker.ask(question)
        self._aside.turn()
        if self.clock() - self._looked_at > LOOK_S:
            self._looked_at = self.clock()
            self.files.look_at_disk()
        if self.messages.turn():
            self.dirty = True
        self._find_pace_scale()

    def _take_in(self) -> None:
        """Take what has been computed."""
        for findings in self.worker.answers():
            if findings.question.version <= self.document.version and self._belongs(findings.question):
                self.editor.findings = findings.kept_from(self.editor.findings, STEPS)
                self.dirty = True

    def _belongs(self, question: Asked) -> bool:
        """True if a finding is about what is shown: the same layout's takes and target."""
        return question.chosen == self.editor.chosen and len(question.scenario.takes) == len(self.editor.scenario.takes)

    def _find_pace_scale(self) -> None:
        s = self.editor.scenario
        key = (s.table, s.cloth, s.rails, s.ball_set)
        if self.settings.details and key != self._scale_key and self.worker.engine in ("fast", "plain"):
            self._scale_key = key
            self.pace_scale = pace_scale(s)
            self.dirty = True

    def keep_unsaved(self) -> None:
        """Write unsaved work aside now."""
        self._aside.keep()

    def draw(self) -> None:
        """Paint the window: its parts first, then what lies over them."""
        ui = self.ui
        ui.surface, ui.look = self.surface, self.look
        self.parts.layout()
        ui.begin()
        self.table.draw(self.surface)
        self.parts.draw(ui)
        self._draw_notes(ui)
        if self.overlay is not None:
            self.overlay.draw(ui)
            ui.forget()
        if ui.focus is not None:
            ui.focus.draw_over(ui)
            if ui.focus.over:
                ui.forget()
        if self._held is None and not self.table.holding and self.clock() >= self._still_since + DEFINITION_S:
            notes.draw_definition(ui, self.overlay)

    def _draw_notes(self, ui: Ui) -> None:
        """The line of messages; while the lesson is shown it is there for warnings only."""
        said, line = self.notes(), self.parts.line
        over = self.book.showing or line.colliderect(self.parts.panel_rect)  # it has no place of its own
        if said or not over:
            notes.draw(ui, line, said)
        if said and over:
            ui.forget()

    def notes(self) -> list[Note]:
        """What there is to say, the most important first."""
        job, preparing = self.hand_out.job, self.worker.engine == "preparing"
        return notes.to_say(self, self.messages.note, self.parts.strip.change_text, job.words if job else "", preparing)

    def take_surface(self) -> None:
        """The window's surface may be another one, and empty."""
        self.surface = pygame.display.get_surface() or self.surface
        self.ui.forget()

    # --- events

    def events(self, events: Iterable[pygame.Event]) -> None:
        """Take events in their order; of several mouse movements in a row only the last counts."""
        queue = list(events)
        for k, event in enumerate(queue):
            follows = queue[k + 1] if k + 1 < len(queue) else None
            if event.type == pygame.MOUSEMOTION and follows is not None and follows.type == pygame.MOUSEMOTION:
                continue
            self.guard(partial(self._event, event))

    def _event(self, event: pygame.Event) -> None:
        if event.type == pygame.QUIT:
            self.actions.do("leave")
        elif event.type in (pygame.VIDEORESIZE, pygame.WINDOWSIZECHANGED, pygame.WINDOWEXPOSED):
            self.take_surface()
        elif event.type == pygame.DROPFILE:
            self.files.open_path(Path(event.file))
        elif event.type == pygame.MOUSEBUTTONDOWN and event.button == 1:
            self._press(event.pos)
        elif event.type == pygame.MOUSEMOTION:
            self._motion(event)
        elif event.type == pygame.MOUSEBUTTONUP and event.button == 1:
            self._release()
        elif event.type == pygame.MOUSEWHEEL:
            self._wheel(float(getattr(event, "precise_y", event.y)) or float(event.y))
        elif event.type == pygame.KEYDOWN:
            self.ui.hover = None  # hands are on the keys
            self.actions.key(event)
        elif event.type == pygame.TEXTINPUT and self.ui.focus is not None:
            self.ui.focus.typed(event.text)

    def _blur(self) -> None:
        focus, self.ui.focus = self.ui.focus, None
        if focus is not None:
            focus.leave()

    def focus_on(self, widget: Widget | None) -> None:
        """Give a control the focus."""
        if widget is not self.ui.focus:
            self._blur()
            self.ui.focus = widget if widget is not None and widget.focusable else None

    def _press(self, pos: tuple[int, int]) -> None:
        self._still_since = math.inf  # what is used is not explained
        twice, before = self._clicks.press(pos), self._page_open()
        if twice is None:
            return
        try:
            self._press_at(pos, twice)
        finally:
            self._clicks.spent = self._page_open() != before

    def _page_open(self) -> tuple[Overlay | None, int]:
        """The page that lies over the window, and how often it has turned."""
        return self.overlay, 0 if self.overlay is None else self.overlay.turns

    def _press_at(self, pos: tuple[int, int], twice: bool) -> None:
        widget, focus = self.parts.widget_at(pos), self.ui.focus
        if focus is not None and focus.over and widget is not focus:
            focus.leave()  # a press beside an open list only closes it
            return
        self.focus_on(widget if widget is not None and widget.keeps_keys else None)
        if widget is not None:
            self._held = widget
            widget.press(pos, self.ui)
        elif self.overlay is None and self.on_table(pos):
            self.table.press(pos, twice)

    def on_table(self, pos: tuple[int, int]) -> bool:
        """True if the table is seen at a pixel: the panel may lie over it."""
        return self.table.rect.collidepoint(pos) and not self.parts.panel_rect.collidepoint(pos)

    def _motion(self, event: pygame.Event) -> None:
        (x, y), self.ui.mouse = self.ui.mouse, event.pos
        self.ui.hover = self.parts.widget_at(event.pos)
        self._still_since = self.clock()
        if self._held is not None and event.buttons[0]:
            self._held.drag(event.pos, self.ui)
        elif (event.buttons[1] or event.buttons[2]) and self.table.rect.collidepoint(event.pos):
            self.table.pan((event.pos[0] - x, event.pos[1] - y))
        elif self.table.holding:
            self.table.drag(event.pos, pygame.key.get_mods())

    def _release(self) -> None:
        held, self._held = self._held, None
        if held is not None:
            held.release(self.ui)
        self.table.release()

    def _wheel(self, steps: float) -> None:
        pos, widget, focus = self.ui.mouse, self.parts.widget_at(self.ui.mouse), self.ui.focus
        self._still_since = math.inf
        if focus is not None and focus.over and widget is not focus:
            focus.leave()
        scrolls = self.overlay is None and self.parts.scrolls_at(pos) and widget is not self.ui.focus
        if widget is not None and not scrolls and widget.wheel(steps):
            self.document.settle()
            return
        if self.overlay is not None:
            self.overlay.wheel(steps)
        elif self.parts.panel_rect.collidepoint(pos):
            self.parts.scroll_by(-round(40 * steps))
        elif self.table.rect.collidepoint(pos):
            looking.wheel(self, steps)

    def end(self) -> None:
        """Close the window at the next frame."""
        self.running = False

    def close(self) -> None:
        """Put away what the window holds, what is being made included."""
        self.hand_out.close()
        self.places.keep_settings(self.settings)
        self.places.release()
        self.worker.stop()
