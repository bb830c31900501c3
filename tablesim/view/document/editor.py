"""Everything a person can do to a scenario, as methods without a screen.

Each method makes one new scenario and hands it to the document.  What breaks a
rule raises TablesimError and changes nothing.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from tablesim.errors import TablesimError
from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import Aim, Take, Target
from tablesim.physics.aim import turn_within
from tablesim.physics.edge import POCKETS
from tablesim.physics.strike import miscue_offset
from tablesim.scene.look import TAKES_TOGETHER
from tablesim.scene.shot import Former, Shown
from tablesim.staging.by_numbers import stage_shot
from tablesim.staging.space import XY, Staging
from tablesim.study.correct import heading_of
from tablesim.study.setup import target_of

from ..answers.findings import Findings, Question
from ..answers.steps import ANSWERS
from . import cue_edits, mark_edits, take_edits
from .ball_edits import nearest_ball, toward_target, with_target, without_ball
from .document import Document
from .hand import Hand
from .selection import Selection


def empty_table() -> Scenario:
    """A table to begin with: one ball, one pocket, one take."""
    return Scenario(
        title="",
        balls={CUE_BALL: (0.635, 0.400), "1": (1.750, 0.760)},
        target=Target(ball="1", pocket="foot-left"),
        takes=[Take(name="first", cue="house", pace_m_s=2.0)],
    )


class Editor:
    """A document being worked on: what is chosen, what is shown, and the ways to change it."""

    def __init__(self, document: Document, tell: Callable[[str], object] = lambda text: None) -> None:
        self.document = document
        self.selection = Selection(document)
        self.tell = tell
        self.shown = Shown()
        self.former: Former | None = None
        self.findings: Findings | None = None
        self._thing: str | None = None  # what the latest changes were about
        self._hand = Hand()
        self.opened(document.scenario)

    @property
    def scenario(self) -> Scenario:
        """The scenario as it stands."""
        return self.document.scenario

    @property
    def chosen(self) -> int:
        """Place of the take being worked on."""
        return self.document.chosen

    @property
    def take(self) -> Take:
        """The take being worked on."""
        takes = self.scenario.takes
        if takes:
            return takes[self.chosen]
        aim = Aim(toward="pocket") if self.scenario.target else Aim(heading_deg=0.0)
        return Take(name="first", pace_m_s=2.0, aim=aim)

    @property
    def selected(self) -> str | None:
        """Name of the ball that is selected."""
        return self.selection.ball

    @property
    def mark(self) -> int | None:
        """Place of the mark that is selected."""
        return self.selection.mark

    def select(self, ball: str | None = None, mark: int | None = None) -> None:
        """Select a ball, or a mark, or nothing."""
        self.selection.choose(ball, mark)

    @property
    def miscue_ring(self) -> float:
        """How far out [ball radii] the tip of this take's cue holds."""
        return miscue_offset(self.scenario.cue_of(self.take).tip_friction)

    @property
    def heading(self) -> float:
        """Heading [rad] of the take's aim; toward the target ball where it names no line."""
        try:
            aimed = self.findings[ANSWERS].get(self.chosen) if self.findings else None
            if self.take.aim.corrected and aimed and aimed.correction and aimed.correction.heading_deg is not None:
                return math.radians(aimed.correction.heading_deg)
            return heading_of(self.scenario, self.take)
        except TablesimError:
            return toward_target(self.scenario)

    @property
    def staging(self) -> Staging:
        """The balls as things that can be shoved."""
        return self._hand.staging(self.scenario)

    def question(self) -> Question:
        """What is to be computed for the picture as it stands."""
        takes = tuple(i for i in self.shown.takes if i < len(self.scenario.takes))
        return Question(self.document.version, self.scenario, self.chosen, takes)

    def see(self) -> Shown:
        """What is shown, with the take chosen now."""
        return replace(self.shown, chosen=self.chosen)

    def opened(self, scenario: Scenario) -> None:
        """Another scenario has been opened: nothing of the former one stays."""
        self.former = self._thing = self.findings = None
        self.select()
        self.shown = replace(self.shown, takes=(), chosen=0, closer=None)

    def change(
        self, scenario: Scenario, done: str, thing: str, gesture: bool = False, chosen: int | None = None
    ) -> None:
        """Take a new scenario; the shot before the first change of a ``thing`` stays as a trace."""
        if scenario == self.scenario and chosen in (None, self.chosen):
            return
        if thing != self._thing and thing in TRACED:
            self._keep_former()
        self._thing = thing
        self.document.change(scenario, done, thing if gesture else None, chosen)

    def _keep_former(self) -> None:
        found = self.findings
        if found is not None and found.question.scenario == self.scenario and self.chosen in found[ANSWERS]:
            self.former = Former(self.scenario, {self.chosen: found[ANSWERS][self.chosen]})

    def settle(self) -> None:
        """A movement of the hand is done."""
        self._hand.let_go()
        self.document.settle()

    def dismiss(self) -> None:
        """Let the trace of the former shot go."""
        self.former = self._thing = None

    def undo(self) -> None:
        """Take the latest step back."""
        self._moved(self.document.undo(), "Undone")

    def redo(self) -> None:
        """Do again what was taken back."""
        self._moved(self.document.redo(), "Done again")

    def _moved(self, what: str, how: str) -> None:
        self._thing = None
        self.former = None
        if what:
            self.tell(f"{how}: {what}")

    def rename(self, title: str) -> None:
        """Give the scenario a title."""
        self.change(self.scenario.change(title=title), "title", "title")

    def set_take(self, done: str, thing: str, gesture: bool = True, **fields: Any) -> None:
        """Change fields of the take."""
        changed = take_edits.with_take_changed(self.scenario, self.chosen, self.take, **fields)
        self.change(changed, done, thing, gesture)

    def set_pace(self, pace_m_s: float) -> None:
        """Play faster or slower."""
        self.set_take("pace", "pace", pace_m_s=pace_m_s)

    def set_tip(self, right: float, up: float) -> None:
        """Strike elsewhere."""
        self.set_take("tip", "tip", tip={"right": right, "up": up})

    def set_butt(self, degrees: float) -> None:
        """Raise or lower the butt."""
        self.set_take("butt", "butt", elevation_deg=degrees)

    def set_cue(self, cue: str) -> None:
        """Play with another cue."""
        self.set_take("cue", "cue", gesture=False, cue=cue)

    def set_stroke(self, stroke: str) -> None:
        """Play smooth or jabbed."""
        self.set_take("stroke", "stroke", gesture=False, stroke=stroke)

    def set_cue_number(self, name: str, value: float) -> None:
        """Change a property of the cue that is played with."""
        changed = cue_edits.with_cue_number(self.scenario, self.scenario.cue_name_of(self.take), name, value)
        self.change(changed, "the cue", "gear", True)

    def turn_to(self, heading_rad: float, gesture: bool = True) -> None:
        """Aim the cue along a heading."""
        self.set_take("aim", "aim", gesture, aim={"heading_deg": math.degrees(turn_within(heading_rad))})

    def turn(self, radians: float) -> None:
        """Turn the cue, left +."""
        self.turn_to(self.heading + radians)

    def aim_plainly(self) -> None:
        """Aim at the pocket's centre as if there were no squirt, swerve or throw."""
        target_of(self.scenario)
        self.set_take("plain aim", "aim", False, aim={"toward": "pocket"})

    def use_correction(self) -> None:
        """Make the corrected aim the aim."""
        found = self.findings[ANSWERS].get(self.chosen) if self.findings else None
        correction = found.correction if found else None
        if correction is None:
            raise TablesimError("There is no correction: pick a target ball and a pocket first.")
        if correction.heading_deg is None:
            raise TablesimError(f"No aim works: {correction.reason}.")
        self.set_take("correction", "aim", False, aim={"heading_deg": correction.heading_deg})

    def choose(self, index: int) -> None:
        """Work on another take."""
        if self.scenario.takes and index != self.chosen:
            index %= len(self.scenario.takes)
            self.dismiss()
            if index in self.shown.takes:  # a comparison stays one: the take that was chosen stays in sight
                others = [i for i in self.shown.takes if i != index]
                self.shown = replace(self.shown, takes=(*others, self.chosen))
            self.document.change(self.scenario, "choice of take", None, index)

    def toggle_shown(self, index: int) -> None:
        """Show a take with the chosen one, or no longer."""
        takes = self.shown.takes
        takes = tuple(i for i in takes if i != index) if index in takes else (*takes, index)[-TAKES_TOGETHER:]
        self.shown = replace(self.shown, takes=takes)

    def _show_too(self, *places: int) -> None:
        together = dict.fromkeys((*self.shown.takes, *places))  # each once, in order
        self.shown = replace(self.shown, takes=tuple(together)[-TAKES_TOGETHER:])

    def show_all(self) -> None:
        """Show all takes together (as many as there are colours), or the chosen one alone."""
        every = tuple(range(min(len(self.scenario.takes), TAKES_TOGETHER)))
        self.shown = replace(self.shown, takes=() if set(every) <= {*self.shown.takes, self.chosen} else every)

    def add_take(self) -> None:
        """Another way of playing the layout, beginning as a copy of this one."""
        before, self.former = self.chosen, None
        changed = take_edits.with_copy(self.scenario, self.take)
        self.change(changed, "new take", "takes", False, len(self.scenario.takes))
        self.shown = replace(
            self.shown, takes=tuple(dict.fromkeys((*self.shown.takes, before, self.chosen)))[-TAKES_TOGETHER:]
        )

    def remove_take(self) -> None:
        """Remove the take; the last one stays."""
        if len(self.scenario.takes) < 2:
            raise TablesimError("The last take stays: a layout needs one way of playing it.")
        gone, self.former = self.chosen, None
        changed = take_edits.without_take(self.scenario, gone)
        self.change(changed, "take removed", "takes", False, max(gone - 1, 0))
        self.shown = replace(self.shown, takes=tuple(i - (i > gone) for i in self.shown.takes if i != gone))

    def _with_balls(self, balls: dict[str, tuple[float, float]], done: str, gesture: bool = False) -> None:
        self.change(self.scenario.change(balls=balls), done, "layout", gesture)

    def drag_ball(self, ball: str, x: float, y: float, snap: bool = False) -> None:
        """Move a ball to a point, or to the sight or line next to it; others give way until it has passed."""
        self.change(self._hand.dragged(self.scenario, ball, x, y, snap), self._hand.words(ball), "layout", True)

    def bring_ball(self, ball: str, x: float, y: float) -> None:
        """Bring a ball from the tray onto the table, to go on with as a drag."""
        if ball not in self.scenario.balls:
            added = self._with_ball(ball, (x, y))
            self._hand.bring(ball)
            self.change(added, self._hand.words(ball), "layout", True)
        self.select(ball)
        self.drag_ball(ball, x, y)

    def stage(self, distance_m: float | None = None, cut_deg: float | None = None, unit: str = "mm") -> None:
        """Put the cue ball at a distance from the target ball, or at a cut for its pocket; see ``stage_shot``."""
        self.change(stage_shot(self.scenario, distance_m, cut_deg, unit), "shot staged by numbers", "layout")

    def place_ball(self, ball: str, x: float, y: float) -> None:
        """Put a ball exactly there."""
        self._with_balls(dict(self.staging.place(ball, x, y)), f"ball {ball} placed")

    def nudge(self, dx: float, dy: float) -> None:
        """Move the selected ball a little, which stops where it touches; or the selected mark."""
        if self.selected:
            self._with_balls(dict(self.staging.nudge(self.selected, dx, dy)), f"ball {self.selected} nudged", True)
        elif self.mark is not None:
            self.move_mark(dx, dy)

    def snap(self) -> None:
        """Put the selected ball on the nearest half diamond."""
        if self.selected:
            self._with_balls(dict(self.staging.snap(self.selected)), f"ball {self.selected} on the diamonds")

    def freeze(self) -> None:
        """Put the selected ball against its nearest neighbour."""
        if self.selected is None or len(self.scenario.balls) < 2:
            raise TablesimError("Click the ball that is to be frozen to its neighbour first.")
        here, other = self.scenario.balls[self.selected], nearest_ball(self.scenario, self.selected)
        self._with_balls(dict(self.staging.freeze(self.selected, other)), f"ball {self.selected} frozen to {other}")
        moved = 1000.0 * math.dist(here, self.scenario.balls[self.selected])
        self.tell(f"Ball {self.selected} moved {moved:.0f} mm and touches ball {other} now.")

    def add_ball(self, ball: str) -> None:
        """Put a ball on the table where there is room."""
        if ball in self.scenario.balls:
            self.select(ball)
            return
        self.change(self._with_ball(ball), f"ball {ball} added", "layout")
        self.select(ball)

    def _with_ball(self, ball: str, near: XY | None = None) -> Scenario:
        """One ball more where there is room, near a place [m] if one is given; a target if there was none."""
        changed = self.scenario.change(balls=Staging(self.scenario).add(ball, near))
        return changed if changed.target is not None else with_target(changed, ball)

    def remove_ball(self) -> None:
        """Take the selected ball off the table; the cue ball stays."""
        ball = self.selected
        if ball is None or ball == CUE_BALL:
            raise TablesimError("The cue ball stays on the table." if ball else "Click the ball to remove first.")
        self.change(without_ball(self.scenario, ball), f"ball {ball} removed", "layout")
        self.select()

    def add_mark(self, kind: str, text: str = "") -> None:
        """A zone, an arrow or a label where there is room near the middle, to be dragged where it belongs."""
        self.change(mark_edits.with_mark(self.scenario, kind, text), f"{kind} added", "marks")
        self.select(mark=len(self.scenario.marks) - 1)

    def set_mark(self, gesture: bool = True, **fields: Any) -> None:
        """Change the mark that is selected."""
        if self.mark is not None:
            changed = mark_edits.with_mark_changed(self.scenario, self.mark, **fields)
            self.change(changed, f"{changed.marks[self.mark].kind} changed", "marks", gesture)

    def move_mark(self, dx: float, dy: float) -> None:
        """Move the mark that is selected, an arrow as a whole, as far as it stays on the table."""
        if self.mark is not None:
            self.set_mark(**mark_edits.moved(self.scenario, self.mark, dx, dy))

    def pull_mark(self, handle: str, x: float, y: float) -> None:
        """Pull the mark that is selected by a handle (at, to, radius_m) to a place [m], as far as the table goes."""
        if self.mark is not None:
            self.set_mark(**mark_edits.pulled(self.scenario, self.mark, handle, x, y))

    def remove_mark(self) -> None:
        """Remove the mark that is selected."""
        if self.mark is not None:
            self.change(mark_edits.without_mark(self.scenario, self.mark), "mark removed", "marks")
            self.select()

    def set_target(self, ball: str | None = None, pocket: str | None = None) -> None:
        """Pick the ball to pot, the pocket, or both."""
        self.change(with_target(self.scenario, ball, pocket), "target", "target")

    def next_pocket(self, by: int = 1) -> None:
        """The pocket after this one, round the table."""
        now = POCKETS.index(self.scenario.target.pocket) if self.scenario.target else 0
        self.set_target(pocket=POCKETS[(now + by) % len(POCKETS)])

    def next_thing(self, by: int = 1) -> None:
        """Select the ball or mark after this one."""
        things: list[str | int] = [*self.scenario.ball_names, *range(len(self.scenario.marks))]
        now = self.selected if self.mark is None else self.mark
        at = things.index(now) if now in things else -1 if by > 0 else 0
        thing = things[(at + by) % len(things)]
        self.select(thing) if isinstance(thing, str) else self.select(mark=thing)

    def set_gear(self, part: str, done: str, value: Any) -> None:
        """Change table, cloth, rails or ball_set as a whole."""
        self.change(self.scenario.change(**{part: value}), done, "gear", True)

    def set_gear_field(self, part: str, name: str, value: float | str) -> None:
        """Change one field of cloth, rails or ball_set."""
        whole = getattr(self.scenario, part)
        self.set_gear(part, name.replace("_", " "), {**whole.model_dump(exclude_none=True), name: value})


TRACED = ("pace", "tip", "butt", "cue", "stroke", "aim", "gear", "layout")
