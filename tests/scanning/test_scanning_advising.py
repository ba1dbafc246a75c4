"""Why a code was not read: each cause from one photograph that has it, with the numbers that were measured."""

import re
from dataclasses import replace

import cv2
import numpy as np
import pytest
from envelope_pictures import USUAL, on_bench, symbol_of

from tracelabels.scanning.advising import Cause, explain_unread, explaining, find_picture_cause
from tracelabels.scanning.advising.blots import find_blot_beside
from tracelabels.scanning.advising.edges import calmed, edge_spread
from tracelabels.scanning.advising.marks import are_dark, evened, light_lines, longest_gap, module_width
from tracelabels.scanning.advising.upright import find_upright
from tracelabels.scanning.locating import Outline, find_outlines
from tracelabels.scanning.locating.four_sides import straight_nodes
from tracelabels.scanning.locating.outlines import stock_of
from tracelabels.scanning.merging import same_place

FLAT = replace(USUAL, diameter=None)
STRAINED = {
    Cause.TOO_FAR: ("DM20", replace(USUAL, px_per_module=1.3)),
    Cause.OUT_OF_FOCUS: ("DM18", replace(USUAL, blur=0.9)),
    Cause.MOVED: ("DM20", replace(USUAL, motion=3.0)),
    Cause.GLARE: ("DM18", replace(USUAL, glare=0.3)),
    Cause.PALE: ("DM20", replace(USUAL, ink=0.78)),
    Cause.SHADOW: ("DM12x26", replace(USUAL, shadow=0.93)),
    Cause.STEEP: ("DM22", replace(FLAT, tilt=72)),
    Cause.BENT_AWAY: ("DM20", replace(USUAL, off_axis=55)),
    Cause.OUTSIDE: ("DM16x36", replace(USUAL, outside=0.4)),
    Cause.COVERED: ("DM20", replace(USUAL, covered=0.5)),
    Cause.DAMAGED: ("DM18", replace(USUAL, dead_lines=14)),
}
"""What the label is put to, and its symbol."""


def always():
    return True


def explain(grey, **places):  # noqa: ANN003  codes, halves, known
    return explain_unread(grey, **{"codes": (), "halves": (), "known": (), "has_time": always, **places})


def corners_of(shot):
    rows, columns = shot.symbol.modules.shape
    corners = shot.view.place(np.array([[0, 0], [columns, 0], [columns, rows], [0, rows]]))
    return tuple((round(x), round(y)) for x, y in corners.tolist())


@pytest.fixture(scope="module")
def shots():
    """One photograph for each cause."""
    return {
        cause: on_bench(symbol_of(kind, 700), kind, strain, np.random.default_rng([551, number]))
        for number, (cause, (kind, strain)) in enumerate(STRAINED.items())
    }


@pytest.mark.parametrize("cause", STRAINED)
def test_each_cause_is_named_where_the_code_lies(cause, shots):
    [explained] = explain(shots[cause].grey)
    assert explained.finding.cause is cause
    assert same_place(explained.corners, corners_of(shots[cause]))


@pytest.mark.parametrize("px", [1.2, 1.5, 1.8])
def test_too_far_tells_the_pixels_a_square(px):
    shot = on_bench(symbol_of("DM20", 701), "DM20", replace(USUAL, px_per_module=px), np.random.default_rng(552))
    [explained] = explain(shot.grey)
    told = re.match(
        r"too far: (\d\.\d) pixels for each square of the code, 3 are needed: come closer", explained.finding.sentence
    )
    assert float(told[1]) == pytest.approx(px, rel=0.3)


def test_glare_is_measured(shots):
    [explained] = explain(shots[Cause.GLARE].grey)
    told = re.fullmatch(r"glare covers (\d+)% of the code: tilt the label or move the lamp", explained.finding.sentence)
    assert 15 <= int(told[1]) <= 35  # 30 % was laid over it, with a soft edge


def test_glare_that_took_what_was_beside_the_rest_of_a_code_is_found(shots):
    shot = on_bench(symbol_of("DM12x36", 5), "DM12x36", replace(FLAT, glare=0.5), np.random.default_rng([551, 90]))
    sentences = {one.finding.sentence for one in explain(shot.grey) if one.finding.cause is Cause.GLARE}
    assert sentences, [one.finding.sentence for one in explain(shot.grey)]
    nodes = straight_nodes(np.array(corners_of(shot), float))
    area = float(cv2.contourArea(nodes.astype(np.float32)))
    outline = Outline(nodes=nodes, area=area, likeness=1.0)
    width = find_blot_beside(shot.grey, outline, 5.0)
    assert width == pytest.approx((0.5 * area) ** 0.5, rel=0.25)
    assert find_blot_beside(np.minimum(shot.grey, 251), outline, 5.0) is None
    assert find_blot_beside(shots[Cause.COVERED].grey, outline, 5.0) is None


