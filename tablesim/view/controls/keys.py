"""The keys: what each does, in one table that the help page shows and the window obeys."""

from __future__ import annotations

import sys
from dataclasses import dataclass

import pygame

HELP_ONLY = -1  # no key: the line is for the help page
SHIFT = pygame.KMOD_SHIFT
ALT = pygame.KMOD_ALT
CTRL = pygame.KMOD_META if sys.platform == "darwin" else pygame.KMOD_CTRL
OTHERS = (pygame.KMOD_ALT | pygame.KMOD_CTRL | pygame.KMOD_META) & ~CTRL  # keys held with these are not ours


@dataclass(frozen=True)
class Key:
    """A key, whether Ctrl or Alt goes with it, the name of what it does, and the help's words.

    Shift is left to the action unless ``shift`` asks for it.
    """

    code: int
    ctrl: bool
    action: str
    shown: str
    words: str
    group: str
    shift: bool | None = None
    alt: bool = False


def _key(
    code: int, action: str, shown: str, words: str, group: str, ctrl: bool = False, shift: bool | None = None
) -> Key:
    return Key(code, ctrl, action, shown, words, group, shift)


def _tip_keys(prefix: str, shown: str, words: str, shift: bool, alt: bool) -> tuple[Key, ...]:
    """The four keys of the tip with Shift or Alt, of which the first one is explained."""
    keys = zip((pygame.K_a, pygame.K_d, pygame.K_w, pygame.K_s), ("left", "right", "up", "down"), strict=True)
    texts = {"left": (shown, words)}
    return tuple(Key(code, False, f"{prefix}_{way}", *texts.get(way, ("", "")), SHOT, shift, alt) for code, way in keys)


