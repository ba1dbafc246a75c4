"""The simulated camera against closed forms, and against a reader that knows nothing of it."""

import math

import numpy as np
import pytest
import zxingcpp
from PIL import Image

from tracelabels.errors import InputError
from tracelabels.identifiers import IdentifierMode, Payload
from tracelabels.legibility.camera import SIMULATED, Camera, Piece, photograph, save_photograph
from tracelabels.legibility.simulation.light import shading, uneven
from tracelabels.legibility.simulation.optics import defocused
from tracelabels.legibility.simulation.sensor import compressed, noisy
from tracelabels.symbols import TubeAxis, write_data_matrix

PX_PER_MM = 600 / 25.4
QUIET = {"defocus": 0.0, "noise": 0.0, "jpeg_quality": None, "light_ratio": 1.0, "vignette": 0.0}


def taken(*pieces, seed=1, **camera):  # noqa: ANN002, ANN003  pieces, and the camera's own
    return photograph(pieces, camera=Camera(**camera), rng=np.random.default_rng(seed))


def dotted(width_mm, height_mm, places, *, diameter_mm=0.5):
    """A print with dark discs at places (x, y) in mm."""
    rows, columns = (round(side * PX_PER_MM) for side in (height_mm, width_mm))
    down, across = np.mgrid[0:rows, 0:columns]
    grey = np.full((rows, columns), 255, dtype=np.uint8)
    for x, y in places:
        inside = (across + 0.5 - x * PX_PER_MM) ** 2 + (down + 0.5 - y * PX_PER_MM) ** 2
        grey[inside < (diameter_mm / 2 * PX_PER_MM) ** 2] = 0
    return grey


def centre_of_disc(photo, blank, near):
    """The centre of what is darker than in a photograph of the blank print, around a place in the picture."""
    x, y = (round(value) for value in near)
    light, dark = (one.rgb[y - 12 : y + 12, x - 12 : x + 12, 1].astype(float) for one in (blank, photo))
    weight = np.clip(light - dark, 0, None)
    down, across = np.mgrid[y - 12 : y + 12, x - 12 : x + 12] + 0.5
    return (across * weight).sum() / weight.sum(), (down * weight).sum() / weight.sum()


@pytest.mark.parametrize(
    "place",
    [
        {},
        {"x": 3.0, "y": -2.0, "turn": 33.0},
        {"tube_diameter": 13.0, "turn": -20.0},
        {"tube_diameter": 10.8, "tube_axis": TubeAxis.WIDTH, "x": -4.0, "off_axis": 15.0},
        {"tube_diameter": 8.0, "off_axis": -20.0, "turn": 90.0},
    ],
)
@pytest.mark.parametrize("view", [{}, {"tilt": 35.0}, {"tilt": -20.0, "swing": 25.0, "distance": 120.0}])
def test_things_are_where_the_positions_say(place, view):
    spots = [(2.0, 2.0), (4.0, 2.0), (4.0, 5.0), (2.0, 4.0)]
    photo, blank = (
        taken(
            Piece(print=dotted(6.0, 6.5, shown), px_per_mm=PX_PER_MM, **place),
            width=700,
            height=600,
            px_per_mm=22.0,
            **view,
            **QUIET,
        )
        for shown in (spots, [])
    )
    for true in photo.positions(spots):
        # A disc of 11 pixels on a slope is a little lopsided in the picture: a fifth of a pixel of play.
        assert centre_of_disc(photo, blank, true) == pytest.approx(tuple(true), abs=0.2)


def test_perspective_of_a_tilted_plane():
    """By hand: (x, y) tilted by t lies at depth y sin t: X = s x d / (d - y sin t), Y = s y cos t d / (d - y sin t)."""
    piece = Piece(print=np.full((400, 400), 255, dtype=np.uint8), px_per_mm=20.0)
    photo = taken(piece, width=400, height=300, px_per_mm=10.0, distance=100.0, tilt=30.0)
    x, y, s, d, t = 6.0, -8.0, 10.0, 100.0, math.radians(30)
    nearer = d / (d - y * math.sin(t))
    expected = (200 + s * x * nearer, 150 + s * y * math.cos(t) * nearer)
    assert photo.positions([(10 + x, 10 + y)])[0] == pytest.approx(expected)
    assert nearer < 1  # the far side goes away