def test_squares_are_measured_along_both_axes_in_a_steep_view(shots):
    [explained] = explain(shots[Cause.STEEP].grey)
    wide, narrow = (float(told) for told in re.findall(r"\d+\.\d", explained.finding.sentence))
    # The other axis is foreshortened by cos(72 degrees); USUAL has 5 pixels a module.
    assert wide == pytest.approx(5.0, rel=0.25)
    assert narrow / wide == pytest.approx(np.cos(np.radians(72)), abs=0.12)


@pytest.fixture(scope="module")
def flat():
    """A flat label that lies straight, and the box of its code: left, top, right, bottom."""
    shot = on_bench(symbol_of("DM20", 702), "DM20", replace(FLAT, off_axis=0, turn=0), np.random.default_rng(553))
    (left, top), (right, bottom) = np.min(corners_of(shot), axis=0), np.max(corners_of(shot), axis=0)
    return shot.grey, (left, top, right, bottom)


@pytest.fixture(scope="module")
def half_covered(flat):
    """The same with something over the right half, and the box of what is seen."""
    grey, (left, top, right, bottom) = flat
    middle = (left + right) // 2
    covered = grey.copy()
    covered[top - 15 : bottom + 15, middle : right + 60] = 90
    return covered, (left, top, middle, bottom)


@pytest.mark.parametrize(("turn", "where"), [(0, "right"), (1, "bottom"), (2, "left"), (3, "top")])
def test_the_side_at_which_a_code_is_covered_or_runs_out_is_that_of_the_picture(turn, where, flat, half_covered):
    covered, (_, _, middle, _) = half_covered
    [told] = explain(np.ascontiguousarray(np.rot90(covered, -turn)))
    assert told.finding.sentence == f"something lies over the code at the {where}: uncover the whole code"
    [told] = explain(np.ascontiguousarray(np.rot90(flat[0][:, :middle], -turn)))
    expected = f"only a part of the code is in the picture, it runs out at the {where}: show the whole label"
    assert told.finding.sentence == expected


def test_words_a_ruler_and_a_bare_bench_are_no_codes():
    bench = np.full((420, 560), 100, np.uint8)
    assert explain(bench) == ()
    bench[60:190, 80:360] = 225
    for row in range(4):
        cv2.putText(bench, "ROSEHIP LOT R4711", (92, 90 + 24 * row), cv2.FONT_HERSHEY_SIMPLEX, 0.6, 18, 2)
    bench[300:340, 40:520] = 200
    for mark in range(50, 510, 8):
        bench[300:314, mark : mark + 2] = 30
    noisy = bench + np.random.default_rng(554).normal(0, 4, bench.shape)
    assert explain(np.clip(noisy, 0, 255).astype(np.uint8)) == ()


def test_a_dark_picture_is_said_to_be_dark():
    shot = on_bench(symbol_of("DM20", 703), "DM20", replace(USUAL, exposure=0.05), np.random.default_rng(555))
    assert explain(shot.grey) == ()
    assert find_picture_cause(shot.grey).cause is Cause.TOO_DARK


def test_what_is_known_is_not_explained_and_the_picture_not_searched(shots, monkeypatch):
    shot = shots[Cause.COVERED]
    monkeypatch.setattr(explaining, "find_outlines", lambda *_, **__: pytest.fail("searched"))
    assert explain(shot.grey, codes=[corners_of(shot)], known=[corners_of(shot)]) == ()


def test_without_time_a_place_is_judged_by_its_own_corners(shots):
    shot = shots[Cause.OUT_OF_FOCUS]
    [explained] = explain(shot.grey, codes=[corners_of(shot)], has_time=lambda: False)
    assert (explained.finding.cause, explained.corners) == (Cause.OUT_OF_FOCUS, corners_of(shot))
    assert explain(shot.grey, has_time=lambda: False) == ()


def test_half_a_code_is_found_beside_one_that_was_read(half_covered):
    grey, (left, top, middle, bottom) = half_covered
    visible = ((left, top), (middle, top), (middle, bottom), (left, bottom))
    elsewhere = ((0, 0), (9, 0), (9, 9), (0, 9))
    assert explain(grey, known=[elsewhere]) == ()
    [half] = explain(grey, halves=[visible], known=[elsewhere])
    assert half.finding.cause is Cause.COVERED


