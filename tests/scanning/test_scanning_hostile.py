"""Files made to harm: only PictureError comes out, quickly, and memory does not grow."""

import functools
import io
import json
import os
import struct
import subprocess
import sys
import tempfile
import time
import zlib
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from tracelabels.errors import PictureError
from tracelabels.scanning import load_pictures

KINDS = ("JPEG", "PNG", "WEBP", "TIFF", "GIF", "BMP")


def chunk(kind, data):
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def png(width, height, *, bits=8, colours=2, before_data=b"", rows=b""):
    header = struct.pack(">IIBBBBB", width, height, bits, colours, 0, 0, 0)
    body = chunk(b"IHDR", header) + before_data + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + body


def tiff(width, height):
    # TIFF 6.0: tag, type (3 is SHORT, 4 is LONG), count, value; width, height, bits, no compression, black is zero ...
    tags = [(256, 4, 1, width), (257, 4, 1, height), (258, 3, 1, 8), (259, 3, 1, 1), (262, 3, 1, 1), (273, 4, 1, 8)]
    tags += [(277, 3, 1, 1), (278, 4, 1, height), (279, 4, 1, 8)]
    return b"II*\x00\x08\x00\x00\x00" + struct.pack("<H", len(tags)) + b"".join(struct.pack("<HHII", *t) for t in tags)


def jpeg(width, height):
    frame = struct.pack(">BHHB", 8, height, width, 1) + b"\x01\x11\x00"
    return b"\xff\xd8\xff\xc0" + struct.pack(">H", len(frame) + 2) + frame + b"\xff\xda\x00\x08\x01\x01\x00\x00\x3f\x00"


def looped_tiff():
    """Two directories, each naming the other as the next."""
    stream = io.BytesIO()
    frame = Image.new("L", (8, 8))
    frame.save(stream, format="TIFF", save_all=True, append_images=[frame])
    content = bytearray(stream.getvalue())
    [first] = struct.unpack_from("<I", content, 4)
    second_at = first + 2 + 12 * struct.unpack_from("<H", content, first)[0]
    [second] = struct.unpack_from("<I", content, second_at)
    last_at = second + 2 + 12 * struct.unpack_from("<H", content, second)[0]
    struct.pack_into("<I", content, last_at, first)
    return bytes(content)


def box(kind, inside):
    return struct.pack(">I", len(inside) + 8) + kind + inside


def mp4(width, height, *, nested=0):
    # ISO/IEC 14496-12: the track's header ends with width and height, 16.16.
    track = box(b"tkhd", bytes(76) + struct.pack(">II", width << 16 & 0xFFFFFFFF, height << 16 & 0xFFFFFFFF))
    for _ in range(nested):
        track = box(b"moov", track)
    return box(b"ftyp", b"isom" + bytes(4)) + box(b"moov", box(b"trak", track))


def matroska(width, height):
    # RFC 9559: Segment, Tracks, TrackEntry, Video; each of the size that is not known yet (RFC 8794, 6.2).
    names = ("1a45dfa380", "18538067ff", "1654ae6bff", "aeff", "e0ff")
    return bytes.fromhex("".join(names)) + b"\xb0\x84" + width.to_bytes(4) + b"\xba\x84" + height.to_bytes(4)


def avi(width, height):
    main = b"avih" + struct.pack("<I", 56) + bytes(32) + struct.pack("<II", width, height) + bytes(16)
    listed = b"LIST" + struct.pack("<I", len(main) + 4) + b"hdrl" + main
    return b"RIFF" + struct.pack("<I", len(listed) + 4) + b"AVI " + listed


