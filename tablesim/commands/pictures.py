"""Commands that make pictures and clips."""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction
from typing import TYPE_CHECKING, Annotated, Literal, TypeVar

import typer

from tablesim.errors import TablesimError, unknown_name
from tablesim.resources import Opened, opened

from .common import File, progress_bar

if TYPE_CHECKING:
    from tablesim.model.lesson import Scene
    from tablesim.scene.shapes import Box

SIZES = {"1080p": (1920, 1080), "4k": (3840, 2160), "portrait": (1080, 1920), "square": (1080, 1080)}

Out = Annotated[str, typer.Argument(metavar="OUT", help="the file to write; its ending says of which kind")]
Takes = Annotated[
    list[str] | None,
    typer.Option("--take", metavar="NAME", help="a take to show, the chosen one first; again for more"),
]
Size = Annotated[
    str | None, typer.Option("--size", metavar="WxH", help=f"pixels, such as 1280x720, or {', '.join(SIZES)}")
]
ClipSize = Annotated[
    str | None,
    typer.Option(
        "--size",
        metavar="WxH",
        help=f"pixels, such as 1280x720, or {', '.join(SIZES)}; 1080p, GIF and WebP 1280x720: a GIF of an ordinary shot"
        " (10 s) has less than 2 MB",
    ),
]
LookName = Annotated[
    str,
    typer.Option(
        "--look",
        metavar="NAME",
        help="evening, projector or paper; paper is for print, 180 mm long: letters of 10 points",
    ),
]
Caption = Annotated[str | None, typer.Option("--caption", metavar="TEXT", help="words under the table")]
Closer = Annotated[
    str | None,
    typer.Option("--closer", metavar="PART", help="shot, table, or two corners x0,y0,x1,y1 [m] of the part to look at"),
]
Said = TypeVar("Said")


def still(
    file: File,
    out: Out,
    take: Takes = None,
    size: Size = None,
    look: LookName = "evening",
    caption: Caption = None,
    corrected: Annotated[
        bool | None, typer.Option("--corrected/--no-corrected", help="with the corrected ways; they are, if not said")
    ] = None,
    growth: Annotated[
        int | None,
        typer.Option("--growth", metavar="N", help="the distance off the cue's line instead, magnified N times"),
    ] = None,
    spin: Annotated[
        bool | None,
        typer.Option("--spin/--no-spin", help="with sliding parts and sidespin along the way; not, if not said"),
    ] = None,
    ways: Annotated[
        bool | None,
        typer.Option("--whole-ways/--few-ways", help="all takes to the end, nothing faint; few, if not said"),
    ] = None,
    stroke: Annotated[bool, typer.Option("--stroke", help="with tip, pace and cue under the table")] = False,
    closer: Closer = None,
    lens: Annotated[
        bool | None, typer.Option("--lens/--no-lens", help="contact and pocket mouth enlarged; not, if not said")
    ] = None,
) -> None:
    """Write a picture of the table, OUT.png or OUT.svg; of a lesson's scene as it was kept, but for what is said."""
    from tablesim.output.still import SIZE, StillWishes
    from tablesim.output.still import still as run

    pixels, found = SIZE if size is None else size_of(size), opened(file)
    kept = found.kept
    wishes = StillWishes(
        size=pixels, takes=take or found.takes, look=look, caption=_or(caption, kept.caption),
        corrected=_or(corrected, kept.corrected), growth=_or(growth, kept.off_the_line), spin=_or(spin, kept.spin),
        whole_ways=_or(ways, kept.whole_ways), stroke=stroke, closer=part_of(closer, kept), lens=_or(lens, kept.lens),
    )  # fmt: skip
    run(found.scenario, out, wishes)
    typer.echo(f"{out}: {pixels[0]}x{pixels[1]}")


