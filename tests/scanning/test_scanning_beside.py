"""What lies beside a symbol that was read: words and stock hold no second one, half a symbol or a blurred one may."""

import math

import cv2
import numpy as np
import pytest
from envelope_pictures import SETTINGS, SYMBOLS, shoot, symbol_of

from tracelabels.scanning import beside
from tracelabels.scanning.beside import shows_more
from tracelabels.scanning.edge_cells import full_cells
from tracelabels.symbols import PRINTED, read_symbols

SQUARES = ("DM18", "DM20", "DM22", "QR2")


def read(kind, number, setting="usual"):
    """A photograph of a symbol with words along both sides, and where the bare reader finds it."""
    rng = np.random.default_rng([871, SYMBOLS.index(kind), number])
    shot = shoot(symbol_of(kind, number), kind, SETTINGS[setting], rng)
    found = read_symbols(shot.grey, kinds=PRINTED)
    return shot.grey, [one.corners for one in found]


def both(left, right):
    height = max(len(left), len(right))
    stock = float(np.median(left))
    parts = [
        cv2.copyMakeBorder(one, 0, height - len(one), 0, 0, cv2.BORDER_CONSTANT, value=stock) for one in (left, right)
    ]
    return np.ascontiguousarray(np.hstack(parts))


@pytest.mark.parametrize("kind", SQUARES)
@pytest.mark.parametrize("setting", ["usual", "voids 0.1", "turn 20", "turn 45", "ink 0.5"])
def test_words_beside_a_symbol_are_not_more(kind, setting):
    """Pieced out with stock, so that there is room for more; and twice enlarged."""
    seen = [read(kind, number, setting) for number in range(6)]
    read_ones = [(grey, corners) for grey, corners in seen if len(corners) == 1]
    assert len(read_ones) >= 3
    for grey, corners in read_ones:
        stock = float(np.median(grey))
        roomy = cv2.copyMakeBorder(grey, 0, 0, 0, grey.shape[1], cv2.BORDER_CONSTANT, value=stock)
        assert not shows_more(roomy, corners)
        twice = [tuple((2 * x, 2 * y) for x, y in corners[0])]
        assert not shows_more(cv2.resize(roomy, None, fx=2, fy=2, interpolation=cv2.INTER_LINEAR), twice)


@pytest.mark.parametrize("strain", ["usual", "blur 0.6", "tilt 45", "gain 0.1", "ink 0.65", "glare 0.1"])
@pytest.mark.parametrize("kind", SYMBOLS)
def test_a_second_symbol_is_more(kind, strain):
    for number in range(3):
        grey, corners = read("DM18", number)
        assert len(corners) == 1
        other = shoot(symbol_of(kind, number), kind, SETTINGS[strain], np.random.default_rng([872, number])).grey
        assert shows_more(both(grey, other), corners), number


@pytest.mark.parametrize("turn", [0, 45])
def test_the_visible_part_of_a_symbol_at_the_border_is_more(turn):
    grey, corners = read("DM20", 1)
    stock = int(np.median(grey))
    modules = np.kron(symbol_of("DM20", 2).modules, np.ones((4, 4)))
    other = np.where(cv2.copyMakeBorder(modules, 60, 60, 60, 60, cv2.BORDER_CONSTANT), 30, stock).astype(np.uint8)
    middle = other.shape[0] / 2
    turned = cv2.warpAffine(
        other, cv2.getRotationMatrix2D((middle, middle), turn, 1), other.shape[::-1], borderValue=stock
    )
    half = 40 * (math.sqrt(2) if turn else 1)
    shown = {share: turned[:, : round(middle + (2 * share - 1) * half)] for share in (0.6, 0.15)}
    assert shows_more(both(grey, shown[0.6]), corners)
    assert not shows_more(both(grey, shown[0.15]), corners)


def test_where_all_were_read_there_is_no_more():
    left, of_left = read("DM20", 1)
    right, of_right = read("DM22", 2)
    picture = both(left, right)
    found = [one.corners for one in read_symbols(picture, kinds=PRINTED)]
    assert len(found) == len(of_left) + len(of_right) == 2
    assert not shows_more(picture, found)
    assert all(shows_more(picture, [one]) for one in found)


def test_of_a_symbol_too_small_to_tell_edges_around_it_nothing_is_excluded():
    grey = np.full((200, 200), 200, np.uint8)
    assert shows_more(grey, [((50, 50), (64, 50), (64, 64), (50, 64))])
    assert not shows_more(grey, [((50, 50), (110, 50), (110, 110), (50, 110))])


@pytest.mark.parametrize(("strip", "more"), [(9, False), (16, True)])
def test_a_strip_of_less_than_half_a_symbol_is_not_looked_at_whatever_is_in_it(strip, more, monkeypatch):
    """Twenty modules of six pixels in the middle, print all round behind a quiet zone of one module."""
    looked = []
    monkeypatch.setattr(beside, "full_cells", lambda *args, **named: looked.append(1) or full_cells(*args, **named))
    side = 20 + 2 * strip
    dark = np.random.default_rng(6).random((side, side)) < 0.5
    dark[strip - 1 : strip + 21, strip - 1 : strip + 21] = False
    grey = np.where(np.kron(dark, np.ones((6, 6))), 40, 200).astype(np.uint8)
    low, high = 6 * strip, 6 * (strip + 20)
    assert shows_more(grey, [((low, low), (high, low), (high, high), (low, high))]) == more
    assert bool(looked) == more