@functools.cache
def bombs():
    zeros = zlib.compress(bytes(200_000_000), 9)
    return {
        "60000x60000 PNG": png(60_000, 60_000, rows=bytes(4096)),
        "whole 13000x13000 PNG": png(13_000, 13_000, bits=1, colours=0, rows=bytes(13_000 * 1_626)),
        "100000x200 PNG": png(100_000, 200),
        "short 10000x10000 PNG": png(10_000, 10_000),
        "200 MB of PNG text": png(8, 8, before_data=chunk(b"zTXt", b"Comment\x00\x00" + zeros)),
        "200 MB of PNG international text": png(8, 8, before_data=chunk(b"iTXt", b"C\x00\x01\x00\x00\x00" + zeros)),
        "200 MB of PNG colour profile": png(60_000, 60_000, before_data=chunk(b"iCCP", b"p\x00\x00" + zeros)),
        "65535x65535 GIF": b"GIF89a"
        + struct.pack("<HH", 65_535, 65_535)
        + b"\x80\x00\x00"
        + bytes(6)
        + b"\x2c"
        + bytes(9),
        "60000x60000 BMP": b"BM" + struct.pack("<IHHIIiiHHIIiiII", 54, 0, 0, 54, 40, 60_000, 60_000, 1, 24, *([0] * 6)),
        "60000x60000 TIFF": tiff(60_000, 60_000),
        "65500x65500 JPEG": jpeg(65_500, 65_500),
        "16383x16383 WebP": b"RIFF"
        + struct.pack("<I", 22)
        + b"WEBPVP8X"
        + struct.pack("<I", 10)
        + bytes(4)
        + (16_382).to_bytes(3, "little") * 2,
        "60000x60000 MP4": mp4(60_000, 60_000),
        "8192x8192 MP4": mp4(8_192, 8_192),
        "MP4 of 50,000 boxes in each other": mp4(60_000, 60_000, nested=50_000),
        "MP4 of 250,000 boxes": box(b"ftyp", b"isom") + box(b"moov", box(b"free", b"") * 250_000),
        "MP4 of 250,000 boxes in a row": box(b"ftyp", b"isom") + box(b"free", b"") * 250_000,
        "AVI of 250,000 chunks": avi(0, 0)[:12] + b"LIST" + struct.pack("<I", 2_000_004) + b"hdrl" + bytes(2_000_000),
        "60000x60000 MKV": matroska(60_000, 60_000),
        "MKV of 100,000 segments in each other": bytes.fromhex("1a45dfa380" + "18538067ff" * 100_000),
        "60000x60000 AVI": avi(60_000, 60_000),
        "5 m PDF": b"%PDF-1.4\n1 0 obj<</Type/Catalog/Pages 2 0 R>>endobj "
        b"2 0 obj<</Type/Pages/Kids[3 0 R]/Count 1>>endobj "
        b"3 0 obj<</Type/Page/Parent 2 0 R/MediaBox[0 0 14400 14400]>>endobj\ntrailer<</Root 1 0 R>>",
    }


def refused(content):
    started = time.perf_counter()
    with pytest.raises(PictureError):
        list(load_pictures(content, name="bomb"))
    return time.perf_counter() - started


@pytest.mark.parametrize("name", bombs())
def test_bombs_are_refused_at_once(name):
    content = bombs()[name]
    seconds = min(refused(content) for _ in range(3))
    assert seconds < 0.05


MEMORY_PROGRAM = """
import json, pathlib, resource, sys
from PIL import Image
from tracelabels.errors import PictureError
from tracelabels.scanning import load_pictures
import tracelabels.paper, pypdfium2

def peak_mb():
    if sys.platform == "linux":  # ru_maxrss there takes over what the process that started this one had in memory
        lines = pathlib.Path("/proc/self/status").read_text().splitlines()
        return next(int(one.split()[1]) for one in lines if one.startswith("VmHWM")) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024 ** 2

for path in sorted(pathlib.Path(sys.argv[1]).iterdir()):
    before = peak_mb()
    try:
        for picture in load_pictures(path):
            list(picture.other_greys() if picture.other_greys else ())
        outcome = "read"
    except PictureError:
        outcome = "refused"
    print(json.dumps([path.name, outcome, peak_mb() - before, peak_mb()]))
"""


def peaks(folder):
    """Load every file in a folder in one process; give name, outcome, growth of the peak, and the peak, in MB."""
    run = subprocess.run(
        [sys.executable, "-W", "error", "-c", MEMORY_PROGRAM, str(folder)], capture_output=True, text=True, check=True
    )
    assert run.stderr == ""
    return [json.loads(line) for line in run.stdout.splitlines()]


@pytest.mark.skipif(sys.platform == "win32", reason="peak memory is read through a Unix call")
def test_bombs_take_no_memory(tmp_path):
    for name, content in bombs().items():
        (tmp_path / name).write_bytes(content)
    results = peaks(tmp_path)
    assert len(results) == len(bombs())
    for name, outcome, growth_mb, _ in results:
        assert outcome == "refused", name
        assert growth_mb < 64, name


@pytest.mark.skipif(sys.platform == "win32", reason="peak memory is read through a Unix call")
def test_twelve_megapixels_fit_into_400_mb(tmp_path):
    squares = np.kron(np.arange(48, dtype=np.uint8).reshape(6, 8) * 5, np.ones((500, 500), dtype=np.uint8))
    colours = Image.merge("RGB", [Image.fromarray(one) for one in (squares, squares.T.reshape(squares.shape), squares)])
    colours.save(tmp_path / "12.jpg")
    colours.save(tmp_path / "12.webp", method=0)
    alpha = colours.convert("RGBA")
    alpha.putpixel((0, 0), (0, 0, 0, 0))
    alpha.save(tmp_path / "12 seen through.png", compress_level=1)
    Image.fromarray(squares.astype(np.uint16) * 16).save(tmp_path / "12 deep.png", compress_level=1)
    film = cv2.VideoWriter(
        str(tmp_path / "8 of 4K.mp4"), cv2.CAP_FFMPEG, cv2.VideoWriter_fourcc(*"mp4v"), 30, (3840, 2160)
    )
    for _ in range(8):
        film.write(np.asarray(colours)[:2160, :3840])
    film.release()
    for name, outcome, _, peak in peaks(tmp_path):
        assert outcome == "read", name
        assert peak < 400, name


