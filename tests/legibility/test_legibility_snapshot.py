"""The simulated photograph of one symbol against closed forms of view, tube and light."""

from dataclasses import replace

import cv2
import numpy as np
import pytest
from legibility_subjects import label_of

from tracelabels.identifiers import IdentifierMode, Payload
from tracelabels.legibility.condition import Condition
from tracelabels.legibility.snapshot import photograph_symbol
from tracelabels.legibility.specimen import specimen_of
from tracelabels.legibility.trial import Outcome, chance, try_reading
from tracelabels.lengths import Mm
from tracelabels.symbols import DataMatrixShape, TubeAxis, write_code_128, write_data_matrix

CLEAN = Condition(
    px_per_mm=40.0, turn=0.0, defocus=0.0, motion=0.0, light_ratio=1.0, noise=0.0, jpeg_quality=100.0, dot_gain=0.0,
    lost_dots=0.0, specks=0.0,
)  # fmt: skip
TEXT = Payload(text="A1234567", fnc1_first=False, mode=IdentifierMode.IN_HOUSE)


def block(*, tube=None, axis=None, rim=12):
    """A label whose symbol is one dark block: its outline in the picture is the symbol's."""
    solid = label_of(write_data_matrix(TEXT, shape=DataMatrixShape("12x26")), tube=tube, axis=axis, rim=rim)
    edge = rim
    picture = solid.picture.copy()
    picture[edge:-edge, edge:-edge] = 0
    return specimen_of(replace(solid, picture=picture))


def extent(photo):
    """Sides of the dark block, pixels, short first: from its area and its longest row or column."""
    dark = photo < 128
    return sorted([int(dark.any(axis=0).sum()), int(dark.any(axis=1).sum())])


SHORT, LONG = 12 * 4 * 25.4 / 300, 26 * 4 * 25.4 / 300


def test_a_flat_symbol_has_its_size_times_the_pixels_per_mm():
    assert extent(photograph_symbol(block(), CLEAN, chance(1))) == pytest.approx([SHORT * 40, LONG * 40], abs=1.6)


@pytest.mark.parametrize("off_axis", [0.0, 25.0])
def test_round_a_tube_the_side_across_it_is_the_chord_as_seen(off_axis):
    """Orthographic: R (sin(a + w) - sin(a - w)) with w = W / 2R; the lens at 150 mm makes the far parts smaller by
    (d - 2R) / (d - z), at most 4 % here."""
    tube, half = 10.8, SHORT / 10.8
    a = np.radians(off_axis)
    chord = 5.4 * (np.sin(a + half) - np.sin(a - half))
    specimen = block(tube=Mm(tube), axis=TubeAxis.WIDTH)
    short, long = extent(photograph_symbol(specimen, replace(CLEAN, off_axis=off_axis), chance(1)))
    assert short == pytest.approx(chord * 40, rel=0.03, abs=1.6)
    assert long == pytest.approx(LONG * 40, rel=0.03)


def test_a_flat_label_that_leans_is_shorter_by_the_cosine():
    leaning = photograph_symbol(block(), replace(CLEAN, tilt=40.0), chance(1))
    sides = extent(leaning)
    assert sides[0] == pytest.approx(SHORT * 40 * np.cos(np.radians(40)), rel=0.03)
    assert sides[1] == pytest.approx(LONG * 40, rel=0.03)


@pytest.mark.parametrize("leaning", [{"tilt": 50.0}, {"off_axis": 50.0}])
def test_a_turn_in_the_picture_leaves_right_angles_right_however_the_label_leans(leaning):
    photo = photograph_symbol(block(), replace(CLEAN, turn=15.0, **leaning), chance(1))
    outline = cv2.convexHull(np.argwhere(photo < 128).astype(np.float32))
    box = cv2.minAreaRect(outline)[1]
    # A block turned before it leans would fill less than nine tenths of the rectangle round it.
    assert cv2.contourArea(outline) > 0.95 * box[0] * box[1]


