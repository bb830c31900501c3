"""What a command prints arrives on any stream, harmless and never as a traceback; whatever it is asked, one answer."""

from __future__ import annotations

import io
import json
import os
import random
import subprocess
import sys
from contextlib import redirect_stdout, suppress
from pathlib import Path

import pytest
from conftest import many_shots

from tablesim.commands import app, streams
from tablesim.errors import ScenarioError, TablesimError
from tablesim.model.base import shown
from tablesim.model.shot import Take

posix = pytest.mark.skipif(os.name != "posix", reason="pipes and terminals the POSIX way")
COMMAND = [sys.executable, "-m", "tablesim"]
RED, HOME = "\x1b[31m", "\x9b2J"  # what a terminal obeys: with an escape, and with a control of eight bits
FULL = Path("/dev/full")


def scenario(folder: Path, title: str, take: str = "one", **more: object) -> Path:
    """A file of one take under a title of any letters."""
    file = folder / "s.json"
    balls = {"cue": [0.6, 0.4], "1": [1.6, 0.6]}
    takes = [{"name": take, "pace_m_s": 2, "tip": {"right": 0.2}}]
    data = {"title": title, "balls": balls, "target": {"ball": "1", "pocket": "foot-left"}, "takes": takes, **more}
    file.write_text(json.dumps(data))
    return file


def run(*args: str, code: int = 0, **environment: str) -> tuple[str, str]:
    """What a command says on standard output and standard error."""
    done = subprocess.run([*COMMAND, *args], capture_output=True, env={**os.environ, **environment}, check=False)
    assert done.returncode == code, done.stderr
    out, err = done.stdout, done.stderr
    assert b"Traceback" not in err
    return out.decode(errors="surrogateescape"), err.decode(errors="surrogateescape")


def on_a_terminal(*args: str, command: list[str] = COMMAND) -> bytes:
    """What a command sends to a terminal."""
    ours, theirs = os.openpty()
    process = subprocess.Popen(
        [*command, *args], stdin=subprocess.DEVNULL, stdout=theirs, stderr=theirs,
        env={**os.environ, "TERM": "xterm", "COLUMNS": "200"},
    )  # fmt: skip
    os.close(theirs)
    sent = b""
    with suppress(OSError):  # so Linux tells the end
        while part := os.read(ours, 4096):
            sent += part
    os.close(ours)
    process.wait()
    return sent


@posix
@pytest.mark.parametrize("args", [["predict", "two-cues"], ["predict", "two-cues", "--json"], ["schema"], ["--help"]])
def test_nobody_reads_on(args: list[str]) -> None:
    """As ``| head -1`` leaves it: quietly, with the exit code of SIGPIPE."""
    ours, theirs = os.pipe()
    os.close(ours)
    done = subprocess.run([*COMMAND, *args], stdout=theirs, stderr=subprocess.PIPE, check=False)
    os.close(theirs)

    assert (done.returncode, done.stderr) == (streams.EXIT_CODE_UNREAD, b"")


@pytest.mark.skipif(not FULL.exists(), reason="there is no full device here")
@pytest.mark.parametrize("args", [["predict", "two-cues"], ["scenarios", "--json"], ["--version"], ["law", "--help"]])
def test_a_full_standard_output_is_one_plain_line(args: list[str]) -> None:
    with FULL.open("wb") as full:
        done = subprocess.run([*COMMAND, *args], stdout=full, stderr=subprocess.PIPE, text=True, check=False)

    assert done.returncode == 2
    assert done.stderr.startswith("tablesim: standard output: cannot be written (")
    assert done.stderr.count("\n") == 1


@pytest.mark.skipif(not FULL.exists(), reason="there is no full device here")
@pytest.mark.parametrize("args", [["predict", "no-such"], ["predict"], ["law", "strike", "--pace", "x"]])
def test_a_full_standard_error_changes_no_exit_code(args: list[str]) -> None:
    with FULL.open("wb") as full:
        assert subprocess.run([*COMMAND, *args], stdout=subprocess.PIPE, stderr=full, check=False).returncode == 2


@posix
@pytest.mark.parametrize("closed", [">&-", "2>&-", ">&- 2>&-"])
def test_closed_streams_do_no_harm(closed: str) -> None:
    for command in ("predict two-cues", "sweep two-cues --over pace=2"):
        done = subprocess.run(f"'{sys.executable}' -m tablesim {command} {closed}", shell=True, check=False,
                              capture_output=True, env={**os.environ, "TABLESIM_PLAIN": "1"})  # fmt: skip
        assert b"Traceback" not in done.stderr
        assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "utf-8"])