@pytest.mark.parametrize("diameter", [6.0, 8.0, 10.8, 13.0])
@pytest.mark.parametrize("axis", TubeAxis)
def test_a_symbol_on_a_tube_narrows_as_the_closed_form_says(diameter, axis):
    """Orthographic view: a width W round the tube shows as D sin(W / D), and each edge lies W / D off the top."""
    side = diameter / 2
    piece = Piece(
        print=np.full((480, 480), 255, dtype=np.uint8), px_per_mm=480 / side, tube_diameter=diameter, tube_axis=axis
    )
    photo = taken(piece, width=100, height=100, px_per_mm=10.0, distance=5000.0)
    left, right = photo.positions([(0.0, side / 2), (side, side / 2)])
    top, bottom = photo.positions([(side / 2, 0.0), (side / 2, side)])
    around, along = (right - left)[0], (bottom - top)[1]
    if axis is TubeAxis.WIDTH:
        around, along = along, around
    angle = side / diameter
    assert around / along == pytest.approx(math.sin(angle) / angle, rel=2e-3)


def test_off_axis_turns_the_label_round_the_tube():
    piece = Piece(print=np.full((48, 48), 255, dtype=np.uint8), px_per_mm=10.0, tube_diameter=10.0, off_axis=90.0)
    photo = taken(piece, width=100, height=100, px_per_mm=10.0, distance=5000.0)
    assert photo.positions([(2.4, 2.4)])[0] == pytest.approx((100.0, 50.0), abs=0.1)


@pytest.mark.parametrize("sigma", [0.2, 0.45, 0.7, 2.0, 5.0])
def test_defocus_spreads_an_edge_by_its_standard_deviation(sigma):
    edge = np.zeros((8, 400, 3), dtype=np.float32)
    edge[:, 200:] = 200.0
    spread = np.diff(defocused(edge, sigma)[4, :, 0]) / 200.0
    places = np.arange(len(spread))
    mean = (places * spread).sum()
    assert math.sqrt((spread * (places - mean) ** 2).sum()) == pytest.approx(sigma, rel=0.03)


def test_noise_has_the_standard_deviation_that_was_asked_for():
    noise = noisy(np.full((400, 400, 3), 128.0, dtype=np.float32), 6.0, np.random.default_rng(3))
    assert noise.std(axis=(0, 1)) == pytest.approx([6.0, 6.0, 6.0], rel=0.02)
    assert noise.mean() == pytest.approx(128.0, abs=0.1)


def test_light_ratio_is_that_of_opposite_corners():
    light = uneven(300, 400, ratio=4.0, direction=math.degrees(math.atan2(300, 400)), vignette=0.0)
    assert light[0, -1] / light[-1, 0] == pytest.approx(4.0, rel=0.01)
    assert light[150, 200] == pytest.approx(1.0, abs=0.01)


def test_vignette_takes_its_share_in_the_corners():
    light = uneven(300, 400, ratio=1.0, direction=0.0, vignette=0.3)
    assert light[0, 0] == pytest.approx(0.7, abs=0.01)
    assert light[150, 200] == pytest.approx(1.0, abs=0.001)


def test_shading_is_one_where_a_surface_faces_up_and_less_where_it_turns_away():
    normals = np.array([[0.0, 0.0, 1.0], [0.6, 0.0, 0.8], [-0.6, 0.0, 0.8], [1.0, 0.0, 0.0]], dtype=np.float32)
    up, right, left, aside = shading(normals.T[:, :, np.newaxis])[:, 0]
    assert up == pytest.approx(1.0)
    assert aside < right < up < left  # the lamp stands to the upper left


def test_jpeg_costs_more_the_lower_the_quality():
    grey = np.random.default_rng(4).integers(0, 256, (64, 64, 1), dtype=np.uint8)
    rgb = np.repeat(grey, 3, axis=2)
    loss = [np.abs(compressed(rgb, quality).astype(int) - rgb).mean() for quality in (95, 60, 10)]
    assert loss == sorted(loss)
    assert loss[0] < loss[2] / 2


