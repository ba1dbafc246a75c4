"""A tray of forty labels in one photograph of twelve megapixels: all are read, each where it lies.

Reading is measured in processor time on one thread, beside the bare reader on the same pixels.
"""

import time
from datetime import date

import cv2
import numpy as np
import pytest
from tray_pictures import lay, photograph

from tracelabels.scanning import Picture, scan_picture
from tracelabels.scanning.merging import holds, in_reading_order
from tracelabels.symbols import PRINTED, read_symbols

SEED = 8301
LABELS = 40


@pytest.fixture
def one_thread():
    threads = cv2.getNumThreads()
    cv2.setNumThreads(1)
    yield
    cv2.setNumThreads(threads)


@pytest.mark.usefixtures("one_thread")
@pytest.mark.parametrize("px", [3.0, 4.0, 5.0])
def test_a_tray_of_forty(px):
    rng = np.random.default_rng([SEED, int(px)])
    lying = lay(LABELS, px=px, rng=rng)
    grey = photograph(lying, rng=rng)
    start = time.process_time()
    plain = {one.text for one in read_symbols(grey, kinds=PRINTED)}
    bare = time.process_time() - start
    start = time.process_time()
    # The budget is the usual one, in processor time: a busy machine cuts nothing off.
    scan = scan_picture(Picture(grey=grey, name="tray", page=1), today=date(2026, 11, 28), clock=time.process_time)
    took = time.process_time() - start
    print(
        f"\n{px:g} px/module: {len(scan.readings)} of {LABELS} in {1000 * took:.0f} ms; "
        f"bare {len(plain)} in {1000 * bare:.0f} ms; ratio {took / bare:.1f}"
    )
    where = {one.text: one.middle for one in lying}
    assert {reading.text for reading in scan.readings} == set(where)
    assert scan.unread == ()
    for reading in scan.readings:
        # The middle of bars is free along them, by half their height; of a matrix by a module.
        assert np.hypot(*(np.mean(reading.corners, axis=0) - where[reading.text])) < 2 * px
    corners = [reading.corners for reading in scan.readings]
    assert in_reading_order(corners) == list(range(LABELS))


def covers(codes, rng):
    """Return something that lies over half of each code, from one of its sides inward: (polygon, grey level)."""
    laid = []
    for one in codes:
        corners = np.roll(one.corners, int(rng.integers(4)), axis=0)
        start, inward = (corners[0] + corners[1]) / 2, (corners[2] + corners[3] - corners[0] - corners[1]) / 2
        tip, back, half = rng.uniform(0.4, 0.55) * inward, -0.35 * inward, 0.62 * (corners[1] - corners[0])
        polygon = start + np.array([tip - half, tip + half, back + half, back - half])
        laid.append((polygon, rng.choice([rng.uniform(30, 80), rng.uniform(130, 190)])))
    return laid


@pytest.mark.usefixtures("one_thread")
def test_half_covered_codes_of_a_tray_are_named():
    rng = np.random.default_rng([SEED + 100])
    lying = lay(LABELS, px=4.0, rng=rng)
    codes = [one for one in lying if one.kind != "C128"][:20]
    grey = photograph(lying, rng=rng, hidden=covers(codes, rng))
    start = time.process_time()
    scan = scan_picture(Picture(grey=grey, name="tray", page=1), today=date(2026, 11, 28), clock=time.process_time)
    took = time.process_time() - start
    # What the half-covered codes cost is missing elsewhere: 19 of the 20 whole labels are read in this budget.
    assert {reading.text for reading in scan.readings} <= {one.text for one in lying if one not in codes}
    assert len(scan.readings) >= LABELS - len(codes) - 2
    said = [
        next((place.reason for place in scan.unread if holds(_as_corners(one), np.mean(place.corners, axis=0))), None)
        for one in codes
    ]
    named = sum(reason is not None for reason in said)
    covered = sum(reason is not None and reason.startswith("something lies over") for reason in said)
    print(f"\n{named} of {len(codes)} named, {covered} as covered, {len(scan.unread) - named} besides, {took:.1f} s")
    # On two seeds before: 18 and 18 named, 11 and 17 as covered. Seven modules are left of the smallest.
    assert named >= 16
    assert covered >= 10
    assert took < 1.3  # the budget is 1 s, and a little for saying why of each


def _as_corners(one):
    return tuple(map(tuple, one.corners.tolist()))
