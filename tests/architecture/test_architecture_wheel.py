"""The built wheel, installed in a bare environment, prints a sheet."""

import subprocess
import sys
import venv
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]

LIST = """product,item,lot,use_by,prepared,serial
Rosehip,R-12,5501,2027-11-30,2026-11-25,010000017
"""


@pytest.mark.slow
def test_the_wheel_alone_prints_a_sheet(tmp_path):
    subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--outdir", str(tmp_path), str(ROOT)],
        check=True,
        capture_output=True,
    )
    (wheel,) = tmp_path.glob("*.whl")
    bare = tmp_path / "bare"
    venv.create(bare, with_pip=True)
    programs = bare / ("Scripts" if sys.platform == "win32" else "bin")
    subprocess.run(
        [str(programs / "python"), "-m", "pip", "install", "-q", str(wheel)], check=True, capture_output=True
    )
    (tmp_path / "list.csv").write_text(LIST)
    command = [
        str(programs / "tracelabels"), "labels", "--from", "list.csv", "--layout", "tube-1.5-side",
        "--sheet", "a4-5x13-38.1x21.2", "--out", "labels.pdf",
    ]  # fmt: skip
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (0, ""), done.stderr
    assert (tmp_path / "labels.pdf").read_bytes().startswith(b"%PDF-")
