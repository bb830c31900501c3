"""What keys and buttons do, by name."""

from __future__ import annotations

import contextlib
import math
import warnings
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Protocol

import pygame

from tablesim.model.scenario import CUE_BALL
from tablesim.study.stroke import level_deg

from ..controls.fields import TextField
from ..controls.keys import CTRL, OTHERS, action_of
from ..controls.widgets import Widget
from ..document.same_maker import SameMaker
from ..document.series_maker import SeriesMaker
from ..document.tip_steps import offset_stepped
from ..numbers import BUTT, PACE
from ..pages.first_steps import FirstSteps
from ..pages.layout_page import TRAY
from ..pages.overlays import Help
from ..pages.panel import PAGES
from ..pages.same_page import SamePage
from ..pages.series_page import SeriesPage
from ..table.playback import NUDGE_S
from . import looking
from .desk import Desk
from .files import Files
from .hand_out import HandOut
from .parts import Parts

TURN_DEG = 0.1  # a press of an arrow key
NUDGE_M = 0.001
TIP_STEP = 0.02  # 4 % of full side
TIP_SIZES = {"": None, "half_": 0.5, "quarter_": 0.25}  # of a move of the tip: a fine step, or tips
KEYS_OF_EVENTS = (pygame.K_COMMA, pygame.K_PERIOD)


class Window(Desk, Protocol):
    """The window, as its actions see it."""

    dirty: bool

    @property
    def files(self) -> Files:
        """Opening and saving."""

    @property
    def hand_out(self) -> HandOut:
        """What is being made."""

    @property
    def parts(self) -> Parts:
        """Bar, panel and strip."""

    def focus_on(self, widget: Widget | None) -> None:
        """Give a control the focus."""

    def close_overlay(self) -> None:
        """Take the page away that lies over the window."""

    def start_playing(self) -> None:
        """Play the shown takes from the strike."""

    def take_surface(self) -> None:
        """The window's surface may be another one, and empty."""


