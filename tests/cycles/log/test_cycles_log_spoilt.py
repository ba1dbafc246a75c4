"""Whatever is in the file: readings that can be computed with, or a sentence; and soon."""

import time
import warnings

import numpy as np
import pytest
from spoilt_logs import spoil

from tracelabels.cycles.log import read_log
from tracelabels.errors import LogError

LONGEST_S = 1.0
"""Of the processor's time, for any of them."""


def _survives(seed: int) -> tuple[float, bool]:
    """Return the processor's time that a spoilt log took, and whether readings came of it."""
    content, options = spoil(seed)
    start = time.process_time()
    try:
        log = read_log(content, options, name="spoilt.csv")
    except LogError:
        return time.process_time() - start, False
    readings = log.readings
    assert len(readings.seconds) == len(readings.celsius) >= 2, seed
    assert (readings.seconds[0], bool(np.all(np.diff(readings.seconds) > 0))) == (0.0, True), seed
    assert bool(np.all((readings.celsius >= -40) & (readings.celsius <= 200))), seed
    assert readings.kpa is None or (
        readings.kpa.shape == readings.celsius.shape and not np.isinf(readings.kpa).any()
    ), seed
    assert readings.step_k > 0, seed
    return time.process_time() - start, True


def _all_survive(seeds: range) -> tuple[float, int]:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        done = [_survives(seed) for seed in seeds]
    return max(seconds for seconds, _ in done), sum(is_read for _, is_read in done)


@pytest.mark.parametrize("block", range(4))
def test_four_hundred_spoilt_logs_are_read_or_refused_in_words(block):
    worst, read = _all_survive(range(100 * block, 100 * block + 100))
    assert worst < LONGEST_S
    assert 20 < read < 95  # both happen, else nothing was shown


@pytest.mark.long
def test_twenty_thousand_spoilt_logs_are_read_or_refused_in_words():
    worst, read = _all_survive(range(100_000, 120_000))
    print(f"\n20,000 spoilt logs: {read:,} read, the others refused; the slowest took {worst:.2f} s")
    assert worst < LONGEST_S
