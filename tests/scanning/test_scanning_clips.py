"""Film clips written by a real encoder: the sharpest frames are read, within bounds, and nothing is left behind."""

import io
import os
import struct
import subprocess
import sys
import tempfile

import cv2
import numpy as np
import pytest

from tracelabels.errors import PictureError
from tracelabels.scanning import PictureLimits, load_pictures, scan_picture, strip_picture
from tracelabels.scanning.clip_headers import frame_sizes
from tracelabels.scanning.signatures import ClipKind, find_clip_kind

KINDS = {
    "mp4": ("mp4v", ClipKind.MP4),
    "mov": ("mp4v", ClipKind.MP4),
    "mkv": ("MJPG", ClipKind.MATROSKA),
    "webm": ("VP80", ClipKind.MATROSKA),
    "avi": ("MJPG", ClipKind.AVI),
}
WIDTH, HEIGHT = 320, 240
RATE = 30
SHARP = (13, 38)
"""Numbers of the frames that are not blurred."""
BROKEN = (
    "film is a clip that is broken, or of a kind that cannot be played here; expected a clip as MP4, MOV, MKV, WebM or "
    "AVI; film or send it again, or take a photograph"
)


def film(frames, ending, folder):
    """Write colour frames with the encoder of a container, and return the file."""
    path = folder / f"made.{ending}"
    fourcc = cv2.VideoWriter_fourcc(*KINDS[ending][0])
    writer = cv2.VideoWriter(str(path), cv2.CAP_FFMPEG, fourcc, RATE, frames[0].shape[1::-1])
    for frame in frames:
        writer.write(frame)
    writer.release()
    return path.read_bytes()


@pytest.fixture(scope="module")
def waved():
    """Fifty frames of which two are sharp: a symbol that says PARIS-1 in the first, PARIS-2 in the other."""
    from tracelabels.identifiers import IdentifierMode, Payload
    from tracelabels.symbols import write_qr

    frames = []
    for number in range(1, 51):
        text = f"PARIS-{1 if number < 26 else 2}"
        modules = np.pad(write_qr(Payload(text=text, fnc1_first=False, mode=IdentifierMode.IN_HOUSE)).modules, 4)
        grey = np.full((HEIGHT, WIDTH), 225, dtype=np.uint8)
        symbol = np.where(np.kron(modules, np.ones((6, 6), dtype=bool)), 25, 225)
        grey[20 : 20 + symbol.shape[0], 70 : 70 + symbol.shape[1]] = symbol
        frames.append(np.dstack([grey if number in SHARP else cv2.GaussianBlur(grey, (0, 0), 9)] * 3))
    return frames


@pytest.fixture(scope="module")
def clips(waved, tmp_path_factory):
    """The same film in each container."""
    folder = tmp_path_factory.mktemp("clips")
    return {ending: film(waved, ending, folder) for ending in KINDS}


def read(pictures, today):
    from tracelabels.scanning import ScanMode

    said = {}
    for picture in pictures:
        for reading in scan_picture(picture, mode=ScanMode.ANY, today=today, budget_ms=0.0).readings:
            said[reading.text] = picture.page
    return said


@pytest.mark.parametrize("ending", KINDS)
def test_the_sharp_frames_are_read_and_named(ending, clips, today):
    pictures = list(load_pictures(clips[ending]))
    assert read(pictures, today) == {"PARIS-1": SHARP[0], "PARIS-2": SHARP[1]}
    assert len(pictures) == 4  # stretches of half a second
    assert all(one.is_frame and one.grey.shape == (HEIGHT, WIDTH) for one in pictures)


def test_a_long_clip_gives_about_so_many_pictures(clips):
    limits = PictureLimits(clip_pictures=2)
    assert [one.page for one in load_pictures(clips["mp4"], limits=limits)] == list(SHARP)


@pytest.mark.parametrize("ending", KINDS)
def test_the_header_tells_kind_and_size(ending, clips):
    content = clips[ending]
    assert find_clip_kind(content[:1024]) is KINDS[ending][1]
    assert set(frame_sizes(io.BytesIO(content), KINDS[ending][1])) == {(WIDTH, HEIGHT)}