@pytest.mark.parametrize("args", [[], ["--json"]])
def test_letters_that_the_stream_lacks(tmp_path: Path, encoding: str, args: list[str]) -> None:
    title, take = "Übung \U0001f3b1 練習 ½", "Größe"
    out, _ = run("predict", str(scenario(tmp_path, title, take)), *args, PYTHONIOENCODING=encoding)

    if args:
        data = json.loads(out.encode(errors="surrogateescape").decode(encoding))
        assert (data["title"], data["takes"][0]["take"]) == (title, take)
    elif encoding == "ascii":
        assert r"\xdcbung \U0001f3b1 \u7df4\u7fd2 \xbd" in out
    else:
        assert ("練習" in out) == (encoding == "utf-8")


@posix
def test_bytes_of_a_path_that_are_no_letters(tmp_path: Path) -> None:
    out, err = run("predict", os.fsdecode(bytes(tmp_path) + b"/\xff.json"), code=2)

    assert out == ""
    assert r"\udcff.json" in err


@posix
@pytest.mark.parametrize("command", ["predict", "correct", "explain", "deflection", "neutral", "layout", "lesson"])
def test_a_terminal_is_sent_no_control_of_a_file(tmp_path: Path, command: str) -> None:
    """Whether the file is refused or not."""
    file = scenario(tmp_path, f"a{RED}b{HOME}c\rd\u202ee", f"one{RED}\x07{HOME}", notes=RED)
    sent = on_a_terminal(command, str(file))
    for harm in (RED, "\x07", HOME, "\rd", "\u202e"):
        assert harm.encode() not in sent


PRINTS = r"""
import sys, typer
from tablesim.commands import common, streams
title = "a\x1b[31mb\x9b2Jc\rd\u202ee\ud800:smile:"
with streams.guarded():
    common.print_table([title], [[title]], title)
    typer.echo(title)
    typer.echo(title, err=True)
    print(title, file=sys.stderr)
"""


@posix
def test_all_doors_to_a_terminal_show_controls() -> None:
    sent = on_a_terminal("-c", PRINTS, command=[sys.executable])

    assert sent.count(rb"a\x1b[31mb\x9b2Jc\rd\u202ee\ud800:smile:") == 6
    for harm in (RED, HOME, "\rd", "\u202e"):
        assert harm.encode() not in sent


@posix
def test_a_terminal_is_sent_no_control_of_an_argument(tmp_path: Path) -> None:
    folder = tmp_path / f"x{RED}"
    folder.mkdir()
    file = scenario(folder, "plain")
    for args in (
        ["predict", str(file)], ["predict", f"{file}{HOME}"], ["predict", str(file), f"--take={RED}{HOME}"],
        ["predict", str(file), RED], [f"--{RED}"], [RED, RED], ["law", "strike", "--pace", RED],
        ["calibrate", "cloth", "--roll", "5.1,9", "--into", str(file)],
    ):  # fmt: skip
        sent = on_a_terminal(*args)
        assert RED.encode() not in sent, args
        assert HOME.encode() not in sent, args


@posix
def test_a_terminal_still_has_its_colours() -> None:
    assert b"\x1b[" in on_a_terminal("predict", "two-cues")


def test_an_error_is_one_line_whatever_it_names(tmp_path: Path) -> None:
    file = scenario(tmp_path, "t")
    file = file.rename(tmp_path / "a\nb.json")
    file.write_text("{")
    _, err = run("predict", str(file), code=2)

    assert err.count("\n") == 1
    assert r"a\nb.json" in err


@pytest.mark.parametrize("args", [["predict", "--json"], ["layout", "--read"]])
def test_json_stays_what_it_means(tmp_path: Path, args: list[str]) -> None:
    title = "a\u2028b\u202ec \U0001f3b1"
    file = scenario(tmp_path, title)
    text = tmp_path / "layout.txt"
    text.write_text("Ball cue 2 2\nBall 1 5 2\n")
    out, _ = run(args[0], str(file), *args[1:], *([str(text)] if "--read" in args else []))

    assert json.loads(out)["title"] == title
    assert not streams.HARMFUL.search(out)


