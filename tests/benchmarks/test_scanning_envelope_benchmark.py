"""The failing envelope: what is read bare, by libdmtx, by a scan, and by the sampler that is told where modules lie.

The last is the bound of what finding the place better could bring. Nothing here says what a real camera does.
"""

from collections import Counter

import pytest
from envelope_pictures import SETTINGS, SYMBOLS
from envelope_trial import (
    BARS,
    SQUARES_AND_RECTANGLES,
    WAYS,
    bound,
    count,
    many,
    table,
    try_decoy,
    try_picture,
    wilson,
    yields,
)
from misread_trial import try_random

SEED = 8101


def show(tried):
    print("", *table(tried), "", *yields(tried), sep="\n")
    read, of = bound(tried)
    low, high = wilson(read, of)
    print(f"of what the told sampler reads, {read} of {of} were read: {100 * low:.1f} to {100 * high:.1f} %")
    for way in WAYS:
        wrong = [f"{one.setting}, {one.kind}" for one in tried if getattr(one, way) is None]
        assert not wrong, (way, wrong)
    lost = [f"{one.setting}, {one.kind}" for one in tried if one.bare and not one.scan]
    assert not lost, "the bare reader reads these"


def test_the_envelope_read_in_four_ways():
    # Every setting with a third of the symbols, each symbol with a third of the settings.
    tried = many(
        try_picture,
        [(SEED, setting, kind, 0) for place, setting in enumerate(SETTINGS) for kind in SYMBOLS[place % 3 :: 3]],
    )
    show(tried)
    # The sampler is worth its place only if it reads what the bare reader loses: about a third against nearly all.
    assert count(tried, "told") > 2 * count(tried, "bare")
    read, of = bound(tried)
    assert wilson(read, of)[1] >= 0.95  # the aim lies within the interval


def test_no_wrong_text_in_two_thousand_random_photographs():
    tried = many(try_random, [(SEED + 4, number, 300.0) for number in range(2_000)])  # 150 ms leave no deep look an end
    hows = Counter((one.nothing or "a symbol", one.how) for one in tried)
    print("", *(f"{nothing:10} {how:34}{times:6}" for (nothing, how), times in sorted(hows.items())), sep="\n")
    assert [one for one in tried if one.wrong] == []
    assert count_read(tried) > 0.6 * sum(one.nothing is None for one in tried)


def count_read(tried):
    return sum(bool(one.said) for one in tried if one.nothing is None)


@pytest.mark.long
def test_no_wrong_text_in_twenty_thousand_random_photographs():
    tried = many(try_random, [(SEED + 5, number, 1_000.0) for number in range(20_000)])
    print(f"\n{count_read(tried)} of 10,000 symbols were read")
    assert [one for one in tried if one.wrong] == []


@pytest.mark.long
def test_the_whole_envelope():
    jobs = [(SEED + 1, setting, kind, number) for setting in SETTINGS for kind in SYMBOLS for number in range(40)]
    tried = many(try_picture, jobs)
    show(tried)
    read, of = bound(tried)
    assert read >= 0.95 * of
    for setting, bar in BARS.items():
        for kind in SQUARES_AND_RECTANGLES:
            cell = [one for one in tried if (one.setting, one.kind) == (setting, kind)]
            assert count(cell, "scan") >= bar * len(cell), (setting, kind)


@pytest.mark.long
def test_decoys_with_a_perfect_fixed_pattern_say_nothing():
    said = many(try_decoy, [(SEED + 2, number) for number in range(20_000)])
    assert [one for one in said if one[1] is not None] == []