AIM, SHOT, TAKES, BALLS, PLAY, LESSON, SHOW, FILES = (
    "Aim", "Stroke", "Takes", "Balls", "Playing", "Lesson", "View", "File",
)  # fmt: skip
KEYS = (
    _key(pygame.K_LEFT, "left", "← →", "turn the cue, or move what is selected (Shift coarse, Ctrl fine)", AIM),
    _key(pygame.K_RIGHT, "right", "", "", AIM),
    _key(pygame.K_LEFT, "left", "", "", AIM, ctrl=True),
    _key(pygame.K_RIGHT, "right", "", "", AIM, ctrl=True),
    _key(pygame.K_UP, "up", "↑ ↓", "play harder and softer, or move what is selected", AIM),
    _key(pygame.K_DOWN, "down", "", "", AIM),
    _key(pygame.K_UP, "up", "", "", AIM, ctrl=True),
    _key(pygame.K_DOWN, "down", "", "", AIM, ctrl=True),
    _key(pygame.K_o, "plain_aim", "O", "plain aim at the pocket's centre", AIM),
    _key(pygame.K_u, "use_correction", "U", "use the correction", AIM),
    _key(pygame.K_PLUS, "harder", "+ −", "harder, softer", SHOT),
    _key(pygame.K_EQUALS, "harder", "", "", SHOT),
    _key(pygame.K_KP_PLUS, "harder", "", "", SHOT),
    _key(pygame.K_MINUS, "softer", "", "", SHOT),
    _key(pygame.K_KP_MINUS, "softer", "", "", SHOT),
    _key(pygame.K_a, "tip_left", "A D W S", "tip left, right, up, down", SHOT, shift=False),
    _key(pygame.K_d, "tip_right", "", "", SHOT, shift=False),
    _key(pygame.K_w, "tip_up", "", "", SHOT, shift=False),
    _key(pygame.K_s, "tip_down", "", "", SHOT, shift=False),
    *_tip_keys("half_tip", "Shift A D W S", "the same by half a tip", True, False),
    *_tip_keys("quarter_tip", "Alt A D W S", "the same by a quarter of a tip", False, True),
    _key(pygame.K_x, "tip_centre", "X", "tip on the centre", SHOT),
    _key(pygame.K_r, "butt_up", "R F", "butt up, down", SHOT),
    _key(pygame.K_f, "butt_down", "", "", SHOT),
    _key(pygame.K_k, "next_cue", "K", "next cue", SHOT),
    _key(pygame.K_j, "jab", "J", "smooth or jabbed", SHOT),
    _key(pygame.K_n, "next_take", "N", "next take (Shift the one before)", TAKES),
    _key(pygame.K_t, "series", "Ctrl T", "a series of takes: paces by cues by strokes by tips", TAKES, ctrl=True),
    _key(pygame.K_t, "new_take", "T", "new take", TAKES),
    _key(pygame.K_h, "show_take", "H", "show the take with others", TAKES),
    _key(pygame.K_y, "show_all", "Y", "show all takes, or this one", TAKES),
    _key(pygame.K_b, "next_thing", "B", "select the next ball or mark (Shift the one before)", BALLS),
    _key(pygame.K_RETURN, "make_target", "Return", "make the selected ball the target", BALLS),
    _key(pygame.K_p, "next_pocket", "P", "next pocket (Shift the one before)", BALLS),
    _key(pygame.K_g, "snap", "G", "selected ball to the half diamonds", BALLS),
    _key(pygame.K_z, "freeze", "Z", "freeze the selected ball to its neighbour", BALLS),
    _key(HELP_ONLY, "snap", "Ctrl, dragging", "a ball goes to half diamonds, or straight in if near", BALLS),
    _key(pygame.K_INSERT, "add_ball", "Insert", "add a ball", BALLS),
    _key(pygame.K_DELETE, "remove", "Delete", "remove the selected ball, mark, or the take", BALLS),
    _key(pygame.K_SPACE, "play", "Space", "play the shown takes, or pause", PLAY),
    _key(HELP_ONLY, "play", ", .", "to the event before, after; begins the playing", PLAY),
    _key(HELP_ONLY, "play", "[ ]", "while playing: slower, faster", PLAY),
    _key(HELP_ONLY, "play", "← → Home End", "while playing, not in a lesson shown: 0.01 s, start, end", PLAY),
    _key(pygame.K_k, "keep", "Ctrl K", "keep this view in the lesson", LESSON, ctrl=True),
    _key(pygame.K_F5, "show", "F5", "show the lesson; arrow keys go to its scenes, also while one is played", LESSON),
    _key(HELP_ONLY, "show", "Home End", "while the lesson is shown: first scene, last", LESSON),
    _key(pygame.K_e, "spin", "E", "sliding, and the english left along the way", SHOW),
    _key(pygame.K_l, "growth", "L", "distance off the cue's line", SHOW),
    _key(pygame.K_m, "magnify", "M", "magnify it sideways", SHOW),
    _key(pygame.K_PAGEUP, "closer", "PageUp PageDown", "closer, farther off; or Alt and the wheel", SHOW),
    _key(pygame.K_PAGEDOWN, "farther", "", "", SHOW),
    _key(HELP_ONLY, "closer", "right button", "move what is looked at closely, by dragging", SHOW),
    _key(pygame.K_1, "fit_shot", "1 2", "look at the shot, at the whole table", SHOW),
    _key(pygame.K_2, "whole_table", "", "", SHOW),
    _key(pygame.K_3, "lens", "3", "lenses on contact and pocket mouth, on, off", SHOW),
    _key(pygame.K_4, "whole_ways", "4", "all takes to the end, or few ways", SHOW),
    _key(pygame.K_c, "corrected", "C", "corrected paths on, off", SHOW),
    _key(pygame.K_i, "details", "I", "details on, off", SHOW),
    _key(pygame.K_v, "look", "V", "look for the evening, for a projector", SHOW),
    _key(pygame.K_PLUS, "larger", "Ctrl + −", "everything larger, smaller", SHOW, ctrl=True),
    _key(pygame.K_EQUALS, "larger", "", "", SHOW, ctrl=True),
    _key(pygame.K_MINUS, "smaller", "", "", SHOW, ctrl=True),
    _key(pygame.K_F1, "help", "F1 ?", "this page", SHOW),
    _key(pygame.K_QUESTION, "help", "", "", SHOW),
    _key(pygame.K_SLASH, "help", "", "", SHOW, shift=True),
    _key(pygame.K_F2, "page", "F2", "next page of the panel", SHOW),
    _key(pygame.K_F4, "panel", "F4", "panel on, off", SHOW),
    _key(pygame.K_F11, "full_screen", "F11", "full screen", SHOW),
    _key(pygame.K_TAB, "focus", "Tab", "next control; arrows work it, Return presses it", SHOW),
    _key(pygame.K_ESCAPE, "back", "Esc", "back out: close, let go, dismiss the trace", SHOW),
    _key(pygame.K_z, "redo", "", "", FILES, ctrl=True, shift=True),
    _key(pygame.K_z, "undo", "Ctrl Z", "undo (with Shift, or Ctrl Y: redo)", FILES, ctrl=True),
    _key(pygame.K_y, "redo", "", "", FILES, ctrl=True),
    _key(pygame.K_s, "save_as", "", "", FILES, ctrl=True, shift=True),
    _key(pygame.K_s, "save", "Ctrl S", "save what is open, lesson or scenario (Shift: as another)", FILES, ctrl=True),
    _key(pygame.K_o, "open", "Ctrl O", "open a file, a ready scenario or lesson", FILES, ctrl=True),
    _key(pygame.K_n, "new", "Ctrl N", "an empty table", FILES, ctrl=True),
    _key(pygame.K_e, "hand_out", "Ctrl E", "hand out: picture, clip, sheet", FILES, ctrl=True),
    _key(pygame.K_c, "copy_results", "Ctrl Shift C", "copy the table of takes as text", FILES, ctrl=True, shift=True),
    _key(pygame.K_c, "copy_layout", "Ctrl C", "copy the layout as text", FILES, ctrl=True),
    _key(pygame.K_v, "paste_layout", "Ctrl V", "lay the balls as a copied text says", FILES, ctrl=True),
    _key(pygame.K_q, "leave", "Ctrl Q", "leave", FILES, ctrl=True),
)  # fmt: skip


def action_of(event: pygame.Event) -> str | None:
    """The action of a key event, or None."""
    if event.mod & OTHERS & ~ALT:
        return None
    ctrl, shift, alt = bool(event.mod & CTRL), bool(event.mod & SHIFT), bool(event.mod & ALT)
    for key in KEYS:
        if key.code == event.key and (key.ctrl, key.alt) == (ctrl, alt) and key.shift in (None, shift):
            return key.action
    return None
