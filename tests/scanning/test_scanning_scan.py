"""Whole scans: many labels, turned pictures, deeper attempts, places that stay unread."""

import io
from dataclasses import replace
from datetime import date
from itertools import chain, repeat

import cv2
import numpy as np
import pytest
from PIL import ExifTags, Image

from tracelabels.legibility.camera import Camera, Piece, photograph
from tracelabels.scanning import Picture, ScanMode, load_pictures, scan_picture
from tracelabels.scanning import scan as scan_module
from tracelabels.symbols import Symbology, write_data_matrix

PX_PER_MM = 600 / 25.4


def grey_of(photo):
    return cv2.cvtColor(photo.rgb, cv2.COLOR_RGB2GRAY)


def label(drawn, symbol, *, width_mm=30, height_mm=16, lines=("ROSEHIP", "LOT R4711", "USE BY 2027-11-30")):
    """A label with its symbol at the top left (x 0.34 mm) and some text beside it; the symbol's corners in mm."""
    picture = np.full((int(height_mm * PX_PER_MM), int(width_mm * PX_PER_MM)), 255, dtype=np.uint8)
    print_ = drawn(symbol.modules, px=8, margin=3)
    picture[: print_.shape[0], : print_.shape[1]] = print_
    for number, line in enumerate(lines):
        at = (print_.shape[1] + 20, 70 + 70 * number)
        cv2.putText(picture, line, at, cv2.FONT_HERSHEY_DUPLEX, 1.5, 0, 3)
    rows, columns = (8 * side for side in symbol.modules.shape)
    corners = [(24, 24), (24 + columns, 24), (24 + columns, 24 + rows), (24, 24 + rows)]
    return picture, [(x / PX_PER_MM, y / PX_PER_MM) for x, y in corners]


