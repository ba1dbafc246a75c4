"""Scanning clips, folders and lists of photographs through the command."""

import csv
import json
import re
from pathlib import Path

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
def symbol_picture():
    """A QR code that says whatever is asked."""
    from tracelabels.identifiers import IdentifierMode, Payload
    from tracelabels.symbols import write_qr

    def make(text):
        modules = np.pad(write_qr(Payload(text=text, fnc1_first=False, mode=IdentifierMode.IN_HOUSE)).modules, 4)
        return np.where(np.kron(modules, np.ones((6, 6), dtype=bool)), 20, 230).astype(np.uint8)

    return make


@pytest.fixture
def film_of(tmp_path):
    """Film two pictures for a second each; only two of the frames are sharp, the fifth and the twenty-fifth."""

    def make(pictures):
        path = tmp_path / "tray.mp4"
        height, width = pictures[0].shape
        writer = cv2.VideoWriter(str(path), cv2.CAP_FFMPEG, cv2.VideoWriter_fourcc(*"mp4v"), 15, (width, height))
        for number in range(1, 31):
            shown = pictures[number > 15]
            blurred = cv2.GaussianBlur(shown, (0, 0), 12)
            writer.write(cv2.cvtColor(shown if number in {5, 25} else blurred, cv2.COLOR_GRAY2BGR))
        writer.release()
        return path

    return make


@pytest.fixture
def film(film_of, symbol_picture):
    """A film of two codes that no ledger knows."""
    return film_of([symbol_picture("TRAY-1"), symbol_picture("TRAY-2")])


def test_each_label_in_a_clip_is_told_once_with_its_frame(run, practice, labels, film_of):
    done = run("scan", film_of(labels), "--json", "--practice", practice, *DAY)
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
        assert image.height > 200


def test_a_clip_from_standard_input(run, film):
    done = run("scan", "-", "--no-record", "--json", stdin=film.read_bytes())
    assert [one["page"] for one in json.loads(done.out)["codes"]] == [5, 25]


@pytest.fixture
def filled(tmp_path, symbol_picture):
    """Make a folder of two pictures, a bare wall, half a picture, a code that says a formula, and notes."""

    def make(first, second):
        path = tmp_path / "tray of today"
        path.mkdir()
        Image.fromarray(first).save(path / "IMG_2.png")
        Image.fromarray(second).save(path / "IMG_10.jpg", quality=95)
        Image.fromarray(np.full((300, 400), 180, dtype=np.uint8)).save(path / "IMG_11.png")
        whole = (path / "IMG_2.png").read_bytes()
        (path / "IMG_12.png").write_bytes(whole[: len(whole) // 2])
        Image.fromarray(symbol_picture("=1+1\\2\x1dx")).save(path / "IMG_13.png")
        (path / "notes.txt").write_text("two tubes")
        return path

    return make


@pytest.fixture
def folder(filled, symbol_picture):
    """Such a folder of codes that no ledger knows."""
    return filled(symbol_picture("TRAY-1"), symbol_picture("TRAY-2"))


def rows(table):
    assert table.read_bytes().startswith(b"\xef\xbb\xbf")
    with table.open(encoding="utf-8-sig", newline="") as opened:
        return list(csv.DictReader(opened))


def test_a_folder_becomes_one_table(run, practice, labels, filled, tmp_path):
    folder = filled(*labels)
    table = tmp_path / "day.csv"
    done = run("scan", folder, "--csv", table, "--practice", practice, *DAY)
    assert (done.code, done.out) == (2, "")
    found = rows(table)
    assert [(Path(row["file"]).name, row["page"], row["verdict"]) for row in found] == [
        ("IMG_2.png", "1", "stop"),
        ("IMG_10.jpg", "1", "stop"),
        ("IMG_11.png", "1", ""),
        ("IMG_12.png", "", ""),
        ("IMG_13.png", "1", ""),
    ]
    assert [row["text"][-9:] for row in found[:2]] == list(LABELS)
    assert found[0]["text"] == "1727052413261125105501\\x1d21010000020"
    assert found[0]["bracketed"] == "(17)270524(13)261125(10)5501(21)010000020"
    assert found[0]["reasons"].startswith("no release of its steriliser load is recorded; ")
    assert found[0]["symbology"] == "]d1"
    assert re.fullmatch(r"\(\d+,\d+\)( \(\d+,\d+\)){3}", found[0]["position"])
    assert all(float(row["ms"]) > 0 for row in found if row["page"])
    assert found[2]["reasons"].startswith("nothing was read; ")
    assert found[3]["error"].startswith(f"{folder / 'IMG_12.png'} breaks off before its end (truncated); ")
    assert done.err.splitlines() == [
        f"{folder}: 1 file that is no picture, left alone",
        found[3]["error"],
        f"{table}: 5 files, 2 codes read; nothing was read in 2, 1 could not be opened",
    ]


def test_what_a_spreadsheet_would_run_is_made_harmless(run, folder, tmp_path):
    table = tmp_path / "day.csv"
    assert run("scan", folder / "IMG_13.png", "--no-record", "--csv", table).code == 0
    [row] = rows(table)
    assert (row["text"], row["how"], row["verdict"]) == ("'=1+1\\\\2\\x1dx", "plain", "")


def test_a_folder_as_json_lines(run, folder):
    done = run("scan", folder, "--no-record", "--json")
    records = [json.loads(line) for line in done.out.splitlines()]
    assert done.code == 2
    assert [Path(one["photo"]).name for one in records] == [f"IMG_{n}" for n in ("2.png", "10.jpg", "11.png")] + [
        "IMG_12.png",
        "IMG_13.png",
    ]
    assert [len(one.get("codes", [])) for one in records] == [1, 1, 0, 0, 1]
    assert list(records[3]) == ["photo", "error"]


def test_folders_inside_are_read_where_asked(run, folder):
    inside = folder / "later"
    inside.mkdir()
    (folder / "IMG_2.png").rename(inside / "IMG_1.png")
    for name in ("IMG_10.jpg", "IMG_11.png", "IMG_12.png"):
        (folder / name).unlink()
    done = run("scan", folder, "--no-record", "--json", "--recursive")
    assert done.code == 0
    assert [json.loads(line)["photo"] for line in done.out.splitlines()] == [
        str(folder / "IMG_13.png"),
        str(inside / "IMG_1.png"),
    ]
    assert len(run("scan", folder, "--no-record", "--json").out.splitlines()) == 1


def test_an_empty_folder_is_told_and_the_others_are_answered(run, folder, tmp_path):
    empty = tmp_path / "empty"
    empty.mkdir()
    done = run("scan", empty, folder / "IMG_13.png", "--no-record", "--json")
    first, second = [json.loads(line) for line in done.out.splitlines()]
    assert (done.code, first["photo"]) == (2, str(empty))
    assert first["error"].startswith(f"{empty}, a folder in which no picture lies; expected ")
    assert len(second["codes"]) == 1


def test_a_table_is_never_written_over_something_else(run, folder):
    photo = folder / "IMG_13.png"
    before = photo.read_bytes()
    done = run("scan", folder, "--no-record", "--csv", photo)
    assert (done.code, done.out) == (2, "")
    assert "where something else lies already" in done.err
    assert photo.read_bytes() == before