def test_a_loop_of_pages_ends():
    started = time.perf_counter()
    pages = list(load_pictures(looped_tiff()))
    assert len(pages) == 2
    assert time.perf_counter() - started < 2.0


@functools.cache
def films():
    """Small clips in every container; the names end with the encoder."""
    rng = np.random.default_rng(6)
    frames = np.kron(rng.integers(0, 2, (9, 12, 16), dtype=np.uint8) * 255, np.ones((1, 4, 4), dtype=np.uint8))
    made = {}
    for name in ("mp4.mp4v", "mov.MJPG", "mkv.FFV1", "webm.VP80", "webm.VP90", "avi.MJPG", "avi.XVID"):
        ending, encoder = name.split(".")
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / f"film.{ending}"
            writer = cv2.VideoWriter(str(path), cv2.CAP_FFMPEG, cv2.VideoWriter_fourcc(*encoder), 30, (64, 48))
            for grey in frames:
                writer.write(cv2.cvtColor(grey, cv2.COLOR_GRAY2BGR))
            writer.release()
            made[name] = path.read_bytes()
    return made


def originals():
    rng = np.random.default_rng(5)
    grey = np.kron(rng.integers(0, 2, (24, 32), dtype=np.uint8) * 255, np.ones((2, 2), dtype=np.uint8))
    image = Image.fromarray(grey)
    for kind in KINDS:
        for options in ({}, {"save_all": True, "append_images": [image, image]}):
            if options and kind in {"JPEG", "BMP"}:
                continue
            stream = io.BytesIO()
            image.convert("RGB" if kind == "JPEG" else "L").save(stream, format=kind, **options)
            yield stream.getvalue()
    exif = Image.Exif()
    exif[0x0112] = 6
    stream = io.BytesIO()
    image.save(stream, format="JPEG", exif=exif, progressive=True)
    yield stream.getvalue()


def mutated(content, rng):
    """One to eight hurts: a byte changed, a piece cut out, doubled or overwritten, or the end cut off."""
    data = bytearray(content)
    for _ in range(rng.integers(1, 9)):
        if len(data) < 16:
            break
        near = rng.integers(0, len(data)) if rng.random() < 0.5 else rng.integers(0, min(len(data), 128))
        length = int(rng.integers(1, 9))
        match rng.integers(0, 6):
            case 0 | 1:
                data[near] = rng.integers(0, 256)
            case 2:
                del data[near : near + length]
            case 3:
                data[near:near] = data[near : near + length]
            case 4:
                data[near : near + length] = rng.choice([0, 255]).item().to_bytes() * length
            case _:
                del data[max(16, len(data) - int(rng.integers(1, len(data)))) :]
    return bytes(data)


def hurt(starts, count, seed):
    """Load mutated files; return how many were refused, and the longest time."""
    rng = np.random.default_rng(seed)
    sentences, longest = [], 0.0
    for number in range(count):
        content = mutated(starts[number % len(starts)], rng)
        started = time.perf_counter()
        try:
            for _ in load_pictures(content):
                pass
        except PictureError as error:
            sentences.append(str(error))
        longest = max(longest, time.perf_counter() - started)
    assert all(sentence.count(";") == 2 for sentence in sentences)
    return len(sentences), longest


def test_mutated_pictures_raise_the_declared_error_only():
    refusals, longest = hurt(list(originals()), 3_000, seed=int(os.environ.get("TRACELABELS_SEED", "1")))
    assert refusals > 2_000
    assert longest < 2.0


def test_mutated_clips_raise_the_declared_error_only():
    refusals, longest = hurt(list(films().values()), 350, seed=int(os.environ.get("TRACELABELS_SEED", "1")))
    assert refusals > 30
    assert longest < 2.0


def test_mutated_heic_raises_the_declared_error_only():
    library = pytest.importorskip("pillow_heif")
    grey = np.random.default_rng(7).integers(0, 256, (48, 64), dtype=np.uint8)
    stream = io.BytesIO()
    library.from_pillow(Image.fromarray(grey)).save(stream, quality=80)
    refusals, longest = hurt([stream.getvalue()], 500, seed=int(os.environ.get("TRACELABELS_SEED", "1")))
    assert refusals > 300
    assert longest < 2.0


@pytest.mark.slow
def test_thousands_of_mutated_files():
    refusals, longest = hurt([*originals(), *films().values()], 20_000, seed=2)
    print(f"20,000 mutated files: {refusals} refused, longest {longest * 1000:.0f} ms")
    assert refusals > 10_000
    assert longest < 2.0
