"""A killed writer: what it acknowledged is there, the chain holds, nothing is half written (SQLite)."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

TRIAL = Path(__file__).with_name("kill_trial.py")

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="there is no fork and no SIGKILL on Windows")


def run_trial(folder: Path, kills: int, *options: str) -> dict:
    done = subprocess.run(
        [sys.executable, TRIAL, folder, str(kills), "20270104", *options], capture_output=True, text=True, check=True
    )
    return json.loads(done.stdout)


@pytest.mark.parametrize(
    "kills", [pytest.param(100, marks=pytest.mark.slow), pytest.param(1_000, marks=pytest.mark.long)]
)
def test_nothing_acknowledged_is_lost_by_kills(tmp_path, kills, capsys):
    """More may be there than was acknowledged: a kill between a commit and its word."""
    found = run_trial(tmp_path, kills)
    with capsys.disabled():
        print(f"\n{kills} kills: {found}")
    assert (found["kills"], found["lost"], found["faults"]) == (kills, 0, [])
    assert found["acknowledged"] > kills
    assert found["while_opening"] > kills / 20


@pytest.mark.slow
def test_the_trial_sees_a_word_given_too_early(tmp_path):
    found = run_trial(tmp_path, 30, "early")
    assert found["lost"] > 0
    assert found["faults"] == []
