"""Files: one way to write them and one to read them; nothing is lost that another program wrote."""

from __future__ import annotations

import json
import os
import stat
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pygame
import pytest
from window import Driver

from tablesim.errors import FileChanged, ScenarioError
from tablesim.model.lesson import Lesson, Scene, save_lesson
from tablesim.model.scenario import from_json, load, save, to_json
from tablesim.model.whole import alone, fingerprint, must_differ, read_text, write_if_unchanged, write_whole
from tablesim.resources import open_scenario, opened
from tablesim.view.document.document import Document, Work
from tablesim.view.document.places import Places
from tablesim.view.pages.overlays import QuestionPage

Open = Callable[..., Driver]

posix = pytest.mark.skipif(os.name != "posix", reason="links, modes and pipes of POSIX")


def command(*words: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "tablesim", *words], capture_output=True, text=True, cwd=cwd)


@posix
class TestWriting:
    """What stands there already."""

    def test_a_link_stays_a_link(self, tmp_path: Path) -> None:
        target, link = tmp_path / "real.json", tmp_path / "link.json"
        target.write_text("old")
        link.symlink_to(target)
        write_whole(link, b"new")
        assert link.is_symlink()
        assert target.read_text() == "new"

    def test_a_dangling_link_makes_its_target(self, tmp_path: Path) -> None:
        link = tmp_path / "link.json"
        link.symlink_to(tmp_path / "real.json")
        write_whole(link, b"new")
        assert link.is_symlink()
        assert (tmp_path / "real.json").read_text() == "new"

    def test_other_names_of_the_file_stay_its_names(self, tmp_path: Path) -> None:
        one, two = tmp_path / "one.json", tmp_path / "two.json"
        one.write_text("old, and longer than the new one")
        os.link(one, two)
        write_whole(one, b"new")
        assert two.read_text() == "new"
        assert one.samefile(two)

    def test_the_mode_stays(self, tmp_path: Path) -> None:
        file = tmp_path / "mine.json"
        file.write_text("old")
        file.chmod(0o600)
        write_whole(file, b"new")
        assert stat.S_IMODE(file.stat().st_mode) == 0o600
        mask = os.umask(0o027)
        try:
            write_whole(tmp_path / "new.json", b"new")
        finally:
            os.umask(mask)
        assert stat.S_IMODE((tmp_path / "new.json").stat().st_mode) == 0o640

    def test_what_must_not_be_written_is_refused(self, tmp_path: Path) -> None:
        locked, pipe = tmp_path / "locked.json", tmp_path / "pipe"
        locked.write_text("old")
        locked.chmod(0o444)
        os.mkfifo(pipe)
        for path, why in (
            (locked, "read-only"),
            (pipe, "no regular file"),
            (tmp_path, "a folder"),
            ("/dev/null", "no reg"),
        ):
            with pytest.raises(ScenarioError, match=f"cannot be written: it is {why}"):
                write_whole(path, b"new")
        assert locked.read_text() == "old"
        assert stat.S_ISFIFO(pipe.stat().st_mode)
        assert sorted(p.name for p in tmp_path.iterdir()) == ["locked.json", "pipe"]


@posix
class TestReading:
    """Regular files alone, of a bounded size, without control characters."""

    def test_a_pipe_or_a_device_in_a_lesson_is_not_opened(self, tmp_path: Path) -> None:
        os.mkfifo(tmp_path / "pipe.json")
        for name in ("pipe.json", "/dev/zero"):
            file = tmp_path / "course.json"
            save_lesson(Lesson(scenes=[Scene(file=name)]), file)
            begun = time.monotonic()
            with pytest.raises(ScenarioError, match="no regular file"):
                opened(f"{file}#1")
            assert time.monotonic() - begun < 5.0

    def test_size_is_bounded_whatever_the_disk_says(self, tmp_path: Path) -> None:
        (tmp_path / "long").write_text("x" * 101)
        with pytest.raises(ScenarioError, match="at most 100 bytes; got 101"):
            read_text(tmp_path / "long", 100)
        with pytest.raises(ScenarioError, match="at most"):
            open_scenario("/dev/zero")

    @pytest.mark.parametrize("odd", ["\\u0000", "\\u001b[31m", "\\ud800", "\\u007f"])
    def test_control_characters_are_refused(self, odd: str) -> None:
        for text in (f'{{"title": "a{odd}b"}}', f'{{"balls": {{"cue": [1, 0.5], "1{odd}": [0.5, 0.5]}}}}'):
            with pytest.raises(ScenarioError, match="without control characters"):
                from_json(text)
        assert from_json('{"balls": {"cue": [1, 0.5]}, "notes": "two\\nlines\\tand a tab"}').notes