@pytest.mark.parametrize("encoding", ["utf-8", "ascii", "cp1252", None])
def test_printable_json(encoding: str | None) -> None:
    for title in ("plain", "é", "\U0001f3b1\udfff\ud83c", "\x00\x9f\u2067\u2028\n\t"):
        text = streams.printable_json(json.dumps(title, ensure_ascii=False), encoding)
        assert json.loads(text) == title
        text.encode(encoding or "ascii")


def test_a_guarded_stream_cannot_be_passed_by(monkeypatch: pytest.MonkeyPatch) -> None:
    """Libraries that look for the bytes under a text stream find none."""
    held = io.BytesIO()
    below = io.TextIOWrapper(held, encoding="ascii")
    monkeypatch.setattr(sys, "stdout", below)
    import typer

    with streams.guarded():
        assert not hasattr(sys.stdout, "buffer")
        typer.echo("é\x1b]0;\x07")
    assert sys.stdout is below
    assert held.getvalue() == rb"\xe9\x1b]0;\x07" + b"\n"


QUESTIONS = [
    "predict",
    "correct",
    "explain",
    "explain --halves",
    "deflection",
    pytest.param("neutral", marks=many_shots),
]


@pytest.mark.parametrize("question", QUESTIONS)
def test_every_take_that_is_named_is_answered_in_that_order(question: str) -> None:
    named = ["wood, hard", "low-squirt, hard"]
    asked = [word for name in [*named, named[0]] for word in ("--take", name)]
    out, _ = run(*question.split(), "two-cues", *asked, "--json")
    one, _ = run(*question.split(), "two-cues", "--take", named[1], "--json")

    assert [take["take"] for take in json.loads(out)["takes"]] == named
    assert json.loads(out)["takes"][1] == json.loads(one)["takes"][0]


@pytest.mark.parametrize("question", QUESTIONS)
def test_an_unknown_take_among_others_is_refused(question: str) -> None:
    out, err = run(*question.split(), "two-cues", "--take", "wood, hard", "--take", "wod, soft", code=2)

    assert (out, err) == ("", "tablesim: unknown take 'wod, soft'; did you mean 'wood, soft'?\n")


def test_a_sweep_varies_one_take() -> None:
    out, err = run("sweep", "two-cues", "--over", "pace=2", "--take", "wood, hard", "--take", "wood, soft", code=2)

    assert out == ""
    assert err.startswith("tablesim: --take: one take is varied at a time; got 2, 'wood, hard', 'wood, soft'.")


SQUIRT = "calibrate cue --offset 14 --distance 2.2 --elevation 3"


@pytest.mark.parametrize(
    ("command", "said"),
    [
        ("law cloth --velocity 1e200,0 --spin 0,0,0", "--velocity: must lie within 1e+06; got 1e+200"),
        ("law cloth --velocity 1e20,0 --spin 0,0,0", "--velocity: must lie within 1e+06; got 1e+20"),
        ("law cloth --velocity 1,0 --spin 0,0,1e20", "--spin: must lie within 1e+06; got 1e+20"),
        ("calibrate cloth --roll 1,1e-308", "seconds: must lie from 1e-06 to 1e+06 to be a reading; got 1e-308"),
        ("calibrate cloth --roll 1e308,1", "distance: must lie from"),
        ("calibrate cloth --roll 1,4 --low 10 --stop 1,1e-320", "run: must lie from"),
        ("calibrate balls --cut 30 --stop 1,1e308", "off: must lie from 1e-06 to 1e+06 to be a reading; got 1e+308"),
        ("calibrate balls --cut 30 --stop 1e-308,1", "along: must lie from"),
        ("calibrate rails --rail 1 --free 1e308,1e308 --back 1", "free roll: must lie from"),
        ("calibrate cue --pivot 0.3,1e308,1e308", "pivot length: must lie from"),
        (f"{SQUIRT} --pace 4 --off 1e308,1e308", "off the line, mm: must lie from -1e+06 to 1e+06; got 1e+308"),
        (f"{SQUIRT} --pace 4 --off 34r,36l --jabbed 1e308r,1e308l", "off the line, mm: must lie from"),
        (f"{SQUIRT} --timed 1e308,1e308 --off 34", "distance: must lie from"),
    ],
)
def test_numbers_of_no_table_are_refused(command: str, said: str) -> None:
    out, err = run(*command.split(), code=2)

    assert out == ""
    assert err.startswith(f"tablesim: {said}")
    assert err.count("\n") == 1


