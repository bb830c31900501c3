"""Pictures and text on the system's clipboard, as far as it lets us."""

from __future__ import annotations

import contextlib
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import pygame

from tablesim.errors import TablesimError

WAIT_S = 3.0


def copy_text(text: str) -> None:
    """Put text on the clipboard; TablesimError where there is none."""
    try:
        pygame.scrap.put_text(text)
    except ValueError:
        raise TablesimError("the clipboard takes no text with control characters; take them out of the names") from None
    except (pygame.error, AttributeError, NotImplementedError) as error:
        raise TablesimError(f"nothing can be copied here ({error})") from None


def pasted_text() -> str:
    """The text on the clipboard, empty where there is none."""
    with contextlib.suppress(pygame.error, AttributeError, NotImplementedError):
        return pygame.scrap.get_text() or ""
    return ""


def copy_picture(png: Path) -> None:
    """Put a PNG on the clipboard with the system's own tool; TablesimError names what is missing."""
    tools = _tools(png)
    for name, arguments, reads in tools:
        if shutil.which(name) is None:
            continue
        with png.open("rb") as picture, tempfile.TemporaryFile() as nowhere:
            done = subprocess.Popen(
                [name, *arguments], stdin=picture if reads else None, stdout=nowhere, stderr=nowhere
            )
            with contextlib.suppress(subprocess.TimeoutExpired):
                if done.wait(WAIT_S) != 0:
                    continue
            return
    names = " or ".join(name for name, _, _ in tools)
    raise TablesimError(f"pictures are copied with {names}, which is missing here or fails; save a file instead")


def _tools(png: Path) -> list[tuple[str, list[str], bool]]:
    """Programs that put a PNG on this system's clipboard: name, arguments, and whether they read it from stdin."""
    if sys.platform == "darwin":
        quoted = str(png).replace("\\", "\\\\").replace('"', '\\"')
        return [("osascript", ["-e", f'set the clipboard to (read (POSIX file "{quoted}") as «class PNGf»)'], False)]
    if sys.platform == "win32":
        quoted = str(png).replace("'", "''")
        shell = (
            "Add-Type -AssemblyName System.Windows.Forms,System.Drawing;"
            f"[Windows.Forms.Clipboard]::SetImage([Drawing.Image]::FromFile('{quoted}'))"
        )
        return [("powershell", ["-NoProfile", "-Command", shell], False)]
    x11 = ["-selection", "clipboard", "-t", "image/png"]
    return [("wl-copy", ["--type", "image/png"], True), ("xclip", x11, True)]