@pytest.mark.parametrize("missing", [b"tkhd", b"stsd"])
def test_either_box_of_an_mp4_tells_the_size(missing, clips):
    content = clips["mp4"].replace(missing, b"none")
    assert frame_sizes(io.BytesIO(content), ClipKind.MP4) == ((WIDTH, HEIGHT),)


def test_a_file_is_read_where_it_lies(clips, tmp_path, monkeypatch, today):
    path = tmp_path / "opened with %03d care.mov"
    path.write_bytes(clips["mov"])
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "nowhere"))
    assert set(read(load_pictures(path), today)) == {"PARIS-1", "PARIS-2"}


def test_bytes_lie_in_a_private_file_only_while_they_are_read(clips, tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    pictures = load_pictures(clips["webm"])
    next(pictures)
    [folder] = tmp_path.iterdir()
    assert [path.stat().st_size for path in folder.iterdir()] == [len(clips["webm"])]
    assert os.name == "nt" or folder.stat().st_mode & 0o077 == 0
    pictures.close()
    assert list(tmp_path.iterdir()) == []


def boxes(content, kind):
    """Where the inside of each box of a type begins."""
    at = content.find(kind)
    while at >= 0:
        yield at + 4
        at = content.find(kind, at + 4)


def test_a_clip_that_was_filmed_upright_is_turned(clips, today):
    # ISO/IEC 14496-12, 8.3.2: the track's matrix, here a quarter turn; 16.16 fixed point, the last column 2.30.
    content = bytearray(clips["mp4"])
    [at] = boxes(content, b"tkhd")
    struct.pack_into(">9i", content, at + 40, 0, 1 << 16, 0, -(1 << 16), 0, 0, HEIGHT << 16, 0, 1 << 30)
    pictures = list(load_pictures(bytes(content)))
    assert {one.grey.shape for one in pictures} == {(WIDTH, HEIGHT)}
    assert set(read(pictures, today)) == {"PARIS-1", "PARIS-2"}
    symbol = 29 * 6
    column = slice(HEIGHT - 20 - symbol, HEIGHT - 20)  # what lay 20 below the top lies 20 left of the right edge
    dark = next(one for one in pictures if one.page == SHARP[0]).grey < 125
    assert dark[:, column].sum() == pytest.approx(dark.sum(), rel=0.001)


def test_a_frame_has_other_greys(tmp_path, today, payload, symbol_of, drawn):
    dark = np.repeat(drawn(symbol_of(payload(1)).modules, px=6, margin=14)[..., None] < 128, 3, axis=2)
    blue_green_red = np.where(dark, (60, 40, 200), (180, 80, 60)).astype(np.uint8)
    picture = next(load_pictures(film([blue_green_red] * 3, "mkv", tmp_path)))
    [reading] = scan_picture(picture, today=today).readings
    assert (reading.text, reading.how) == (payload(1).text, "red channel")


def sentence(content, **options):  # noqa: ANN003  the loader's own
    with pytest.raises(PictureError) as caught:
        list(load_pictures(content, name="film", **options))
    return str(caught.value)


@pytest.mark.parametrize("ending", KINDS)
def test_a_clip_without_its_header_is_refused(ending, clips):
    assert sentence(clips[ending][:200]) == BROKEN


def test_a_clip_without_frames_is_refused(clips):
    [at] = boxes(clips["avi"], b"movi")
    assert sentence(clips["avi"][:at]) == BROKEN


def test_what_begins_like_a_clip_and_is_none_is_refused():
    assert sentence(b"\x00\x00\x00\x18ftypmp42" + bytes(200)) == BROKEN
    assert sentence(b"RIFF\x40\x00\x00\x00AVI " + bytes(200)) == BROKEN
    assert sentence(b"\x1a\x45\xdf\xa3" + bytes(200)) == BROKEN


def broken_middle(content):
    """The same MP4 with nothing that a decoder knows between its first box and its last."""
    changed = bytearray(content)
    [at] = boxes(changed, b"mdat")
    [end] = boxes(changed, b"moov")
    changed[at : end - 8] = b"\xa5" * (end - 8 - at)
    return bytes(changed)


def test_a_broken_middle_is_refused(clips):
    assert sentence(broken_middle(clips["mp4"])) == BROKEN


def test_a_clip_that_cannot_be_opened_is_refused_in_silence(clips, capfd):
    assert sentence(clips["mp4"].replace(b"mdia", b"none")) == BROKEN
    assert capfd.readouterr() == ("", "")


def test_the_decoder_s_own_words_reach_nobody(clips):
    program = (
        "import sys; from tracelabels.errors import PictureError; from tracelabels.scanning import load_pictures\n"
        "try: list(load_pictures(sys.stdin.buffer.read()))\n"
        "except PictureError: print('refused')"
    )  # a process of its own: a decoder takes its level once, from whoever comes first
    run = subprocess.run(
        [sys.executable, "-W", "error", "-c", program],
        input=broken_middle(clips["mp4"]),
        capture_output=True,
        check=True,
    )
    assert (run.stdout.strip(), run.stderr) == (b"refused", b"")


def test_a_clip_cut_short_gives_the_frames_that_are_there(clips, today):
    content = clips["avi"][: len(clips["avi"]) // 2]
    assert read(load_pictures(content), today) == {"PARIS-1": SHARP[0]}


def test_the_size_of_frames_is_bounded_before_a_decoder_sees_them(clips, monkeypatch):
    monkeypatch.setattr(cv2, "VideoCapture", lambda *_: pytest.fail("a decoder was asked"))
    assert sentence(clips["mp4"], limits=PictureLimits(frame_pixels=WIDTH * HEIGHT - 1)) == (
        "film is a clip whose frames have 0 million pixels; expected at most 0 million; film at a lower resolution"
    )


def test_the_number_of_frames_is_bounded(clips):
    few = PictureLimits(clip_pixels=WIDTH * HEIGHT * 49)
    with pytest.raises(PictureError):
        next(load_pictures(clips["mp4"], limits=few))
    assert sentence(clips["mp4"], limits=few) == (
        "film is a clip of more than 49 frames of 320x240 pixels; expected at most 49 of that size; "
        "cut it to the seconds that show the labels, or film at a lower resolution"
    )
    assert len(list(load_pictures(clips["mp4"], limits=PictureLimits(clip_pixels=WIDTH * HEIGHT * 50)))) == 4


def short_by_its_header(content):
    """The same AVI, whose streams claim one frame (OpenDML AVI 1.02, strh, dwLength [M])."""
    changed = bytearray(content)
    for at in boxes(changed, b"strh"):
        struct.pack_into("<I", changed, at + 4 + 32, 1)
    for at in boxes(changed, b"avih"):
        struct.pack_into("<I", changed, at + 4 + 16, 1)
    return bytes(changed)


def test_a_header_that_lies_about_its_length_is_found_out(clips):
    pictures = load_pictures(
        short_by_its_header(clips["avi"]), name="film", limits=PictureLimits(clip_pixels=WIDTH * HEIGHT * 49)
    )
    assert next(pictures).page == SHARP[0]
    with pytest.raises(PictureError, match="more than 49 frames"):
        list(pictures)


def test_a_clip_of_unknown_length_gives_ever_longer_stretches(tmp_path):
    frames = [np.full((48, 64, 3), 100, dtype=np.uint8)] * 400
    pictures = list(load_pictures(short_by_its_header(film(frames, "avi", tmp_path))))
    assert len(pictures) < 15 < 400 / (RATE / 2)


def test_the_decoder_s_settings_are_put_back(clips, monkeypatch):
    monkeypatch.setenv("OPENCV_FFMPEG_CAPTURE_OPTIONS", "threads;1")
    monkeypatch.delenv("OPENCV_FFMPEG_LOGLEVEL", raising=False)
    before = cv2.utils.logging.setLogLevel(cv2.utils.logging.LOG_LEVEL_ERROR)
    list(load_pictures(clips["mp4"]))
    sentence(clips["mp4"].replace(b"mdia", b"none"))
    assert os.environ["OPENCV_FFMPEG_CAPTURE_OPTIONS"] == "threads;1"
    assert "OPENCV_FFMPEG_LOGLEVEL" not in os.environ
    assert cv2.utils.logging.setLogLevel(before) == cv2.utils.logging.LOG_LEVEL_ERROR


def test_a_clip_is_no_photograph_to_be_kept(clips):
    with pytest.raises(PictureError, match="which is no photograph"):
        strip_picture(clips["mp4"], name="film")
