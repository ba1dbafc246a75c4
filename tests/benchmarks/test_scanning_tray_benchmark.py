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
from tracelabels.scanning.merging import in_reading_order
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
