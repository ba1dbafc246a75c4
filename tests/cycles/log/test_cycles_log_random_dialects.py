"""A cycle written in any dialect reads back as it was, within what the digits of the file say."""

import numpy as np
import pytest
from random_dialects import write_at_random

from tracelabels.cycles.log import LogOptions, read_log


def _reads_back(seed: int) -> None:
    truth = write_at_random(seed)
    log = read_log(truth.content, LogOptions(), name=f"seed {seed}")
    readings = log.readings
    assert readings.seconds == pytest.approx(truth.seconds, abs=0.031), seed  # a thousandth of a minute
    assert readings.celsius == pytest.approx(truth.celsius, abs=truth.celsius_step / 2 + 1e-9), seed
    assert (readings.kpa is None) == (truth.kpa is None), seed
    if readings.kpa is not None:
        assert readings.kpa == pytest.approx(truth.kpa, abs=truth.kpa_step / 2 + 1e-9), seed
    assert (log.started_at, readings.gaps, log.rows) == (truth.started_at, (), len(truth.seconds)), seed
    assert readings.step_k == pytest.approx(truth.celsius_step), seed
    assert np.all(np.diff(readings.seconds) > 0), seed


@pytest.mark.parametrize("block", range(4))
def test_sixty_dialects_read_back(block):
    for seed in range(15 * block, 15 * block + 15):
        _reads_back(seed)


@pytest.mark.long
def test_ten_thousand_dialects_read_back():
    for seed in range(1000, 11000):
        _reads_back(seed)