def tray(drawn, symbols, *, seed, columns=4, **camera):  # noqa: ANN003  the camera's own
    """A photograph of labels in rows, each turned a little, on a mat."""
    rng = np.random.default_rng(seed)
    rows = -(-len(symbols) // columns)
    pieces = [
        Piece(
            print=label(drawn, symbol)[0],
            px_per_mm=PX_PER_MM,
            x=(number % columns - (columns - 1) / 2) * 36,
            y=(number // columns - (rows - 1) / 2) * 24,
            turn=float(rng.uniform(-8, 8)),
        )
        for number, symbol in enumerate(symbols)
    ]
    scale = camera.pop("px_per_mm", 10.0)
    size = {"width": int(columns * 38 * scale), "height": int(rows * 26 * scale)}
    return photograph(pieces, camera=Camera(px_per_mm=scale, distance=500, **size, **camera), rng=rng)


@pytest.mark.parametrize("symbology", [Symbology.DATA_MATRIX, Symbology.QR, Symbology.CODE_128])
@pytest.mark.parametrize("mode", ScanMode)
def test_one_clean_symbol_is_read_plainly(symbology, mode, payload, symbol_of, drawn, scan):
    symbol = symbol_of(payload(1), symbology)
    result = scan(drawn(symbol.modules, margin=12), mode=mode)
    [reading] = result.readings
    assert reading.text == payload(1).text
    assert reading.how == "plain"
    assert reading.symbology_identifier == symbol.symbology_identifier
    assert reading.human_readable.startswith("(17)271130(13)261120(")
    assert reading.identification.identity.lot == "R4001"
    assert (result.unread, result.advice) == ((), ())


@pytest.mark.parametrize(("beside", "looks_on"), [("nothing", False), ("noise", False), ("half a code", True)])
def test_further_labels_are_looked_for_only_where_there_may_be_one(
    beside, looks_on, payload, symbol_of, drawn, scan, monkeypatch
):
    looked = []
    find_places = scan_module.find_places
    monkeypatch.setattr(
        scan_module, "find_places", lambda grey, **options: looked.append(1) or find_places(grey, **options)
    )
    one = drawn(symbol_of(payload(1)).modules, margin=12)
    other = np.full_like(one, 255)
    if beside == "half a code":
        other[:, : one.shape[1] // 2] = one[::-1, : one.shape[1] // 2]
    if beside == "noise":
        other[:] = np.random.default_rng(4).normal(200, 2, one.shape)
    assert scan(np.hstack([one, other])).readings
    assert bool(looked) == looks_on


@pytest.mark.parametrize("side", [400, 900])
def test_in_a_large_picture_codes_are_sampled_before_the_whole_is_looked_at_again(side, drawn, scan, monkeypatch):
    done = []
    monkeypatch.setattr(scan_module, "read_by_modules", lambda part, *_, **__: done.append(part.shape) or ())
    views = tuple(
        replace(attempt, see=lambda view, attempt=attempt: done.append(attempt.name) or attempt.see(view))
        for attempt in scan_module.DEEPER[:2]
    )
    monkeypatch.setattr(scan_module, "DEEPER", views)
    grey = np.full((side, side), 230, dtype=np.uint8)
    unreadable = drawn(np.random.default_rng(5).random((20, 20)) < 0.5, margin=3)
    grey[60 : 60 + len(unreadable), 60 : 60 + len(unreadable)] = unreadable
    assert scan(grey, budget_ms=20_000.0).readings == ()
    names = [attempt.name for attempt in views]
    if side == 400:
        assert done == [*names, (side, side)]
    else:
        assert [one if isinstance(one, str) else one == (side, side) for one in done] == [False, *names, True]


def test_of_any_codes_what_the_plain_read_left_is_not_sampled(payload, symbol_of, drawn, scan, monkeypatch):
    sampled = []
    monkeypatch.setattr(scan_module, "read_by_modules", lambda *_, **__: sampled.append(1) or ())
    print_ = drawn(symbol_of(payload(1)).modules, margin=12)
    unreadable = drawn(np.random.default_rng(5).random(symbol_of(payload(1)).modules.shape) < 0.5, margin=12)
    both = np.hstack([print_, unreadable])
    assert len(scan(both, mode=ScanMode.ANY).readings) == 1
    assert sampled == []
    scan(both, mode=ScanMode.OWN)
    assert sampled


def test_all_labels_of_a_tray_in_reading_order(payload, symbol_of, drawn, scan):
    kinds = [Symbology.DATA_MATRIX, Symbology.QR, Symbology.DATA_MATRIX]
    symbols = [symbol_of(payload(number), kinds[number % 3]) for number in range(12)]
    result = scan(grey_of(tray(drawn, symbols, seed=3)))
    assert [reading.text for reading in result.readings] == [payload(number).text for number in range(12)]
    assert result.unread == ()


def test_small_labels_are_read_from_patches_that_the_plain_read_misses(payload, symbol_of, drawn, scan):
    symbols = [symbol_of(payload(number)) for number in range(12)]
    grey = grey_of(tray(drawn, symbols, seed=4, px_per_mm=5.5))  # 1.9 pixels a module
    result = scan(grey)
    expected = {payload(number).text for number in range(12)}
    plain = [reading for reading in result.readings if reading.how == "plain"]
    assert {reading.text for reading in result.readings} <= expected
    assert len(plain) <= 6
    assert len(result.readings) >= 10


@pytest.mark.parametrize("orientation", [1, 3, 6, 8])
def test_corners_are_those_of_the_upright_picture(orientation, payload, symbol_of, drawn, today):
    symbol = symbol_of(payload(5))
    picture, corners = label(drawn, symbol)
    piece = Piece(print=picture, px_per_mm=PX_PER_MM, x=6.0, y=-4.0, turn=-12.0)
    photo = photograph(
        [piece], camera=Camera(width=900, height=600, px_per_mm=14.0, tilt=15.0), rng=np.random.default_rng(9)
    )
    stored = np.ascontiguousarray(np.rot90(photo.rgb, {1: 0, 3: 2, 6: 1, 8: -1}[orientation]))
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = orientation
    stream = io.BytesIO()
    Image.fromarray(stored).save(stream, format="JPEG", quality=92, exif=exif)
    [page] = load_pictures(stream.getvalue())
    [reading] = scan_picture(page, today=today).readings
    true = photo.positions(corners)
    # The reader's corners are whole pixels of a symbol of 4.7 pixels a module: one module of play.
    assert np.abs(np.array(reading.corners) - true).max() < 5.0


def test_corners_found_in_a_patch_lie_where_they_are(payload, symbol_of, drawn, scan):
    symbol = symbol_of(payload(5))
    picture, corners = label(drawn, symbol)
    piece = Piece(print=picture, px_per_mm=PX_PER_MM, turn=24.0)
    photo = photograph([piece], camera=Camera(width=260, height=200, px_per_mm=5.5), rng=np.random.default_rng(2))
    [reading] = scan(grey_of(photo)).readings
    assert reading.how.startswith("patch")
    assert np.abs(np.array(reading.corners) - photo.positions(corners)).max() < 2.5


@pytest.mark.parametrize("turn", [15.0, 25.0, 40.0])
def test_oblique_bars_are_turned_upright(turn, payload, symbol_of, drawn, scan):
    modules = symbol_of(payload(3), Symbology.CODE_128).modules
    piece = Piece(print=drawn(modules, px=5, margin=10), px_per_mm=PX_PER_MM, turn=turn)
    photo = photograph([piece], camera=Camera(width=1000, height=800, px_per_mm=14.0), rng=np.random.default_rng(1))
    [reading] = scan(grey_of(photo)).readings
    assert (reading.text, reading.how) == (payload(3).text, "patch")


def test_bars_read_in_one_view_only_are_not_believed(payload, symbol_of, drawn, scan, monkeypatch):
    modules = symbol_of(payload(3), Symbology.CODE_128).modules
    piece = Piece(print=drawn(modules, px=5, margin=10), px_per_mm=PX_PER_MM, turn=25.0)
    photo = photograph([piece], camera=Camera(width=1000, height=800, px_per_mm=14.0), rng=np.random.default_rng(1))
    agreeing = scan_module.read_symbols
    seen = []

    def contradicted(grey, **options):  # noqa: ANN003  the reader's own
        found = agreeing(grey, **options)
        seen.extend(found)
        return found if len(seen) <= 1 else tuple(replace(one, data=one.data + b"9") for one in found)

    monkeypatch.setattr(scan_module, "read_symbols", contradicted)
    result = scan(grey_of(photo))
    assert len(seen) > 1
    assert payload(3).text not in {reading.text for reading in result.readings if reading.how == "patch"}


def test_corners_of_a_halved_picture_are_at_full_size(payload, symbol_of, drawn, today):
    grey = drawn(symbol_of(payload(1)).modules, margin=10)
    full = scan_picture(Picture(grey=grey, name="x", page=1), today=today)
    halved = scan_picture(Picture(grey=grey, name="x", page=1, reduction=2), today=today)
    assert np.array_equal(2 * np.array(full.readings[0].corners), np.array(halved.readings[0].corners))


def test_a_blurred_code_is_named_as_unread_with_its_place_and_reason(payload, symbol_of, drawn, scan):
    symbol = symbol_of(payload(5))
    picture, corners = label(drawn, symbol, lines=())
    piece = Piece(print=picture, px_per_mm=PX_PER_MM, turn=7.0)
    camera = Camera(width=700, height=500, px_per_mm=14.0, defocus=4.2)
    photo = photograph([piece], camera=camera, rng=np.random.default_rng(2))
    result = scan(grey_of(photo))
    assert result.readings == ()
    [place] = result.unread
    middle = np.mean(photo.positions(corners), axis=0)
    assert np.hypot(*(np.mean(place.corners, axis=0) - middle)) < 15
    assert place.reason.startswith("out of focus: the code is blurred over about ")
    assert result.advice == (place.reason,)


def test_a_code_too_far_away_is_told_so(payload, symbol_of, drawn, scan):
    picture, _ = label(drawn, symbol_of(payload(5)), lines=())
    piece = Piece(print=picture, px_per_mm=PX_PER_MM)
    camera = Camera(width=300, height=200, px_per_mm=3.6, defocus=0.8)  # 1.2 pixels a module
    result = scan(grey_of(photograph([piece], camera=camera, rng=np.random.default_rng(2))))
    assert result.readings == ()
    [advice] = result.advice
    assert "come closer" in advice


@pytest.mark.parametrize(
    ("grey", "words"),
    [
        (np.full((300, 400), 20, dtype=np.uint8), "the picture is too dark (grey level 20 of 255): more light"),
        (
            np.full((300, 400), 200, dtype=np.uint8),
            "the picture is nearly one grey (0 levels of 255): nothing to be seen on it",
        ),
        (
            np.tile(np.linspace(0, 255, 400).astype(np.uint8), (300, 1)),
            "nothing in the picture looks like a code: come closer and show the label's code",
        ),
    ],
)
def test_advice_on_empty_pictures(grey, words, scan):
    result = scan(grey)
    assert result.readings == ()
    assert result.advice == (words,)


def test_text_is_not_taken_for_a_code(scan):
    sheet = np.full((900, 1400), 245, dtype=np.uint8)
    for row in range(14):
        words = f"ROSEHIP LOT R{4700 + row} USE BY 2027-11-30 ITEM 2{row}"
        cv2.putText(sheet, words, (30, 60 + 60 * row), cv2.FONT_HERSHEY_DUPLEX, 1.4, 0, 3)
    result = scan(sheet)
    assert (result.readings, result.unread) == ((), ())


@pytest.mark.parametrize(("shape"), [(1, 1), (1, 100), (100, 1), (3, 5000)])
@pytest.mark.parametrize("mode", ScanMode)
def test_the_smallest_pictures(shape, mode, scan):
    assert scan(np.zeros(shape, dtype=np.uint8), mode=mode).readings == ()


def test_a_view_of_the_whole_begins_only_if_there_is_time_for_as_long_as_the_plain_read(today, monkeypatch):
    """The first look at the clock is the start; plain reading takes 0.3 s, every other step nothing."""
    seen = []
    views = (replace(scan_module.DEEPER[0], growth=1, see=lambda view: seen.append(1) or view),)
    monkeypatch.setattr(scan_module, "DEEPER", views)
    empty = Picture(grey=np.full((80, 80), 200, dtype=np.uint8), name="x", page=1)
    for budget_ms, views_seen in ((900.0, 1), (600.0, 0)):
        ticks = chain([0.0], repeat(0.3))
        scan_picture(empty, today=today, budget_ms=budget_ms, clock=lambda ticks=ticks: next(ticks))
        assert len(seen) == views_seen
        seen.clear()


def test_no_attempt_starts_after_the_budget_is_spent(payload, symbol_of, drawn, today):
    picture, _ = label(drawn, symbol_of(payload(5)), lines=())
    piece = Piece(print=picture, px_per_mm=PX_PER_MM)
    camera = Camera(width=700, height=500, px_per_mm=14.0, defocus=4.2)
    grey = grey_of(photograph([piece], camera=camera, rng=np.random.default_rng(2)))
    ticks = iter(range(1000))
    result = scan_picture(
        Picture(grey=grey, name="x", page=1), today=today, budget_ms=500.0, clock=lambda: float(next(ticks))
    )
    assert result.tried == ("plain",)
    assert result.elapsed_ms > 0


def test_foreign_codes_are_read_only_when_any_code_is_wanted(drawn, scan):
    import segno

    modules = np.array([[bool(cell) for cell in row] for row in segno.make("https://example.org/menu").matrix])
    grey = drawn(modules, margin=8)
    assert [reading.text for reading in scan(grey, mode=ScanMode.ANY).readings] == ["https://example.org/menu"]
    own = scan(grey, mode=ScanMode.OWN)
    assert own.readings == ()
    [place] = own.unread
    assert place.reason == "a code that is not printed here, a maker's or a shop's: show the label's own code"
    assert own.advice == (place.reason,)
    assert np.abs(np.array(place.corners).mean(axis=0) - np.array(grey.shape[::-1]) / 2).max() < 8


def test_separators_arrive_as_a_scanner_sends_them(drawn, scan):
    from tracelabels.identifiers import IdentifierMode, LabelIdentity, compose_label

    identity = LabelIdentity(gtin="09506000134352", use_by=date(2027, 11, 30), prepared=None, lot="R1", serial="A17")
    payload = compose_label(identity, IdentifierMode.GS1)
    [reading] = scan(drawn(write_data_matrix(payload).modules, margin=8)).readings
    assert reading.text == payload.text
    assert payload.text.count("\x1d") == 1
    assert reading.symbology_identifier == "]d2"