def test_the_same_seed_gives_the_same_picture():
    piece = Piece(print=dotted(6.0, 6.0, [(3.0, 3.0)]), px_per_mm=PX_PER_MM)
    first, again, other = (taken(piece, seed=seed, width=200, height=160).rgb for seed in (7, 7, 8))
    assert np.array_equal(first, again)
    assert not np.array_equal(first, other)


@pytest.mark.parametrize("diameter", [None, 10.8])
def test_a_photographed_symbol_is_read_and_lies_where_it_should(diameter):
    payload = Payload(text="17271130131126201021000123", fnc1_first=False, mode=IdentifierMode.IN_HOUSE)
    modules = np.pad(write_data_matrix(payload).modules, 3)
    print_ = np.where(np.kron(modules, np.ones((6, 6), dtype=bool)), 0, 255).astype(np.uint8)
    piece = Piece(print=print_, px_per_mm=PX_PER_MM, turn=10.0, tube_diameter=diameter)
    photo = taken(piece, width=500, height=400, px_per_mm=22.0)
    [code] = zxingcpp.read_barcodes(photo.rgb, formats=zxingcpp.BarcodeFormat.DataMatrix)
    assert code.text == payload.text
    low, high = 18 / PX_PER_MM, (print_.shape[0] - 18) / PX_PER_MM
    true = photo.positions([(low, low), (high, low), (high, high), (low, high)])
    place = code.position
    seen = [(p.x, p.y) for p in (place.top_left, place.top_right, place.bottom_right, place.bottom_left)]
    assert np.abs(np.array(seen) - true).max() < 0.254 * 22  # one module


def test_pieces_outside_the_picture_are_left_out():
    piece = Piece(print=np.full((50, 50), 255, dtype=np.uint8), px_per_mm=10.0, x=500.0)
    assert np.array_equal(taken(piece, width=64, height=64).rgb, taken(width=64, height=64).rgb)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"tilt": 85.0}, "camera: tilt 85.0; expected a value from -80 to 80; change it"),
        ({"jpeg_quality": 0}, "camera: jpeg_quality 0; expected a value from 1 to 100; change it"),
        ({"px_per_mm": 0.0}, "camera: px_per_mm 0.0; expected a value from 1 to 100; change it"),
    ],
)
def test_values_out_of_range_are_refused(given, words):
    with pytest.raises(InputError) as caught:
        Camera(**given)
    assert str(caught.value) == words


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (
            {"print": np.zeros((4, 4, 3), dtype=np.uint8)},
            (
                "a print of shape (4, 4, 3) and type uint8; expected grey levels of shape (rows, columns) and type "
                "uint8; rasterise the page to grey"
            ),
        ),
        ({"tube_diameter": 0.0}, "a piece: tube_diameter 0.0; expected a value above 0; change it"),
        ({"px_per_mm": -1.0}, "a piece: px_per_mm -1.0; expected a value above 0; change it"),
    ],
)
def test_pieces_that_cannot_be_are_refused(given, words):
    with pytest.raises(InputError) as caught:
        Piece(**({"print": np.zeros((4, 4), dtype=np.uint8), "px_per_mm": 10.0} | given))
    assert str(caught.value) == words


@pytest.mark.parametrize("suffix", [".png", ".jpg"])
def test_a_saved_photograph_says_that_it_is_simulated(tmp_path, suffix):
    photo = taken(width=640, height=480)
    path = tmp_path / f"tray{suffix}"
    save_photograph(path, photo, note="two tubes")
    with Image.open(path) as image:
        words = image.text if suffix == ".png" else dict(image.getexif())
        pixels = np.asarray(image.convert("RGB")).astype(int)
    description, software = (
        (words["Description"], words["Software"]) if suffix == ".png" else (words[0x010E], words[0x0131])
    )
    assert (description, software) == (f"{SIMULATED}: two tubes", "tracelabels")
    changed = np.abs(pixels - photo.rgb).max(axis=2) > 60
    rows, columns = np.nonzero(changed)
    assert len(rows) > 200
    assert rows.min() > 480 * 0.9
    assert columns.min() > 640 * 0.5