@pytest.mark.parametrize("spread", [1.5, 3.0])
def test_the_spread_of_an_edge_is_that_of_the_bell(spread):
    step = np.where(np.kron(np.indices((6, 6)).sum(axis=0) % 2, np.ones((24, 24))), 200.0, 20.0).astype(np.float32)
    found = edge_spread(calmed(cv2.GaussianBlur(step, (0, 0), spread)), 180.0, (24.0, 24.0))
    # Calming adds its own bell of 0.7 samples, and not every edge is the steepest.
    assert found.across == pytest.approx(np.hypot(spread, 0.7), rel=0.2)
    assert found.down == pytest.approx(np.hypot(spread, 0.7), rel=0.2)
    assert found.turned == pytest.approx(1.0, abs=0.1)


@pytest.fixture
def drawn_symbol():
    """A symbol of 20 modules, 6 samples each, and whether each is print."""
    return symbol_of("DM20", 704).modules.repeat(6, axis=0).repeat(6, axis=1)


def test_modules_are_counted_from_changes(drawn_symbol):
    assert module_width(drawn_symbol) == pytest.approx((6.0, 6.0), rel=0.2)
    assert module_width(drawn_symbol[:, ::2]) == pytest.approx((3.0, 6.0), rel=0.2)


def test_light_lines_are_counted_and_text_has_gaps(drawn_symbol):
    levels = np.where(drawn_symbol, 20.0, 220.0).astype(np.float32)
    levels[[40, 41, 70, 71, 90, 91]] = 220.0
    even = evened(calmed(levels), stock_of(calmed(levels), 120))
    assert light_lines(even) == (3, 0)
    assert longest_gap(are_dark(even), empty=0.06) <= 2
    levels[30:50] = 220.0
    assert longest_gap(levels < 100, empty=0.06) == 20


def test_an_upright_patch_knows_its_surroundings_and_the_border():
    grey = np.tile(np.arange(200, dtype=np.uint8), (100, 1))
    corners = np.array([[170.0, 20.0], [198.0, 20.0], [198.0, 60.0], [170.0, 60.0]])
    upright = find_upright(grey, Outline(nodes=straight_nodes(corners), area=28.0 * 40.0, likeness=1.0))
    assert upright.levels.shape == (40, 28)
    # The middle of the first pixel is at 0.5.
    assert np.allclose(upright.levels, np.arange(170, 198)[np.newaxis], atol=0.5)
    assert upright.is_inside[:, : -upright.margin].all()
    assert not upright.is_inside[:, -upright.margin + 3 :].any()
    tiny = Outline(nodes=straight_nodes(corners / 10.0), area=11.0, likeness=1.0)
    assert find_upright(grey, tiny) is None


def test_a_half_is_not_looked_for_once_time_is_over(shots):
    shot = shots[Cause.COVERED]
    elsewhere = [((0, 0), (2, 0), (2, 2), (0, 2))]
    there = explain(shot.grey, halves=[corners_of(shot)], known=elsewhere)
    assert len(there) == 1
    assert explain(shot.grey, halves=[corners_of(shot)], known=elsewhere, has_time=lambda: False) == ()


def test_outlines_that_reading_found_are_not_looked_for_again(shots, monkeypatch):
    grey = shots[Cause.GLARE].grey
    found = find_outlines(grey)
    told = explain(grey)
    assert told
    monkeypatch.setattr(explaining, "find_outlines", lambda *_, **__: ())
    assert explain(grey, outlines=found) == told
    assert explain(grey) == ()


def test_of_a_crowd_twenty_are_measured_and_the_others_named_unless_there_is_time():
    rng = np.random.default_rng(8)
    crowd = np.full((900, 900), 210, np.uint8)
    codes = []
    for number in range(25):
        left, top = 20 + number % 5 * 170, 20 + number // 5 * 170
        crowd[top : top + 100, left : left + 100] = np.kron(rng.random((20, 20)) < 0.5, np.ones((5, 5))) * 160 + 40
        codes.append(((left, top), (left + 100, top), (left + 100, top + 100), (left, top + 100)))
    named = [one.finding.sentence for one in explain(crowd, codes=codes, has_time=lambda: False)]
    assert len(named) == 25
    assert [sentence.startswith("one of many codes") for sentence in named] == [False] * 20 + [True] * 5
    in_time = explain(crowd, codes=codes)
    assert [one.corners for one in in_time] != []
    assert not any(one.finding.sentence.startswith("one of many codes") for one in in_time)


def test_a_crowded_picture_is_not_searched(shots, monkeypatch):
    grey = shots[Cause.GLARE].grey
    searched = []
    monkeypatch.setattr(explaining, "_explain_picture", lambda *_: searched.append(1) or ())
    away = ((0, 0), (9, 0), (9, 9), (0, 9))
    explain(grey, codes=[away] * 19)
    assert searched == [1]
    explain(grey, codes=[away] * 20)
    assert searched == [1]
