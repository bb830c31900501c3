"""The command line as a person meets it: outputs, exit codes, plain messages."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tablesim import units
from tablesim.physics.constants import K


def run(*args: str, code: int = 0, **kwargs: str) -> subprocess.CompletedProcess[str]:
    done = subprocess.run(
        [sys.executable, "-m", "tablesim", *args],
        capture_output=True,
        text=True,
        env={**os.environ, **kwargs},
        check=False,
    )
    assert done.returncode == code, done.stderr or done.stdout
    assert "Traceback" not in done.stderr
    return done


def test_predict_json_has_the_contract_s_keys() -> None:
    data = json.loads(run("predict", "two-cues", "--json").stdout)
    take = data["takes"][0]

    assert set(take["launch"]) >= {"speed_m_s", "squirt_deg", "spin_rad_s"}
    assert set(take["contact"]) >= {"distance_m", "off_line_mm", "cut_deg", "throw_deg", "speed_m_s", "phase"}
    assert set(take["target"]) >= {"ball", "outcome", "pocket", "miss_mm"}
    assert set(take["cue_ball"]) >= {"end_m", "outcome"}
    assert take["duration_s"] > 0
    assert {"time_s", "what", "balls", "where"} <= set(take["events"][0])


def test_predict_table_and_json_agree() -> None:
    take = json.loads(run("predict", "two-cues", "--take", "wood, hard", "--json").stdout)["takes"][0]
    table = run("predict", "two-cues", "--take", "wood, hard").stdout

    assert f"{take['target']['miss_mm']:+.1f}" in table
    assert f"{take['contact']['cut_deg']:+.1f}" in table


def test_miscue_is_an_outcome_not_an_error(tmp_path: Path) -> None:
    file = tmp_path / "m.json"
    file.write_text(
        '{"balls": {"cue": [0.6, 0.4], "1": [1.6, 0.6]}, "target": {"ball": "1", "pocket": "foot-left"},'
        '"takes": [{"name": "far out", "pace_m_s": 2, "tip": {"right": 0.6}}]}'
    )

    assert json.loads(run("predict", str(file), "--json").stdout)["takes"][0]["target"]["outcome"] == "miscue"
    assert "miscue" in run("predict", str(file)).stdout


@pytest.mark.parametrize(
    ("args", "message"),
    [
        (["predict", "no-such"], "unknown scenario 'no-such'"),
        (["predict", "none.json"], "cannot be read"),
        (["predict", "two-cues", "--take", "wod, hard"], "did you mean 'wood, hard'"),
        (["predikt"], "predict"),
        (["law", "cushion", "--velocity", "1", "--spin", "0,0,0"], "--velocity: must be 2 numbers"),
        (["law", "cushion", "--velocity", "1,-1", "--spin", "0,0,0"], "y > 0; got -1"),
        (["law", "cushion", "--velocity", "1,nan", "--spin", "0,0,0"], "must be finite"),
        (["law", "ball-ball", "--velocity", "-1,0", "--spin", "0,0,0"], "x > 0; got -1"),
        (["law", "ball-ball", "--velocity", "1,0", "--spin", "0,0,0", "--friction", "-1"], "--friction"),
        (["law", "strike", "--pace", "2", "--right", "1.2"], "must touch the ball"),
        (["law", "strike", "--pace", "abc"], "'--pace': must be a number; got 'abc'"),
        (["clip", "two-cues", "a.mp4", "--fps", "1.5"], "'--fps': must be a whole number; got '1.5'"),
        (["law", "cloth", "--velocity", "1,0"], "--spin"),
        (["correct", "opening-break"], "the scenario names none"),
        (["explain", "opening-break"], "the scenario names none"),
        (["neutral", "opening-break"], "the scenario names none"),
        (["sweep", "opening-break", "--over", "distance=0.2:1:0.2"], "the scenario names none"),
        (["sweep", "two-cues", "--over", "pace=3:1:1"], "FROM must not exceed TO"),
        (["sweep", "two-cues", "--over", "cue=wod"], "did you mean 'wood'"),
        (["deflection", "two-cues", "--every", "mile"], "unknown step 'mile'"),
    ],
)
def test_bad_input_is_one_message_and_exit_2(args: list[str], message: str) -> None:
    done = run(*args, code=2)

    assert message in done.stderr
    assert done.stdout == ""


def test_laws_print_vectors() -> None:
    strike = json.loads(run("law", "strike", "--pace", "2", "--right", "-0.5", "--json").stdout)
    cloth = json.loads(run("law", "cloth", "--velocity", "2,0", "--spin", "0,0,0", "--after", "0.1", "--json").stdout)
    balls = json.loads(run("law", "ball-ball", "--velocity", "1,0.5", "--spin", "0,0,-10", "--json").stdout)
    cushion = json.loads(run("law", "cushion", "--velocity", "-1,2", "--spin", "0,0,10", "--json").stdout)

    assert strike["squirt_deg"] < 0  # left english squirts right
    assert cloth["slide_time_s"] == pytest.approx(2 * 2 / (7 * 0.2 * 9.81))
    assert cloth["after"]["velocity_m_s"][0] == pytest.approx(2 - 0.2 * 9.81 * 0.1)
    assert cloth["after"]["spin_rad_s"][1] == pytest.approx(K * 0.2 * 9.81 * 0.1 / 0.028575)
    assert balls["throw_deg"] > 0
    assert cushion["velocity_m_s"][1] < 0


def test_check_is_green() -> None:
    assert "FAILS" not in run("check").stdout


def test_schema_accepts_what_it_should() -> None:
    schema = json.loads(run("schema").stdout)

    assert {"balls", "takes", "target", "table", "cues"} <= set(schema["properties"])


def test_scenarios_lists_the_ready_ones() -> None:
    assert {"two-cues", "opening-break"} <= {s["name"] for s in json.loads(run("scenarios", "--json").stdout)}


def test_predict_works_without_numba() -> None:
    plain = json.loads(run("predict", "two-cues", "--json", TABLESIM_PLAIN="1").stdout)
    usual = json.loads(run("predict", "two-cues", "--json").stdout)

    assert plain == usual


@pytest.mark.skipif(os.name == "nt", reason="signals")
def test_ctrl_c_ends_quietly() -> None:
    code = (
        "import signal; signal.signal(signal.SIGINT, signal.default_int_handler);"  # a background job may ignore it
        "import time, tablesim.study.predict as p; p.predict = lambda *a: (print('on', flush=True), time.sleep(20));"
        "import sys; sys.argv = ['tablesim', 'predict', 'two-cues']; import tablesim.cli as c; c.main()"
    )
    with subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        process.stdout.readline()
        time.sleep(0.1)
        process.send_signal(signal.SIGINT)
        _, errors = process.communicate(timeout=10)
    assert process.returncode == 130
    assert "Traceback" not in errors


def test_numbers_of_a_table() -> None:
    assert units.number(-0.04, 1, sign=True) == "0.0"
    assert units.number(0.06, 1, sign=True) == "+0.1"
    assert units.number(-0.06, 1, sign=True) == "-0.1"
    assert units.number(None) == "-"


def test_corrections_by_table_and_json_agree() -> None:
    take = json.loads(run("correct", "two-cues", "--take", "wood, hard", "--json").stdout)["takes"][0]
    table = run("correct", "two-cues", "--take", "wood, hard").stdout
    told = json.loads(run("explain", "two-cues", "--take", "wood, hard", "--json").stdout)["takes"][0]

    assert f"{take['aim_offset_mm']:+.1f}" in table
    assert take["relative_to_english"] == "opposite"
    assert f"{abs(take['aim_offset_mm']):.0f} mm right" in told["reading"]
    assert told["correction"]["heading_deg"] == take["heading_deg"]
    assert sum(p["mm"] for p in told["parts"]) + told["remainder_mm"] == pytest.approx(told["miss_mm"], abs=1e-9)


def test_sweep_writes_csv_and_chart(tmp_path: Path) -> None:
    csv, chart = tmp_path / "s.csv", tmp_path / "s.png"
    run(
        "sweep",
        "two-cues",
        "--over",
        "pace=1.5:3:0.5",
        "--over",
        "cue=wood,low-squirt",
        "--csv",
        str(csv),
        "--chart",
        str(chart),
    )
    run("deflection", "two-cues", "--every", "diamond", "--chart", str(tmp_path / "d.svg"))

    assert len(csv.read_text().splitlines()) == 9
    assert chart.read_bytes().startswith(b"\x89PNG")
    assert "<svg" in (tmp_path / "d.svg").read_text()
    run("sweep", "two-cues", "--over", "pace=3:1:1", "--csv", str(tmp_path / "none.csv"), code=2)
    assert not (tmp_path / "none.csv").exists()
