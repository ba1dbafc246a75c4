"""Run a command as a user does, in this process: arguments and standard input in, code, output and words out."""

import io
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from tracelabels.cli.root import main


@dataclass(frozen=True, kw_only=True)
class Ran:
    code: int
    out: str
    err: str


@pytest.fixture
def run(capfd, monkeypatch) -> Callable[..., Ran]:
    """Run ``tracelabels ARGUMENTS``; a traceback in its words fails the test."""

    def call(*arguments: str | Path, stdin: bytes = b"") -> Ran:
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin), encoding="utf-8"))
        capfd.readouterr()
        with pytest.raises(SystemExit) as left:
            main([str(argument) for argument in arguments])
        out, err = capfd.readouterr()
        assert "Traceback" not in err
        return Ran(code=int(left.value.code or 0), out=out, err=err)

    return call


@pytest.fixture
def practice(run, tmp_path, monkeypatch) -> Path:
    """A practice with one open bottle of Rosehip (serial 010000012) and four filled tubes, printed as R01-0001."""
    monkeypatch.delenv("TRACELABELS_PRACTICE", raising=False)
    folder = tmp_path / "practice"
    day = ("--today", "2026-11-25")
    assert run("new", folder, "--name", "Tidewater Restorative", *day).code == 0
    settings = folder / "practice.toml"
    settings.write_text(
        settings.read_text().replace('validated_liquid_cycle = ""', 'validated_liquid_cycle = "folder 7"')
    )
    pigment = ("--item", "R-12", "--maker", "Saltmarsh Colour", "--carrier", "water_based", "--statement", "file 3")
    filled = ("--size", "1.5", "--fill", "0.8", "--variant", "filled_before")
    steps = [
        ("product", "Rosehip", *pigment),
        ("receive", "R-12", "--batch", "5501", "--expiry", "2027-11", "--keeps", "12 months"),
        ("open", "010000012"),
        ("prepare", "--tubes", "4", *filled, "--from", "010000012=3.2"),
        ("print", "--preparation", "P01-0001", "--layout", "tube-1.5-side"),
    ]
    for step in steps:
        done = run(*step, "--practice", folder, *day)
        assert done.code == 0, done.err
    return folder
