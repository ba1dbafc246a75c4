"""Scanning clips, folders and lists of photographs through the command."""

import json

import cv2
import numpy as np
import pytest
from PIL import Image

from tracelabels.paper import rasterise_page

DAY = ("--today", "2026-11-25")
LABELS = ("010000020", "010000036")
"""Serials of the first two labels of the printed run."""


@pytest.fixture
def labels(practice):
    """The first two labels of a printed run, grey, as a near camera would see them; even sides, as encoders want."""
    page = rasterise_page((practice / "printed" / "R01-0001.pdf").read_bytes(), index=0, dpi=400)
    mm = 400 / 25.4
    top, bottom = (round(at * mm) for at in (10.7, 10.7 + 21.2))  # of the sheet a4-5x13-38.1x21.2
    sides = [(round((4.75 + 40.6 * slot) * mm), round((4.75 + 40.6 * slot + 38.1) * mm)) for slot in (0, 1)]
    cut = [np.pad(page[top:bottom, left:right], 40, constant_values=200) for left, right in sides]
    return [one[: one.shape[0] // 2 * 2, : one.shape[1] // 2 * 2] for one in cut]


@pytest.fixture
def film(labels, tmp_path):
    """A clip of two seconds that passes over both labels; only two of its frames are sharp."""
    path = tmp_path / "tray.mp4"
    height, width = labels[0].shape
    writer = cv2.VideoWriter(str(path), cv2.CAP_FFMPEG, cv2.VideoWriter_fourcc(*"mp4v"), 15, (width, height))
    for number in range(1, 31):
        shown = labels[number > 15]
        blurred = cv2.GaussianBlur(shown, (0, 0), 12)
        writer.write(cv2.cvtColor(shown if number in {5, 25} else blurred, cv2.COLOR_GRAY2BGR))
    writer.release()
    return path


def test_each_label_in_a_clip_is_told_once_with_its_frame(run, practice, film):
    done = run("scan", film, "--json", "--practice", practice, *DAY)
    record = json.loads(done.out)
    assert [(one["page"], one["record"]["serial"], one["verdict"]) for one in record["codes"]] == [
        (5, LABELS[0], "stop"),
        (25, LABELS[1], "stop"),
    ]
    assert (done.code, record["unread"], record["advice"]) == (1, [], [])


def test_frames_of_a_clip_are_shown_in_words(run, film):
    done = run("scan", film, "--no-record")
    lines = [line for line in done.out.splitlines() if not line.startswith("  ")]
    assert (done.code, lines) == (0, [f"{film}, frame 5", f"{film}, frame 25"])


def test_a_clip_is_marked_on_its_frame(run, film, tmp_path):
    marked = tmp_path / "marked.png"
    assert run("scan", film, "--no-record", "--marked", marked).code == 0
    with Image.open(marked) as image:
        assert image.height > 300


def test_a_clip_from_standard_input(run, film):
    done = run("scan", "-", "--no-record", "--json", stdin=film.read_bytes())
    assert [one["page"] for one in json.loads(done.out)["codes"]] == [5, 25]
