"""Frames into files of moving pictures: MP4 (H.264), GIF with one palette, animated WebP."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np

from tablesim.errors import TablesimError
from tablesim.scene.look import BALL_COLOURS, IVORY, Look

from .painter import Bytes, rgba

MOST_FPS = 120
GIF_MOST_FPS = 50  # viewers slow down what is quicker
PALETTE = 128  # colours of a GIF


class Stopped(TablesimError):
    """A clip was given up before its end; nothing was written."""

    def __init__(self) -> None:
        super().__init__("stopped before the end; nothing written")


@dataclass(frozen=True, eq=False)
class Reel:
    """What an encoder is told: size [pixels], frames a second, and a few frames to choose colours from."""

    size: tuple[int, int]
    fps: int
    look: Look
    samples: tuple[Bytes, ...] = ()


Sink = Callable[[str, Reel, Iterator[Bytes]], None]


def _stream(
    path: str, form: str, codec: str, pixel_format: str, reel: Reel, frames: Iterator[Bytes], **options: str
) -> None:
    """Encode frames with one of the video library's codecs."""
    try:
        import av
    except ImportError:
        raise TablesimError("clips need the package 'av': pip install av") from None
    if codec not in av.codecs_available:
        raise TablesimError(f"this build of the package 'av' has no {codec} encoder; choose another kind of file")
    to_frame = _paletted(reel) if pixel_format == "pal8" else _plain(pixel_format)
    flags = {"movflags": "+faststart"} if form == "mp4" else {"loop": "0"}
    with av.open(path, "w", format=form, options=flags) as container:
        stream: Any = container.add_stream(codec, rate=reel.fps, options=options)
        stream.width, stream.height = reel.size
        stream.pix_fmt = pixel_format
        if form == "mp4":  # BT.709, as every player takes it; untagged the colours shift
            context = stream.codec_context
            context.thread_count = max(1, (os.cpu_count() or 2) - 1)  # one core paints
            context.colorspace = context.color_primaries = context.color_trc = context.color_range = 1
        for k, pixels in enumerate(frames):
            frame = to_frame(pixels)
            frame.pts, frame.time_base = k, Fraction(1, reel.fps)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


def _plain(pixel_format: str) -> Callable[[Bytes], Any]:
    import av

    space = "ITU709" if pixel_format == "yuv420p" else None
    return lambda pixels: av.VideoFrame.from_ndarray(pixels, format="rgba").reformat(
        format=pixel_format, dst_colorspace=space, interpolation="BILINEAR"
    )


def _paletted(reel: Reel) -> Callable[[Bytes], Any]:
    """Frames in one shared palette, without dither."""
    import av

    table, colours = shared_palette(reel)

    def frame(pixels: Bytes) -> Any:
        five = (pixels[:, :, :3] >> 3).astype(np.uint16)
        places = table[(five[:, :, 0] << 10) | (five[:, :, 1] << 5) | five[:, :, 2]]
        picture: Any = (places, colours)
        return av.VideoFrame.from_ndarray(picture, format="pal8")

    return frame


def shared_palette(reel: Reel) -> tuple[Bytes, Bytes]:
    """For each colour of 5 bits a channel (32768,) its place in a palette (256, 4) of opacity, red, green, blue.

    The look's own colours are in it as they are; the rest is chosen from the samples.
    """
    from PIL import Image

    look = reel.look
    own = [look.cloth, look.cushion, look.rail, look.room, look.pocket, look.ink, look.sight, look.rail_edge, IVORY]
    own += [*look.takes, *BALL_COLOURS.values()]
    exact = np.array([[round(255 * v) for v in rgba(colour)[:3]] for colour in dict.fromkeys(own)])
    whole = Image.fromarray(np.ascontiguousarray(np.concatenate(reel.samples)[:, :, :3]))
    found = whole.quantize(PALETTE - len(exact), dither=Image.Dither.NONE).getpalette() or []
    colours = np.vstack([exact, np.array(found, dtype=np.int64).reshape(-1, 3)])[:PALETTE]
    r, g, b = np.indices((32, 32, 32)).reshape(3, -1)
    cells = np.stack([r, g, b], axis=1) * 8 + 4
    table = np.argmin(((cells[:, None] - colours[None]) ** 2).sum(axis=2), axis=1).astype(np.uint8)
    for k in range(len(exact) - 1, -1, -1):
        red, green, blue = exact[k] >> 3
        table[(red << 10) | (green << 5) | blue] = k
    palette = np.full((256, 4), 255, dtype=np.uint8)
    palette[: len(colours), 1:] = colours
    return table, palette


def _mp4(path: str, reel: Reel, frames: Iterator[Bytes]) -> None:
    _stream(path, "mp4", "libx264", "yuv420p", reel, frames, preset="veryfast", crf="20")


def _gif(path: str, reel: Reel, frames: Iterator[Bytes]) -> None:
    _stream(path, "gif", "gif", "pal8", reel, frames)


def _webp(path: str, reel: Reel, frames: Iterator[Bytes]) -> None:
    _stream(path, "webp", "libwebp_anim", "bgra", reel, frames, quality="85", compression_level="3")


@dataclass(frozen=True)
class Kind:
    """A kind of file: who writes it, its usual frames a second and size, and what it cannot do."""

    sink: Sink
    fps: int
    size: tuple[int, int]
    most_fps: int = MOST_FPS
    even: bool = False
    palette: bool = False


KINDS = {
    ".mp4": Kind(_mp4, 60, (1920, 1080), even=True),
    ".gif": Kind(_gif, 25, (1280, 720), GIF_MOST_FPS, palette=True),
    ".webp": Kind(_webp, 30, (1280, 720)),
}