class Actions:
    """The window's actions; each is a method, or bound here to one of the editor's."""

    def __init__(self, window: Window) -> None:
        self.window = window
        e = window.editor
        self._by_name: dict[str, Callable[[], object]] = {
            "plain_aim": e.aim_plainly, "use_correction": e.use_correction, "new_take": e.add_take,
            "remove_take": e.remove_take, "show_all": e.show_all, "snap": e.snap, "freeze": e.freeze,
            "undo": e.undo, "redo": e.redo, "show_take": lambda: e.toggle_shown(e.chosen),
            "tip_centre": lambda: e.set_tip(0.0, 0.0), "jab": self.jab,
            "make_target": self.make_target, "remove": self.remove, "add_ball": self.add_ball,
            "details": self.details, "look": self.look,
            "help": lambda: window.open_overlay(Help(self.first_steps)), "first_steps": self.first_steps,
            "series": lambda: window.open_overlay(SeriesPage(SeriesMaker(e))),
            "page": self.next_page, "panel": self.panel,
            "full_screen": self.full_screen, "back": self.back,
            "larger": lambda: self.scale(0.25), "smaller": lambda: self.scale(-0.25),
            "same": lambda: window.open_overlay(SamePage(SameMaker(window.book))),
            "keep": self.keep, "show": self.show, "play": self.play,
        }  # fmt: skip
        self._by_name |= window.files.by_name() | looking.by_name(window)
        hand_out = window.hand_out
        self._by_name |= {
            "leave": partial(hand_out.held, window.files.leave), "hand_out": hand_out.offer,
            "copy_layout": hand_out.copy_layout, "paste_layout": hand_out.paste_layout,
            "copy_results": hand_out.copy_results,
        }  # fmt: skip

    def do(self, action: str, event: pygame.Event | None = None) -> None:
        """Do an action; an event tells which modifiers were held."""
        if action in self._by_name:
            self._by_name[action]()
            return
        mods = event.mod if event is not None else 0
        shift, ctrl = bool(mods & pygame.KMOD_SHIFT), bool(mods & CTRL)
        self._step(action, 10.0 if shift else 0.1 if ctrl else 1.0, -1 if shift else 1)

    def _step(self, action: str, factor: float, way: int) -> None:
        """Actions that move by a step, coarse or fine, or go on and back."""
        e = self.window.editor
        moves = {"left": (-1, 0), "right": (1, 0), "up": (0, 1), "down": (0, -1)}
        size, _, tip_way = action.rpartition("tip_")
        if action in moves:
            dx, dy = moves[action]
            if e.selection.anything:
                self._nudge(dx, dy, factor)
            elif dx:
                e.turn(-dx * math.radians(TURN_DEG) * factor)
            else:
                self._pace(dy * factor)
        elif size in TIP_SIZES and tip_way in moves:
            self._move_tip(*moves[tip_way], TIP_SIZES[size])
        elif action in ("harder", "softer"):
            self._pace(1.0 if action == "harder" else -1.0)
        elif action in ("butt_up", "butt_down"):
            e.set_butt(BUTT.stepped(level_deg(e.take), 1.0 if action == "butt_up" else -1.0))
        elif action == "next_take":
            e.choose(e.chosen + way)
        elif action == "next_thing":
            e.next_thing(way)
        elif action == "next_pocket":
            e.next_pocket(way)
        elif action == "next_cue":
            cues = list(e.scenario.cues)
            e.set_cue(cues[(cues.index(e.scenario.cue_name_of(e.take)) + way) % len(cues)])

    def _move_tip(self, right: int, up: int, tips: float | None) -> None:
        """Move the tip by a fine step, or to the next half or quarter tip."""
        e = self.window.editor
        tip = e.take.tip
        if tips is None:
            e.set_tip(round(tip.right + right * TIP_STEP, 3) + 0.0, round(tip.up + up * TIP_STEP, 3) + 0.0)
        else:
            e.set_tip(
                offset_stepped(e.scenario, e.take, tip.right, tips, right),
                offset_stepped(e.scenario, e.take, tip.up, tips, up),
            )

    def _pace(self, steps: float) -> None:
        e = self.window.editor
        e.set_pace(PACE.stepped(e.take.pace_m_s, steps))

    def _nudge(self, right: float, up: float, factor: float) -> None:
        """Move the selected ball as seen on the screen."""
        frame = self.window.table.frame
        assert frame is not None
        m = frame.matrix / frame.pixels_a_metre
        step = NUDGE_M * factor
        self.window.editor.nudge(step * (m[0, 0] * right - m[1, 0] * up), step * (m[0, 1] * right - m[1, 1] * up))

    # --- keys

    def key(self, event: pygame.Event) -> None:
        """A key goes down: the control with the focus first, then the page, then the window."""
        window, focus = self.window, self.window.ui.focus
        editing = isinstance(focus, TextField) and focus.text is not None
        if focus is not None and focus.pressed(event):
            done = editing and isinstance(focus, TextField) and focus.text is None
            if done and window.overlay is None:
                window.focus_on(None)  # the keys belong to the table again
            return
        if event.key == pygame.K_TAB:
            self.focus(-1 if event.mod & pygame.KMOD_SHIFT else 1)
            return
        if event.key == pygame.K_ESCAPE:
            self.back()
            return
        if window.overlay is not None:
            if not window.overlay.pressed(event) and event.key in (pygame.K_UP, pygame.K_DOWN):
                self.focus(-1 if event.key == pygame.K_UP else 1)
            return
        if not isinstance(focus, TextField) and (self.showing_key(event) or self.playing_key(event)):
            return
        if isinstance(focus, TextField) and not event.mod & CTRL and (event.unicode or event.key == pygame.K_BACKSPACE):
            return  # letters belong to the field
        action = action_of(event)
        if action is not None:
            window.guard(lambda: self.do(action, event))

    def focus(self, by: int) -> None:
        """Give the next control the focus."""
        window = self.window
        ring = [w for w in window.parts.controls() if w.focusable]
        if not ring:
            return
        at = ring.index(window.ui.focus) if window.ui.focus in ring else -1 if by > 0 else 0
        widget = ring[(at + by) % len(ring)]
        window.focus_on(widget)
        area = window.parts.panel_rect
        if widget in window.parts.widgets and not area.contains(widget.rect):
            window.parts.scroll_by(widget.rect.bottom - area.bottom + window.ui.px(20))

    def back(self) -> None:
        """Back out of the innermost thing."""
        window, e = self.window, self.window.editor
        if window.overlay is None and not isinstance(window.ui.focus, TextField):
            window.focus_on(None)
        if window.overlay is not None:
            window.close_overlay()
        elif isinstance(window.ui.focus, TextField):
            window.focus_on(None)
        elif window.table.player is not None:
            window.stop_playing()
        elif window.hand_out.stop():
            window.tell("Stopping…")
        elif window.book.showing:
            self._end_show()
        elif e.former is not None:
            e.dismiss()
        elif e.selection.anything:
            e.select()
        elif e.shown.growth:
            e.shown = replace(e.shown, growth=0)
        elif pygame.display.get_surface() and pygame.display.is_fullscreen():
            self.full_screen()

    def first_steps(self) -> None:
        """What to do first, and what is ready; from now on only when asked for."""
        window = self.window
        window.settings.welcomed = True
        window.restyle()
        window.open_overlay(FirstSteps(lambda path: window.guard(lambda: window.files.open_path(path))))

    # --- the lesson

    def keep(self) -> None:
        """Keep this view in the lesson."""
        book = self.window.book
        book.keep()
        self.window.tell(f"Kept as scene {book.place + 1} of the lesson.")

    def show(self) -> None:
        """Show the lesson scene by scene, or come back from it."""
        if self.window.book.showing:
            self._end_show()
        else:
            self.window.files.leave_file(self._begin_show)

    def _begin_show(self) -> None:
        """The scene chosen, full screen."""
        book = self.window.book
        self.window.guard(lambda: book.show(book.place))  # a scene whose file is missing leaves the others to be shown
        book.showing = bool(book.lesson.scenes)
        self._show_full = not pygame.display.is_fullscreen()
        if self._show_full:
            self.full_screen()

    _show_full = False

    def _end_show(self) -> None:
        """Back from the lesson to the window."""
        self.window.book.showing = False
        self.window.stop_playing()
        if self._show_full and pygame.display.is_fullscreen():
            self.full_screen()

    def showing_key(self, event: pygame.Event) -> bool:
        """Keys that step through the lesson while it is shown; True if they took one."""
        book = self.window.book
        before, after = book.place - 1, book.place + 1
        scenes = {
            pygame.K_RIGHT: after, pygame.K_DOWN: after, pygame.K_PAGEDOWN: after, pygame.K_LEFT: before,
            pygame.K_UP: before, pygame.K_PAGEUP: before, pygame.K_HOME: 0, pygame.K_END: len(book.lesson.scenes) - 1,
        }  # fmt: skip
        if not book.showing or event.key not in scenes:
            return False
        self.window.stop_playing()
        self.window.show_scene(scenes[event.key])
        return True

    # --- playing

    def play(self) -> None:
        """Play the shown takes, or pause."""
        player = self.window.table.player
        if player is None:
            self.window.start_playing()
        else:
            player.toggle()

    def playing_key(self, event: pygame.Event) -> bool:
        """Keys that belong to the playing while it is on; those to the events begin it. True if it took one."""
        if self.window.table.player is None and event.key in KEYS_OF_EVENTS and not event.mod & (CTRL | OTHERS):
            self.window.start_playing()
        player = self.window.table.player
        if player is None:
            return False
        keys: dict[int, Callable[[], object]] = {
            pygame.K_SPACE: player.toggle, pygame.K_COMMA: lambda: player.step(-1),
            pygame.K_PERIOD: lambda: player.step(1), pygame.K_LEFTBRACKET: lambda: player.faster(-1),
            pygame.K_RIGHTBRACKET: lambda: player.faster(1), pygame.K_HOME: lambda: player.go_to(0.0),
            pygame.K_END: lambda: player.go_to(player.duration),
            pygame.K_LEFT: lambda: player.go_to(player.time - NUDGE_S),
            pygame.K_RIGHT: lambda: player.go_to(player.time + NUDGE_S),
        }  # fmt: skip
        if event.key in keys:
            keys[event.key]()
            self.window.dirty = True
        return event.key in keys

    # --- what is shown

    def details(self) -> None:
        """All numbers, or few."""
        self.window.settings.details = not self.window.settings.details
        self.window.restyle()

    def look(self) -> None:
        """The look for a projector, or for the evening."""
        self.window.settings.look = "evening" if self.window.settings.look == "projector" else "projector"
        self.window.restyle()

    def scale(self, by: float) -> None:
        """The whole interface larger or smaller, from 1 to 2."""
        self.window.settings.scale = min(2.0, max(1.0, self.window.settings.scale + by))
        self.window.restyle()

    def next_page(self) -> None:
        """The next page of the panel."""
        self.window.parts.panel_on = self.window.parts.panel_asked = True
        pages = tuple(PAGES)
        self.window.open_page(pages[(pages.index(self.window.parts.page) + 1) % len(pages)])

    def panel(self) -> None:
        """The panel, on or off."""
        visible = self.window.parts.panel_rect.w > 0
        self.window.parts.panel_on = self.window.parts.panel_asked = not visible

    def full_screen(self) -> None:
        """The whole screen, or a window again, where and as large as it was."""
        if pygame.display.get_surface() is None:
            return
        with warnings.catch_warnings(), contextlib.suppress(pygame.error):  # a driver that has no full screen
            warnings.simplefilter("ignore", DeprecationWarning)
            window = pygame.Window.from_display_module()
            if pygame.display.is_fullscreen():
                window.set_windowed()
            else:
                window.set_fullscreen(True)
        self.window.take_surface()

    # --- balls

    def jab(self) -> None:
        """Smooth or jabbed, the other way."""
        e = self.window.editor
        e.set_stroke("smooth" if e.take.stroke == "jab" else "jab")

    def make_target(self) -> None:
        """The selected ball becomes the target."""
        e = self.window.editor
        if e.selected not in (None, CUE_BALL):
            e.set_target(ball=e.selected)

    def add_ball(self) -> None:
        """The next ball of the tray comes onto the table."""
        e = self.window.editor
        e.add_ball(next((n for n in TRAY if n not in e.scenario.balls), "1"))

    def remove(self) -> None:
        """Remove what is selected: a mark, a ball, else the take."""
        e = self.window.editor
        if e.mark is not None:
            e.remove_mark()
        elif e.selected is not None:
            e.remove_ball()
        else:
            e.remove_take()