class TestInputsAreKept:
    """A command never writes over what it reads."""

    @pytest.mark.parametrize(
        "words",
        [
            "layout a.json --out a.json",
            "layout a.json --out ./sub/../a.json",
            "sweep a.json --over pace=1,2 --csv a.json",
            "sweep a.json --over pace=1,2 --chart a.json",
            "deflection a.json --chart a.json",
            "layout throw-at-thirty --read text.txt --out text.txt",
        ],
    )
    def test_same_file(self, words: str, tmp_path: Path) -> None:
        (tmp_path / "sub").mkdir()
        save(open_scenario("two-cues"), tmp_path / "a.json")
        (tmp_path / "text.txt").write_text("Ball cue 2.0 2.0\n")
        before = {p: p.read_bytes() for p in tmp_path.iterdir() if p.is_file()}
        done = command(*words.split(), cwd=tmp_path)
        assert done.returncode == 2
        assert "would overwrite" in done.stderr or "must end in .png or .svg" in done.stderr
        assert {p: p.read_bytes() for p in tmp_path.iterdir() if p.is_file()} == before

    def test_links_to_the_input_count(self, tmp_path: Path) -> None:
        (tmp_path / "a.json").write_text("{}")
        (tmp_path / "b.json").symlink_to(tmp_path / "a.json")
        with pytest.raises(ScenarioError, match=r"--csv: would overwrite .*a\.json"):
            must_differ(tmp_path / "b.json", tmp_path / "a.json", option="--csv")
        must_differ(tmp_path / "c.json", tmp_path / "a.json", None)

    def test_a_chart_is_what_its_ending_says(self, tmp_path: Path) -> None:
        assert command("deflection", "two-cues", "--chart", "c.svg", cwd=tmp_path).returncode == 0
        assert (tmp_path / "c.svg").read_bytes().startswith(b"<?xml")
        done = command("deflection", "two-cues", "--chart", "c.jpg", cwd=tmp_path)
        assert done.returncode == 2
        assert "must end in .png or .svg" in done.stderr
        assert not (tmp_path / "c.jpg").exists()


