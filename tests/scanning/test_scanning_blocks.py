"""Codes whose label is one patch of edges, with the words close beside them."""

import cv2
import numpy as np
import pytest

from tracelabels.identifiers import IdentifierMode, Payload
from tracelabels.scanning.blocks import cut_at_gaps
from tracelabels.scanning.looks import looks_like_bars, looks_like_code, looks_like_half, measure
from tracelabels.scanning.places import Place
from tracelabels.symbols import DataMatrixShape, Symbology, write_data_matrix


@pytest.fixture
def worded(drawn):
    """Draw a label on a dark mat, words below its code, and the place that is all of it."""

    def make(symbol):
        code = drawn(symbol.modules, px=4, margin=3, dark=20, light=230)
        words = np.full((60, code.shape[1]), 230, dtype=np.uint8)
        cv2.putText(words, "ROSEHIP", (12, 24), cv2.FONT_HERSHEY_SIMPLEX, 0.6, 20, 2)
        cv2.putText(words, "R4711", (12, 50), cv2.FONT_HERSHEY_SIMPLEX, 0.6, 20, 2)
        label = np.pad(np.vstack([code, words]), 8, constant_values=105)
        height, width = label.shape
        place = Place(centre=(width / 2, height / 2), size=(width, height), fill=1.0, angle=0.0)
        return label, place

    return make


@pytest.mark.parametrize("symbology", [Symbology.DATA_MATRIX, Symbology.QR, Symbology.CODE_128])
def test_a_code_is_cut_from_its_words_and_left_whole(symbology, payload, symbol_of, worded):
    symbol = symbol_of(payload(1), symbology)
    label, place = worded(symbol)
    rows, columns = symbol.modules.shape
    height = 4 * (20 if rows == 1 else rows)
    looks = looks_like_bars if rows == 1 else None
    found = []
    for part in cut_at_gaps(place, label):
        measures = measure(part.upright(label, margin=0.0).grey)
        if looks(measures) if looks else looks_like_code(part, measures):
            found.append(part)
    [code] = found
    assert code.size == pytest.approx((4 * columns, height), abs=2)
    # Two pixels of play: half a module.
    assert code.centre == pytest.approx((8 + 12 + 2 * columns, 8 + 12 + height / 2), abs=2)


def test_a_part_of_a_turned_patch_lies_where_it_is():
    whole = Place(centre=(100.0, 50.0), size=(80.0, 40.0), fill=0.7, angle=30.0)
    part = whole.part((40.0, 0.0, 80.0, 20.0))
    # The middle of the upper right quarter is 20 right and 10 up along the patch's own axes, turned by 30 degrees.
    assert part.centre == pytest.approx((100 + 20 * 0.8660254 + 10 * 0.5, 50 + 20 * 0.5 - 10 * 0.8660254))
    assert (part.size, part.angle) == ((40.0, 20.0), 30.0)


def test_sparse_dots_have_no_blocks():
    dots = np.full((60, 2400), 230, dtype=np.uint8)
    dots[np.random.default_rng(4).random(dots.shape) < 0.0015] = 20
    place = Place(centre=(1200.0, 30.0), size=(2400.0, 60.0), fill=1.0, angle=0.0)
    assert cut_at_gaps(place, dots) == ()


def test_half_of_the_halves_of_small_square_codes_look_like_halves_and_bars_do_not(drawn):
    halves = codes = 0
    for number in range(20):
        payload = Payload(text=f"21{number:02d}0000017", fnc1_first=False, mode=IdentifierMode.IN_HOUSE)
        modules = write_data_matrix(payload, shape=DataMatrixShape("16x16")).modules
        seen = drawn(modules[:8], px=4, margin=0)
        place = Place(centre=(0.0, 0.0), size=(64.0, 32.0), fill=1.0, angle=0.0)
        halves += looks_like_half(place, measure(seen))
        codes += looks_like_code(place, measure(seen))
        assert not looks_like_half(place, measure(np.repeat(seen[:1], 32, axis=0)))
    # 12 of 20: eight rows change less often than eight random modules do in the others. None looks like a code.
    assert (halves >= 10, codes) == (True, 0), halves
