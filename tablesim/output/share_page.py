"""A page for a browser, put together from its parts: one file that asks nothing of any network.

The parts lie in assets/share of the source tree, and inside the installed
package.  The page's own rule for the browser lets run nothing but them.
"""

from __future__ import annotations

import base64
import hashlib
import html
import json
from dataclasses import fields
from pathlib import Path
from string import Template
from typing import Any

from tablesim.scene.look import EVENING, PROJECTOR, Look

SCRIPTS = ("motion.js", "drawing.js", "showing.js", "page.js")  # in the order in which they stand on the page
ESCAPES = {ord(c): f"\\u{ord(c):04x}" for c in "<>&\u2028\u2029"}


def parts_folder() -> Path:
    """Where the page's parts lie."""
    inside = Path(__file__).parent.parent / "assets" / "share"
    return inside if inside.is_dir() else Path(__file__).parent.parent.parent / "assets" / "share"


def page_html(title: str, data: dict[str, Any]) -> str:
    """The whole page."""
    folder = parts_folder()
    style = colours_css() + (folder / "page.css").read_text("utf-8")
    script = '"use strict";\n' + "\n".join((folder / name).read_text("utf-8") for name in SCRIPTS)
    return Template((folder / "page.html").read_text("utf-8")).substitute(
        title=html.escape(title), policy=policy(style, script), style=style, script=script, data=escaped_json(data)
    )


def policy(style: str, script: str) -> str:
    """What the browser may do for the page: run this script, apply this style, and nothing else; no network."""
    return (
        f"default-src 'none'; script-src '{_hash(script)}'; style-src '{_hash(style)}'; base-uri 'none';"
        " form-action 'none'"
    )


def _hash(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")


def escaped_json(data: Any) -> str:
    """JSON that means the same and can stand in a page: no sign in it begins or ends a tag."""
    return json.dumps(data, ensure_ascii=False, separators=(",", ":"), allow_nan=False).translate(ESCAPES)


def colours_css() -> str:
    """The looks' colours as CSS variables: light, and dark where the person prefers that."""
    dark = f"@media (prefers-color-scheme: dark) {{ :root {{\n{_variables(EVENING)}}} }}\n"
    return f":root {{\n{_variables(PROJECTOR)}}}\n{dark}"


def _variables(look: Look) -> str:
    single = {field.name.replace("_", "-"): getattr(look, field.name) for field in fields(look)}
    colours = {name: value for name, value in single.items() if isinstance(value, str) and value.startswith("#")}
    colours |= {f"take-{k}": colour for k, colour in enumerate(look.takes)}
    return "".join(f"  --{name}: {colour};\n" for name, colour in colours.items())
