"""Real photographs with the truth beside them: the loader and the guards may lose none that the bare library reads.

The pictures are zxing-cpp's own samples (Apache-2.0), kept outside the project. The judge is zxing-cpp with its default
flags and all formats, fed by Pillow without any code of ours.
"""

from collections import Counter
from datetime import date
from pathlib import Path

import pytest
import zxingcpp
from PIL import Image

from tracelabels.scanning import DEFAULT_BUDGET_MS, ScanMode, load_pictures, scan_picture

PHOTOS = Path(__file__).resolve().parents[3] / "shared" / "photos"
TODAY = date(2026, 11, 25)

# Folder: pictures that must be read rightly. A figure is raised when more are read, and never lowered.
LEAST_PASSES = {
    "code128-1": 6,
    "datamatrix-1": 30,
    "datamatrix-2": 13,
    "datamatrix-4": 21,
    "qrcode-1": 8,
    "qrcode-2": 56,
}
# Folder of pictures without a code: how many may be read.
GREATEST_PASSES = {"falsepositives-1": 0}


@pytest.fixture(scope="module")
def photos():
    if PHOTOS.is_dir():
        return PHOTOS
    return pytest.skip(f"the sample photographs are not at hand ({PHOTOS})")


def pictures_in(folder):
    pictures = sorted(path for path in folder.iterdir() if path.suffix not in {".txt", ".bin"})
    assert pictures, folder
    return pictures


def true_text(picture):
    """The text beside a picture, None where only bytes are given or nothing is."""
    beside = picture.with_suffix(".txt")
    return beside.read_bytes().decode() if beside.is_file() else None


def judged(picture):
    """What zxing-cpp alone reads, as a scanner would send it (text mode Plain), and the raw bytes."""
    with Image.open(picture) as image:
        return zxingcpp.read_barcodes(image, text_mode=zxingcpp.TextMode.Plain)


def scanned(picture, mode, *, budget_ms=DEFAULT_BUDGET_MS):
    scans = (scan_picture(page, mode=mode, today=TODAY, budget_ms=budget_ms) for page in load_pictures(picture))
    return [reading for scan in scans for reading in scan.readings]


@pytest.mark.parametrize("folder", LEAST_PASSES)
def test_nothing_is_lost_that_the_bare_library_reads(photos, folder):
    for picture in pictures_in(photos / folder):
        expected = judged(picture)
        readings = scanned(picture, ScanMode.ANY)
        found = Counter((reading.text, reading.symbology_identifier) for reading in readings)
        wanted = Counter((code.text, code.symbology_identifier) for code in expected)
        assert not wanted - found, picture.name


@pytest.mark.parametrize("folder", LEAST_PASSES)
def test_texts_are_true_and_no_fewer_than_the_table_says(photos, folder):
    passes = 0
    for picture in pictures_in(photos / folder):
        truth = true_text(picture)
        # What can be read, not in what time: two take half a second of an idle core.
        texts = [reading.text for reading in scanned(picture, ScanMode.ANY, budget_ms=4 * DEFAULT_BUDGET_MS)]
        if truth is None:
            # The truth is bytes: the library's bytes are compared with them, our text with the library's.
            [code] = judged(picture)
            assert code.bytes == picture.with_suffix(".bin").read_bytes(), picture.name
            assert texts == [code.text], picture.name
        elif texts:
            assert truth in texts, picture.name
        passes += bool(texts)
    assert passes >= LEAST_PASSES[folder]


@pytest.mark.parametrize("mode", ScanMode)
@pytest.mark.parametrize("folder", GREATEST_PASSES)
def test_nothing_is_read_where_there_is_no_code(photos, folder, mode):
    read = [picture.name for picture in pictures_in(photos / folder) if scanned(picture, mode)]
    assert len(read) <= GREATEST_PASSES[folder], read


def test_no_foreign_code_passes_as_an_own_label(photos):
    foreign = [
        (picture.name, reading.text)
        for folder in LEAST_PASSES
        for picture in pictures_in(photos / folder)
        for reading in scanned(picture, ScanMode.OWN)
    ]
    assert foreign == []
