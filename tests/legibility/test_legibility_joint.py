import math

import pytest

from tracelabels.legibility.joint import joint_of, wilson_interval
from tracelabels.legibility.trial import Outcome


@pytest.mark.parametrize(
    ("read", "trials", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_the_interval_is_that_of_published_examples(read, trials, low, high):
    """R. G. Newcombe, Statistics in Medicine 17 (1998) 857-872, Table I, method 3; the figures are from memory."""
    found = wilson_interval(read, trials)
    assert found == (pytest.approx(low, abs=6e-5), pytest.approx(high, abs=6e-5))


@pytest.mark.parametrize(("read", "trials"), [(3, 10), (158, 160), (40, 40), (0, 8)])
def test_at_its_ends_the_share_is_just_z_standard_errors_away(read, trials):
    """The definition that Wilson (1927) solves: (share - p)^2 = z^2 p (1 - p) / n."""
    for end in wilson_interval(read, trials, z=1.96):
        away = abs(read / trials - end)
        assert away == pytest.approx(1.96 * math.sqrt(max(end * (1 - end), 0.0) / trials), abs=1e-7)


def test_a_wrong_text_is_no_reading_and_is_counted_apart():
    joint = joint_of([Outcome.READ] * 7 + [Outcome.WRONG, Outcome.UNREAD, Outcome.UNREAD])
    assert (joint.read, joint.wrong, joint.trials, joint.share) == (7, 1, 10, 0.7)
    assert joint.low < 0.7 < joint.high