def clip(
    file: File,
    out: Out,
    take: Takes = None,
    size: ClipSize = None,
    look: LookName = "evening",
    caption: Caption = None,
    speed: Annotated[
        str | None, typer.Option("--speed", metavar="SHARE", help="such as 1/10 or 0.1; 1/50 to 10; default: 1")
    ] = None,
    contact_speed: Annotated[
        str | None, typer.Option("--contact-speed", metavar="SHARE", help="about the contact; default: as the rest")
    ] = None,
    fps: Annotated[int | None, typer.Option("--fps", help="frames a second; 60, GIF 25, WebP 30")] = None,
    seconds: Annotated[float | None, typer.Option("--seconds", help="length; default: until all lies still")] = None,
    closer: Closer = None,
    overlays: Annotated[
        str | None,
        typer.Option(
            "--overlays",
            metavar="A,B,...",
            help="of title, aim, trails, paths, corrected, marks, names, stroke, contact, outcome, lens; or none;"
            " default: all but paths, corrected, lens",
        ),
    ] = None,
) -> None:
    """Write a clip of takes played together, OUT.mp4, OUT.gif or OUT.webp; of a lesson's scene those that it shows."""
    from tablesim.output.clip import ClipWishes
    from tablesim.output.clip import clip as run

    found = opened(file)
    share = _or(None if speed is None else speed_of(speed), found.kept.speed)
    slow = _or(None if contact_speed is None else speed_of(contact_speed, "--contact-speed"), found.kept.contact_speed)
    pixels = None if size is None else size_of(size)
    wishes = ClipWishes(
        takes=take or found.takes, size=pixels, fps=fps, speed=1.0 if share is None else share, contact_speed=slow,
        seconds=seconds, look=look, caption=_or(caption, found.kept.caption), closer=part_of(closer, found.kept),
        overlays=_overlays(overlays, found),
    )  # fmt: skip
    with progress_bar("painting") as tell:
        done = run(found.scenario, out, wishes, lambda k, n: tell(completed=k, total=n))
    typer.echo(
        f"{out}: {done.size[0]}x{done.size[1]}, {done.seconds:.1f} s, {done.frames} frames at {done.fps} a second"
    )
    for note in done.notes:
        typer.echo(note)


def part_of(text: str | None, kept: Scene) -> Box | Literal["shot"] | None:
    """The part of the table that is asked for, else the one kept; None for all of it."""
    if text is None:
        return kept.closer
    if text == "shot":
        return "shot"
    if text == "table":
        return None
    try:
        x0, y0, x1, y1 = (float(part) for part in text.split(","))
    except ValueError:
        raise TablesimError(
            f"--closer: must be shot, table, or two corners such as 1.2,0.4,2.6,1.3 [m]; got {text[:40]!r}"
        ) from None
    return x0, y0, x1, y1


def _or(said: Said | None, kept: Said) -> Said:
    """What the person said, else what was kept."""
    return kept if said is None else said


def _overlays(text: str | None, found: Opened) -> list[str]:
    """The overlays that are named; else the usual ones, and the corrected ways if a scene shows them."""
    from tablesim.output.film import SHOWN

    if text is None:
        scene = found.scene
        more = [] if scene is None else [name for name in ("corrected", "lens") if getattr(scene, name)]
        return [*SHOWN, *more]
    return [name.strip() for name in text.split(",") if name.strip()] if text.strip() != "none" else []


def size_of(text: str) -> tuple[int, int]:
    """Pixels from "1280x720" or the name of a size; a TablesimError says what may stand there."""
    if text.lower() in SIZES:
        return SIZES[text.lower()]
    found = re.fullmatch(r"(\d{1,6})[x×](\d{1,6})", text.strip().lower())
    if found is None:
        raise TablesimError("--size: must be pixels such as 1280x720; " + unknown_name("size", text, SIZES))
    return int(found[1]), int(found[2])


def speed_of(text: str, option: str = "--speed") -> float:
    """A speed from "1/10" or "0.1"."""
    try:
        return float(Fraction(text.strip()))
    except (ValueError, ZeroDivisionError, OverflowError):
        raise TablesimError(f"{option}: must be a number or a share such as 1/10; got {text[:40]!r}") from None


COMMANDS: tuple[Callable[..., None], ...] = (still, clip)
