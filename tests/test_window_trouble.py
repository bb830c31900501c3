"""What can go wrong round the window: unsaved work, crashes, bad files, full disks, missing parts."""

from __future__ import annotations

import errno
import os
import stat
import time
from collections.abc import Callable
from pathlib import Path

import pygame
import pytest
from conftest import known
from window import Driver, page_over

from tablesim.errors import TablesimError
from tablesim.model.scenario import to_json
from tablesim.resources import open_scenario
from tablesim.study.correct import correct
from tablesim.view.answers.findings import Findings
from tablesim.view.answers.findings import Question as Asked
from tablesim.view.answers.steps import ANSWERS
from tablesim.view.answers.worker import Helper
from tablesim.view.controls import widgets
from tablesim.view.pages.file_page import FilePage
from tablesim.view.pages.overlays import QuestionPage
from tablesim.view.window.run import start_display

Open = Callable[..., Driver]


def test_unsaved_changes_hold_the_window_back(window: Open) -> None:
    w = window()
    w.key(pygame.K_d)
    w.send(pygame.Event(pygame.QUIT))
    assert w.app.running
    assert isinstance(w.app.overlay, QuestionPage)
    w.key(pygame.K_ESCAPE)
    assert w.app.overlay is None
    w.send(pygame.Event(pygame.QUIT))
    w.press("Don't save")
    assert not w.app.running


def test_work_left_behind_by_a_crash_is_offered(window: Open, tmp_path: Path) -> None:
    w = window()
    w.key(pygame.K_d)
    changed = w.scenario
    w.now += 10.0
    w.app.frame()
    kept = w.app.places.unsaved_file
    assert kept.is_file()
    gone = kept.with_name("unsaved-999999999.json")  # as if the process had died
    kept.rename(gone)
    again = window()
    assert isinstance(again.app.overlay, QuestionPage)
    again.press("Recover it")
    assert again.scenario == changed
    assert again.app.document.unsaved
    assert not gone.exists()
    assert again.app.places.unsaved_file.is_file()


def test_bad_files_and_places_leave_everything_as_it_was(window: Open, tmp_path: Path) -> None:
    w = window()
    scenario = w.scenario
    bad = tmp_path / "bad.json"
    bad.write_text('{"balls": {"cue": [0.5, NaN]}}')
    w.send(pygame.Event(pygame.DROPFILE, file=str(bad)))
    assert "finite" in w.app.message
    assert w.scenario == scenario
    w.send(pygame.Event(pygame.DROPFILE, file=str(tmp_path / "none.json")))
    assert "cannot be read" in w.app.message

    w.key(pygame.K_d)
    w.app.guard(lambda: w.app.files._write(tmp_path / "no" / "such" / "x.json", lambda: None))
    assert "Not saved" in w.app.message
    assert w.app.document.unsaved


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="root may write anywhere")
def test_a_read_only_folder(window: Open, tmp_path: Path) -> None:
    w = window()
    shut = tmp_path / "shut"
    shut.mkdir()
    shut.chmod(stat.S_IRUSR | stat.S_IXUSR)
    w.app.guard(lambda: w.app.files._write(shut / "x.json", lambda: None))
    assert "Not saved" in w.app.message


def test_a_dropped_file_opens_and_is_remembered(window: Open, tmp_path: Path) -> None:
    w = window()
    file = tmp_path / "other.json"
    file.write_text(to_json(w.scenario.change(title="Another")))
    w.send(pygame.Event(pygame.DROPFILE, file=str(file)))
    assert w.scenario.title == "Another"
    assert w.app.settings.recent == [str(file.resolve())]
    w.key(pygame.K_o, pygame.KMOD_CTRL)
    w.settle()
    assert any(e.note == "recent" for e in known(page_over(w, FilePage).list.items))


def test_a_full_disk_is_said_and_loses_nothing(window: Open, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    w = window()
    file = tmp_path / "shot.json"
    w.app.document.save(file)
    old = file.read_bytes()
    w.key(pygame.K_d)

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    w.key(pygame.K_s, pygame.KMOD_CTRL)
    assert "No space left" in w.app.message
    assert file.read_bytes() == old
    assert w.app.document.unsaved
    w.key(pygame.K_d)
    w.now += 10.0
    w.app.frame()
    assert "cannot be kept aside" in w.app.message
    assert [p.name for p in tmp_path.iterdir() if p.name.startswith(".")] == []


def test_another_font_serves_where_the_usual_one_is_missing(
    window: Open, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import matplotlib

    monkeypatch.setattr(matplotlib, "get_data_path", lambda: str(tmp_path))
    widgets.font.cache_clear()
    w = window()
    assert w.app.parts.bar.title.rect.w > 0
    assert widgets.font(13, False).size("words")[0] > 10
    widgets.font.cache_clear()


def test_a_plain_pygame_gets_a_plain_message(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delattr(pygame, "IS_CE")
    with pytest.raises(TablesimError, match="pip install pygame-ce"):
        start_display()


def test_no_screen_gets_a_plain_message(monkeypatch: pytest.MonkeyPatch) -> None:
    pygame.display.quit()
    monkeypatch.setenv("SDL_VIDEODRIVER", "no-such-driver")
    with pytest.raises(TablesimError, match="no window can be opened"):
        start_display()


def test_answers_go_on_when_the_other_process_dies(tmp_path: Path) -> None:
    helper = Helper()
    scenario = open_scenario("two-cues")

    def ask() -> Findings:
        helper.ask(Asked(1, scenario, 0, ()))
        until = time.monotonic() + 30.0
        while time.monotonic() < until:
            for found in helper.answers():
                return found
            time.sleep(0.01)
        raise AssertionError("no answer")

    assert ask()[ANSWERS][0].correction == correct(scenario)[0]
    helper._process.kill()
    helper._process.wait()
    time.sleep(0.3)
    assert ask()[ANSWERS][0].correction == correct(scenario)[0]
    helper.stop()
