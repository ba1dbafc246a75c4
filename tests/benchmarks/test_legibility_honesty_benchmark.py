"""Does the prediction tell the truth? A second simulator, written apart, is the judge; nothing real was photographed.

Each label is a random symbol, printer and tube under one random condition. The prediction knows the condition's values
but neither the seeds nor the way in which the judge makes its pictures. Rule and safeties were tuned on the seeds 1, 2,
101, 111, 202, 303, 404 and 505, not on 606. TRACELABELS_HONESTY_LABELS sets the size of the short trial.
"""

import os
import time
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

import numpy as np
import pytest

from tracelabels.legibility.envelope import Envelope
from tracelabels.legibility.findings import Legibility
from tracelabels.legibility.joint import wilson_interval
from tracelabels.legibility.judgement import judge

SHORT = int(os.environ.get("TRACELABELS_HONESTY_LABELS", "100"))
ASKED = {"pass that read": 0.995, "fail that fail or are marginal": 0.80, "truly reading called pass": 0.80}
MOST_WARN = 0.15


def _tried(seed, count):
    from honesty_trial import try_label

    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        return list(pool.map(try_label, [(seed, number) for number in range(count)], chunksize=4))


def _counts(tried):
    """Return each figure as (how many, of how many) labels."""
    called = {verdict: [one for one in tried if one.predicted is verdict] for verdict in Legibility}
    good = [one for one in tried if one.truly_reads]
    # One photograph of each label: twenty of one label are no independent trials, so that they have no such interval.
    return {
        "pass that read": (sum(one.read[0] for one in called[Legibility.PASS]), len(called[Legibility.PASS])),
        "fail that fail or are marginal": (
            sum(one.share <= 0.8 for one in called[Legibility.FAIL]),
            len(called[Legibility.FAIL]),
        ),
        "truly reading called pass": (sum(one.predicted is Legibility.PASS for one in good), len(good)),
        "warn": (len(called[Legibility.WARN]), len(tried)),
    }


def _share_of_all(tried):
    """Return the share of the first 20 photographs of each label called pass that read."""
    return float(np.mean([one.share for one in tried if one.predicted is Legibility.PASS]))


def _told(tried, counts):
    columns = [
        ("reads 99 of 100", lambda one: one.truly_reads),
        ("above 80 %", lambda one: one.share > 0.8 and not one.truly_reads),
        ("marginal", lambda one: one.is_marginal),
        ("below 20 %", lambda one: one.share < 0.2),
    ]
    yield f"\n{len(tried)} random labels and conditions, judged by a second simulator (simulated, no real photograph)"
    yield f"{'predicted':>10}" + "".join(f"{title:>18}" for title, _ in columns)
    for verdict in Legibility:
        row = [one for one in tried if one.predicted is verdict]
        yield f"{verdict.value:>10}" + "".join(f"{sum(map(test, row)):>18}" for _, test in columns)
    for name, (count, total) in counts.items():
        low, high = wilson_interval(count, total)
        yield f"{name}: {count} of {total}, {100 * count / total:.2f} % ({100 * low:.1f} to {100 * high:.1f})"
    yield f"all 20 photographs of the labels called pass: {100 * _share_of_all(tried):.2f} % read"
    yield f"photographs that said another text: {sum(one.wrong for one in tried)}"


def test_the_prediction_is_honest_on_a_short_trial(capsys):
    """A small sample can only refute: each interval must still hold the figure that is asked of the long trial."""
    tried = _tried(121, SHORT)
    counts = _counts(tried)
    with capsys.disabled():
        print("\n".join(_told(tried, counts)))
    for name, asked in ASKED.items():
        assert wilson_interval(*counts[name])[1] >= asked, name
    assert wilson_interval(*counts["warn"])[0] <= MOST_WARN


@pytest.mark.long
def test_the_prediction_is_honest_on_two_thousand_labels(capsys):
    tried = _tried(606, 2000)
    counts = _counts(tried)
    with capsys.disabled():
        print("\n".join(_told(tried, counts)))
    assert _share_of_all(tried) >= ASKED["pass that read"]
    for name, asked in ASKED.items():
        count, total = counts[name]
        assert count / total >= asked, name
    assert counts["warn"][0] / counts["warn"][1] <= MOST_WARN


def test_modules_that_are_not_whole_dots_read_less(capsys):
    """203 dpi, X 0.30 mm is 2.4 dots: modules of 2 and 3 dots. Against 2 and 3 whole dots, same pixels per module."""
    from off_dots import share_read

    shares = {x: share_read(x, dpi=203, labels=40, photographs=4) for x in (0.25, 0.30, 0.375)}
    with capsys.disabled():
        print("\n203 dpi, share read at 2.0 to 3.5 px per module, gain a tenth of a module (simulated):", end=" ")
        print(", ".join(f"X {x} mm {100 * share:.0f} %" for x, share in shares.items()))
    assert shares[0.30] < min(shares[0.25], shares[0.375])


def test_how_long_a_judgement_takes(capsys):
    from random_labels import random_subject

    labels = [random_subject(np.random.default_rng([5, number])) for number in range(3)]
    for label in labels:
        start = time.perf_counter()
        full = judge(label, Envelope(), seed=1)
        middle = time.perf_counter()
        judge(label, Envelope(), seed=1, quick=True)
        with capsys.disabled():
            print(
                f"\n{label.code.symbology} {label.code.version}: full {middle - start:.1f} s, quick "
                f"{time.perf_counter() - middle:.1f} s; {full.verdict}; {full.sentence}"
            )
        assert len(full.margins) >= 18