class TestTwoPrograms:
    """Two on one file."""

    def test_a_later_save_does_not_overwrite_what_another_wrote(self, tmp_path: Path) -> None:
        file = tmp_path / "a.json"
        save(open_scenario("two-cues"), file)
        one, two = Document(load(file), file), Document(load(file), file)
        one.change(one.scenario.change(title="one"), "title")
        two.change(two.scenario.change(title="two"), "title")
        one.save()
        assert two.changed_on_disk(file)
        with pytest.raises(FileChanged, match="another program has changed it"):
            two.save()
        assert load(file).title == "one"
        assert two.unsaved
        two.take_note(file)
        two.save()
        assert load(file).title == "two"
        one.save(tmp_path / "other.json")
        assert load(tmp_path / "other.json").title == "one"

    def test_the_same_content_from_another_is_no_change(self, tmp_path: Path) -> None:
        file = tmp_path / "a.json"
        known = write_if_unchanged(file, b"one", None)
        assert known == fingerprint(file)
        file.write_bytes(b"two")
        assert write_if_unchanged(file, b"two", known)
        with pytest.raises(FileChanged):
            write_if_unchanged(file, b"three", known)

    @posix
    def test_one_at_a_time(self, tmp_path: Path) -> None:
        """Twenty threads count in one file under the lock: no count is lost."""
        file = tmp_path / "count"
        file.write_text("0")

        def count() -> None:
            with alone(file):
                n = int(file.read_text())
                time.sleep(0.002)
                write_whole(file, str(n + 1).encode())

        threads = [threading.Thread(target=count) for _ in range(20)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert file.read_text() == "20"

    @posix
    def test_two_calibrations_into_one_file_lose_no_cue(self, tmp_path: Path) -> None:
        rounds = int(os.environ.get("TABLESIM_ROUNDS", "2"))
        for _ in range(rounds):
            file = tmp_path / "a.json"
            save(open_scenario("two-cues"), file)
            both = [
                subprocess.Popen(
                    [
                        sys.executable,
                        "-m",
                        "tablesim",
                        "calibrate",
                        "cue",
                        "--pivot",
                        "0.3",
                        "--into",
                        str(file),
                        "--cue",
                        name,
                    ],
                    stdout=subprocess.DEVNULL,
                )
                for name in ("mine", "yours")
            ]
            assert [one.wait() for one in both] == [0, 0]
            assert {"mine", "yours"} <= set(load(file).cues)


class TestKeptAside:
    """Unsaved work is known by itself, not by the number of a process."""

    def test_work_of_a_living_window_is_not_offered_and_of_a_dead_one_is(self, tmp_path: Path) -> None:
        living = Places(tmp_path)
        living.keep_unsaved(Work(open_scenario("two-cues")))
        other = Places(tmp_path)
        assert other.left_behind() == ([], [])
        living.release()  # as the system does when a process ends
        ((left,), _) = other.left_behind()
        assert left.work.scenario == open_scenario("two-cues")
        other.keep_unsaved(Work(open_scenario("three-rails")))
        assert living.unsaved_file.is_file()  # nothing was written over it
        other.forget_unsaved(left.kept)
        assert list(tmp_path.glob(f"{left.kept.stem}*")) == []
        other.release()

    @posix
    def test_a_killed_process_leaves_its_work_whoever_has_its_number_now(self, tmp_path: Path) -> None:
        code = (
            "import sys, time; from tablesim.view.document.places import Places;"
            "from tablesim.view.document.document import Work;"
            "from tablesim.resources import open_scenario;"
            "from pathlib import Path; p = Places(Path(sys.argv[1]));"
            "p.keep_unsaved(Work(open_scenario('two-cues'))); print('kept', flush=True); time.sleep(60)"
        )
        process = subprocess.Popen([sys.executable, "-c", code, str(tmp_path)], stdout=subprocess.PIPE, text=True)
        assert process.stdout is not None
        assert process.stdout.readline() == "kept\n"
        assert Places(tmp_path).left_behind() == ([], [])
        process.kill()
        process.wait()
        process.stdout.close()
        assert len(Places(tmp_path).left_behind()[0]) == 1


class TestWindow:
    """What the window does about it."""

    def test_steady_work_is_kept_aside(self, window: Open) -> None:
        """A change every 0.7 s: what is kept is never older than five seconds."""
        w, history = window(), []
        for k in range(30):
            w.key(pygame.K_RIGHT)
            w.now += 0.7
            w.app.frame()
            history.append(to_json(w.scenario))
            if k * 0.7 > 3.0:
                (kept,) = w.app.places.state.glob("unsaved-*.json")
                assert kept == w.app.places.unsaved_file
                held = json.loads(kept.read_text())["scenario"]
                assert to_json(from_json(json.dumps(held))) in history[-3:]  # a key press takes a second of its own

    def changed_by_another(self, window: Open, tmp_path: Path) -> tuple[Driver, Path]:
        """A window with unsaved work on a file that another program has written since."""
        w, file = window(), tmp_path / "shot.json"
        w.app.document.save(file)
        w.key(pygame.K_d)
        save(open_scenario("three-rails"), file)
        return w, file

    def test_a_change_on_disk_is_asked_about_once(self, window: Open, tmp_path: Path) -> None:
        w, file = self.changed_by_another(window, tmp_path)
        w.now += 3.0
        w.app.frame()
        assert isinstance(w.app.overlay, QuestionPage)
        w.press("Cancel")
        w.now += 3.0
        w.app.frame()
        assert w.app.overlay is None
        w.key(pygame.K_s, pygame.KMOD_CTRL)  # saving asks again
        assert isinstance(w.app.overlay, QuestionPage)
        assert load(file) == open_scenario("three-rails")
        w.press("Keep mine")
        assert load(file) == w.scenario
        assert not w.app.document.unsaved

    def test_a_change_after_the_question_is_asked_about_too(self, window: Open, tmp_path: Path) -> None:
        w, file = self.changed_by_another(window, tmp_path)
        w.key(pygame.K_s, pygame.KMOD_CTRL)
        save(open_scenario("opening-break"), file)
        w.press("Keep mine")
        assert isinstance(w.app.overlay, QuestionPage)
        assert load(file) == open_scenario("opening-break")

    def test_a_change_while_it_is_asked_whether_to_open(self, window: Open, tmp_path: Path) -> None:
        """Read before the question about unsaved work, changed during it: known as it was read, not as it is now."""
        w, file = window(), tmp_path / "shot.json"
        save(open_scenario("three-rails"), file)
        w.key(pygame.K_RIGHT)
        w.app.files.open_path(file)
        w.app.frame()
        save(open_scenario("opening-break"), file)
        w.press("Don't save")
        assert w.scenario == open_scenario("three-rails")
        w.key(pygame.K_RIGHT)
        w.key(pygame.K_s, pygame.KMOD_CTRL)
        assert isinstance(w.app.overlay, QuestionPage)
        assert load(file) == open_scenario("opening-break")

    def test_a_change_between_a_crash_and_the_recovery(self, window: Open, tmp_path: Path) -> None:
        file, places = tmp_path / "shot.json", Places(tmp_path / "kept")
        save(open_scenario("three-rails"), file)
        lost = Document(load(file), file)
        lost.change(lost.scenario.change(title="lost"), "title")
        places.keep_unsaved(lost.work)
        places.release()
        save(open_scenario("opening-break"), file)
        w = window()
        w.press("Recover it")
        assert w.scenario.title == "lost"
        w.key(pygame.K_s, pygame.KMOD_CTRL)
        assert isinstance(w.app.overlay, QuestionPage)
        assert load(file) == open_scenario("opening-break")

    def test_theirs_is_shown(self, window: Open, tmp_path: Path) -> None:
        w, _ = self.changed_by_another(window, tmp_path)
        w.now += 3.0
        w.app.frame()
        w.press("Keep theirs")
        assert w.scenario == open_scenario("three-rails")
        assert not w.app.document.unsaved

    def test_both_become_two_files(self, window: Open, tmp_path: Path) -> None:
        w, file = self.changed_by_another(window, tmp_path)
        w.key(pygame.K_s, pygame.KMOD_CTRL)
        w.press("Keep both")
        w.app.frame()
        w.key(pygame.K_RETURN)
        assert load(file) == open_scenario("three-rails")
        assert load(tmp_path / "shot-mine.json") == w.scenario
