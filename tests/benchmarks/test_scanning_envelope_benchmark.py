"""The failing envelope: how much of it is read bare, by a scan, and by the sampler that is told where the modules lie.

The last is the bound of what finding the place better could bring. Nothing here says what a real camera does.
"""

from concurrent.futures import ProcessPoolExecutor

import pytest
from envelope_pictures import SETTINGS, SYMBOLS
from envelope_trial import WAYS, count, table, try_decoy, try_picture

SEED = 8101
FEW = (
    "usual", "px/module 1.75", "off-axis 40", "diameter 6", "tilt 40", "blur 0.6", "motion 2", "glare 0.1", "noise 50",
    "gain 0.1", "combined 2", "shadow 0.85",
)  # fmt: skip


def show(tried):
    print("", *table(tried), sep="\n")
    for way in WAYS:
        wrong = [f"{one.setting}, {one.kind}" for one in tried if getattr(one, way) is None]
        assert not wrong, (way, wrong)


def test_the_envelope_read_in_three_ways():
    kinds = ("DM20", "DM12x36", "QR2")
    tried = [try_picture((SEED, setting, kind, 0)) for setting in FEW for kind in kinds]
    show(tried)
    # The sampler is worth its place only if it reads what the bare reader loses: about a third against nearly all.
    assert count(tried, "told") > 2 * count(tried, "bare")
    assert count(tried, "told") >= count(tried, "scan")


@pytest.mark.long
def test_the_whole_envelope():
    jobs = [(SEED + 1, setting, kind, number) for setting in SETTINGS for kind in SYMBOLS for number in range(40)]
    with ProcessPoolExecutor(2) as pool:
        show(list(pool.map(try_picture, jobs, chunksize=40)))


@pytest.mark.long
def test_decoys_with_a_perfect_fixed_pattern_say_nothing():
    with ProcessPoolExecutor(2) as pool:
        said = list(pool.map(try_decoy, [(SEED + 2, number) for number in range(20_000)], chunksize=50))
    assert [one for one in said if one[1] is not None] == []