EXTREMES = ["0", "-1", "5e-324", "1e-308", "1e-9", "1", "40", "1e6", "1e20", "1e200", "1e308", "-1e308", "nan", "inf"]
OPTIONS = {  # a command that is answered, and the options to try, with how many numbers each
    "law strike --pace 2 --right 0.2": "pace right up elevation ball-to-end-mass stroke-factor ball-mass cue-mass"
    " radius sliding-friction tip-friction",
    "law cloth --velocity 2,0 --spin 0,0,0": "velocity*2 spin*3 after sliding-friction rolling-resistance"
    " spin-deceleration radius",
    "law ball-ball --velocity 2,0 --spin 0,0,0": "velocity*2 spin*3 restitution condition friction mass-ratio radius",
    "law cushion --velocity 1,2 --spin 0,0,0": "velocity*2 spin*3 restitution friction nose-height"
    " sliding-friction radius",
    f"{SQUIRT} --pace 4 --off 34": "off offset distance pace elevation jabbed offset-error off-error pace-error"
    " elevation-error",
    f"{SQUIRT} --timed 2,0.8 --off 34": "timed*2",
    "calibrate cue --pivot 0.3": "pivot offset",
    "calibrate cloth --roll 1,4.5 --stop 1,1 --low 10": "roll*2 stop*2 low elevation",
    "calibrate rails --free 3 --rail 1 --back 1": "free rail back",
    "calibrate balls --cut 30 --stop 900,40": "cut stop*2",
}


@pytest.mark.parametrize("command", OPTIONS)
def test_no_extreme_of_any_option_is_more_than_refused(command: str) -> None:
    """Two options at a time take any numbers: there is an answer of finite numbers, or a plain line."""
    words, asked = command.split(), random.Random(1)
    options = OPTIONS[command].split()
    for _ in range(60):
        changed = []
        for option in asked.sample(options, min(2, len(options))):
            name, _, count = option.partition("*")
            changed.append(f"--{name}={','.join(asked.choice(EXTREMES) for _ in range(int(count or 1)))}")
        answer, refused = answered([*words, *changed, "--json"])
        assert "NaN" not in answer, changed
        assert "Infinity" not in answer, changed
        assert len(refused) < 300, changed
        assert "\n" not in refused, changed


def answered(args: list[str]) -> tuple[str, str]:
    """The answer to a command in this process, or its refusal."""
    with redirect_stdout(io.StringIO()) as out:
        try:
            app(args, standalone_mode=False)
        except TablesimError as error:
            return "", str(error)
    return out.getvalue(), ""


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (None, "null"),
        ([None, True], "[null, true]"),
        (10**400, "100000000000... (401 digits)"),
        (1 - 10**400, "-999999999999... (400 digits)"),
        ("\ud800", r"'\ud800'"),
        ([10**400, "\udfff"], r"[100000000000... (401 digits), '\udfff']"),
        (["a" * 50] * 4, "a list of 4"),
    ],
)
def test_values_in_messages_are_short_and_in_plain_words(value: object, said: str) -> None:
    assert shown(value) == said
    assert shown(10**9000) == "100000000000... (9001 digits)"  # Python itself does not write it out


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"name": "\ud800"}, r"name: must be a text without halves of letters; got '\ud800'"),
        ({"name": None}, "name: must be a text; got null"),
        ({"pace_m_s": 10**400}, "pace_m_s: must be a number below 1e308; got 100000000000... (401 digits)"),
    ],
)
def test_refusals_of_odd_values(fields: dict[str, object], said: str) -> None:
    with pytest.raises(ScenarioError) as refused:
        Take.model_validate({"name": "a", "pace_m_s": 1.0, **fields})

    assert str(refused.value) == said


def test_a_format_number_of_any_length(tmp_path: Path) -> None:
    file = tmp_path / "s.json"
    file.write_text(f'{{"tablesim": {"9" * 4000}, "balls": {{"cue": [0.6, 0.4]}}}}')
    _, err = run("predict", str(file), code=2)

    assert "999999999999... (4000 digits) is unknown here" in err


def test_an_endless_value_is_cut_wherever_it_was_named() -> None:
    for args in (["clip", "two-cues", "a.mp4", "--fps", "9" * 400], ["lesson", "a" * 5000]):
        _, err = run(*args, code=2)
        assert len(err) < 1100
        assert err.count("\n") == 1
