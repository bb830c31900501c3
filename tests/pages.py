"""Pages to share, made for tests and taken apart again."""

from __future__ import annotations

import json
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

from typer.testing import CliRunner

import tablesim as ts
from tablesim.commands import app
from tablesim.output.share import ShareWishes, share

LESSON = "when-to-aim-elsewhere"
EVIL = '</script><img src=x onerror="window.evil=1"><!--<b class=evil>&amp;\u2028'
Data = dict[str, Any]


class Page(HTMLParser):
    """A page's elements, and the texts of its scripts and style."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[str] = []
        self.inside = ""
        self.texts: dict[str, list[str]] = {}
        self.metas: dict[str, str] = {}
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.inside = tag
        if tag == "meta":
            named = dict(attrs)
            self.metas[named.get("http-equiv") or named.get("name") or "charset"] = named.get("content") or ""

    def handle_endtag(self, tag: str) -> None:
        self.inside = ""

    def handle_data(self, data: str) -> None:
        if self.inside in ("script", "style", "title"):
            self.texts.setdefault(self.inside, []).append(data)

    @property
    def data(self) -> Data:
        found: Data = json.loads(self.texts["script"][0])
        return found


def made(path: Path) -> Page:
    return Page(path.read_text("utf-8"))


def command(*arguments: str) -> str:
    result = CliRunner().invoke(app, ["share", *arguments], catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.stdout


def bare(**changes: Any) -> ts.Scenario:
    """A shot with one take."""
    stated: dict[str, Any] = {
        "balls": {"cue": (0.94, 0.48), "3": (1.75, 0.75)}, "target": ts.Target(ball="3", pocket="foot-left"),
        "takes": [ts.Take(name="left", pace_m_s=1.9, tip=ts.Tip(right=-0.3))],
    }  # fmt: skip
    return ts.Scenario(**{**stated, **changes})


def lesson_page_in(folder: Path) -> Path:
    """The page of the ready lesson, made by command."""
    command(LESSON, str(folder / "lesson.html"))
    return folder / "lesson.html"


def evil_page_in(folder: Path) -> Path:
    """A page of a lesson whose every text is markup."""
    mark = ts.Mark(kind="label", at=(1.0, 1.0), text=EVIL[:60])
    take = ts.Take(name="<i>take</i>", pace_m_s=1.9)
    evil = bare(
        title=EVIL[:60], notes=EVIL, marks=[mark], takes=[take],
        balls={"cue": (0.94, 0.48), "3": (1.75, 0.75), "<b>9</b>": (2.0, 1.0)},
        cues={"<u>cue</u>": ts.Cue()},
    )  # fmt: skip
    scenes = [ts.Scene(caption=EVIL, scenario=evil), ts.Scene(caption="<s>two</s>", scenario=evil)]
    share(ts.Lesson(title=EVIL, scenes=scenes), str(folder / "evil.html"), ShareWishes(others=False))
    return folder / "evil.html"
