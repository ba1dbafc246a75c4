"""The sequential test against the likelihoods that it stands for and against the risks that it promises."""

import numpy as np
import pytest

from tracelabels.legibility.evidence import BAD_SHARE, GOOD_SHARE, RISK, evidence, is_settled


@pytest.mark.parametrize(("misses", "trials"), [(0, 1), (1, 1), (2, 96), (7, 240)])
def test_the_evidence_is_the_ratio_of_two_likelihoods(misses, trials):
    bad, good = (share**misses * (1.0 - share) ** (trials - misses) for share in (BAD_SHARE, GOOD_SHARE))
    assert np.exp(evidence(misses, trials)) == pytest.approx(bad / good)


def test_a_label_that_always_reads_is_settled_after_108_trials():
    assert not is_settled(0, 107)
    assert is_settled(0, 108)
    assert evidence(0, 108) < 0.0


@pytest.mark.parametrize(("share", "called_bad"), [(GOOD_SHARE, True), (BAD_SHARE, False)])
def test_either_is_taken_for_the_other_no_more_often_than_promised(share, called_bad):
    rng, mistaken, tests = np.random.default_rng(4), 0, 1500
    for _ in range(tests):
        misses = trials = 0
        while not is_settled(misses, trials):
            misses, trials = misses + int(rng.random() < share), trials + 1
        mistaken += (evidence(misses, trials) > 0.0) is called_bad
    # Wald: the two risks together stay below what was set for both; 3 standard errors of the count on top.
    assert mistaken / tests <= RISK / (1.0 - RISK) + 3.0 * (RISK * (1.0 - RISK) / tests) ** 0.5