def test_the_stock_is_exposed_to_235_and_the_ink_in_proportion():
    photo = photograph_symbol(block(), replace(CLEAN, stock=0.8, ink=0.2), chance(1))
    assert np.median(photo[photo >= 128]) == pytest.approx(235, abs=1)
    assert np.median(photo[photo < 128]) == pytest.approx(235 * 0.2 / 0.8, abs=1)


def test_uneven_light_leaves_its_ratio_between_the_pictures_corners():
    photo = photograph_symbol(block(), replace(CLEAN, light_ratio=3.0), chance(4)).astype(float)
    # The stock round the block, without the block's edge, whose pixels are grey.
    stock = np.concatenate([side.ravel() for side in (photo[:16], photo[-16:], photo[:, :16], photo[:, -16:])])
    # Corner to corner along the light's own direction it would be 3; other directions see less.
    assert 1.5 < stock.max() / stock.min() <= 3.1
    assert stock.max() <= 236


def test_noise_has_its_standard_deviation():
    photo = photograph_symbol(block(rim=32), replace(CLEAN, noise=6.0, stock=0.6, ink=0.3), chance(1)).astype(float)
    inside = photo[(photo > 90) & (photo < 145)]
    assert inside.std() == pytest.approx(6.0, rel=0.05)


def test_the_same_seed_gives_the_same_picture_and_another_seed_another():
    pictures = [photograph_symbol(block(), Condition(), chance(seed)) for seed in (3, 3, 4)]
    assert np.array_equal(pictures[0], pictures[1])
    assert not (pictures[0].shape == pictures[2].shape and np.array_equal(pictures[0], pictures[2]))


def test_beyond_the_labels_edge_lies_plastic_and_beyond_the_tube_the_dark():
    wide = write_data_matrix(TEXT, shape=DataMatrixShape("12x26"))
    specimen = specimen_of(label_of(wide, tube=Mm(6.0), axis=TubeAxis.HEIGHT, rim=4))
    assert not specimen.paper.all()
    photo = photograph_symbol(specimen, replace(CLEAN, ink=0.0), chance(2))
    levels = 235 / 0.85 * np.array([0.5, 0.15])
    near = [(np.abs(photo.astype(float) - level) < 4).mean() for level in levels]
    assert all(share > 0.01 for share in near)


@pytest.mark.parametrize("turned", [False, True])
def test_a_linear_symbol_is_cut_with_its_quiet_zone_along_the_bars_only(turned):
    symbol = write_code_128(TEXT)
    label = label_of(symbol, bars=60, rim=56)
    if turned:
        code = replace(label.code, modules=symbol.modules.T.copy())
        label = replace(label, picture=np.ascontiguousarray(label.picture.T), code=code)
    specimen = specimen_of(label)
    left, top, right, bottom = specimen.box
    width, height = right - left, bottom - top
    if turned:
        width, height, left, top = height, width, top, left
    assert (width, height) == (symbol.columns * 4, 60)
    assert left >= 10 * 4
    assert top < 6 * 4
    assert try_reading(specimen, Condition(), chance(1)) is Outcome.READ


@pytest.mark.parametrize("shape", ["10x10", "16x16", "20x20", "8x32", "12x36"])
@pytest.mark.parametrize("tube", [None, Mm(10.8)])
def test_under_usual_conditions_a_good_label_reads(shape, tube):
    payload = Payload(text="A12", fnc1_first=False, mode=IdentifierMode.IN_HOUSE)
    symbol = write_data_matrix(payload, shape=DataMatrixShape(shape))
    specimen = specimen_of(label_of(symbol, rim=12, tube=tube, axis=TubeAxis.WIDTH if tube else None))
    outcomes = [try_reading(specimen, Condition(), chance(9, number)) for number in range(20)]
    assert outcomes.count(Outcome.READ) >= 19


def test_another_text_than_the_expected_one_is_wrong_and_nothing_is_unread():
    label = label_of(write_data_matrix(TEXT), rim=12)
    other = specimen_of(replace(label, code=replace(label.code, text="B")))
    assert try_reading(other, CLEAN, chance(1)) is Outcome.WRONG
    assert try_reading(block(), CLEAN, chance(1)) is Outcome.UNREAD
