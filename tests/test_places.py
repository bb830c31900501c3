"""What is kept between windows: whose unsaved work is offered, and whose is not."""

from __future__ import annotations

from pathlib import Path

import pytest

from tablesim.resources import open_scenario
from tablesim.view.document.document import Work
from tablesim.view.document.places import Places

WORK = Work(open_scenario("two-cues").change(title="mine"))


def test_the_work_of_a_living_window_is_not_offered(tmp_path: Path) -> None:
    """Nor to itself; once that window is gone, it is."""
    living, other = Places(tmp_path), Places(tmp_path)
    living.keep_unsaved(WORK)
    assert living.left_behind() == other.left_behind() == ([], [])
    living.keep_unsaved(WORK)
    assert other.left_behind() == ([], [])
    living.release()
    (found,), damaged = other.left_behind()
    assert (found.work, found.kept, damaged) == (WORK, living.unsaved_file, [])
    assert living.left_behind() == ([], [])


def test_looking_at_work_left_behind_does_not_claim_it(tmp_path: Path) -> None:
    """Every window that begins is offered it, until it is dropped."""
    gone = Places(tmp_path)
    gone.keep_unsaved(WORK)
    gone.release()
    for _ in range(2):
        assert [found.work for found in Places(tmp_path).left_behind()[0]] == [WORK]
    Places(tmp_path).forget_unsaved(gone.unsaved_file)
    assert list(tmp_path.iterdir()) == []


def test_a_window_that_ends_with_nothing_kept_leaves_nothing(tmp_path: Path) -> None:
    ended = Places(tmp_path)
    ended.keep_unsaved(WORK)
    ended.forget_unsaved()
    assert [path.suffix for path in tmp_path.iterdir()] == [".lock"]
    ended.release()
    assert list(tmp_path.iterdir()) == []


def test_the_latest_comes_first_and_what_is_damaged_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for at, title in ((5.0, "second"), (7.0, "first"), (3.0, "third")):
        monkeypatch.setattr("time.time", lambda at=at: at)
        left = Places(tmp_path)
        left.keep_unsaved(Work(WORK.scenario.change(title=title)))
        left.release()
    (tmp_path / "unsaved-0.json").write_text("{")
    found, damaged = Places(tmp_path).left_behind()
    assert [(one.at, one.work.scenario.title) for one in found] == [(7.0, "first"), (5.0, "second"), (3.0, "third")]
    assert damaged == [(tmp_path / "unsaved-0.json", "it is damaged")]
