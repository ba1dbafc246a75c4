"""Which shape of Data Matrix a plain reader still reads on a tube: squares against rectangles along the axis.

Every symbol carries what the tool prints in it, in modules of one size, so that only the shape differs. Read bare, as
by any scanner: what the deeper attempts add stands in the benchmark of the envelope.
"""

from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace

import numpy as np
import pytest
from envelope_pictures import SETTINGS, USUAL, shoot, symbol_of
from envelope_trial import wilson

from tracelabels.symbols import PRINTED, read_symbols

SEED = 8301
PEERS = {"DM18": "DM12x26", "DM20": "DM12x36", "DM22": "DM16x36", "DM14": "DM8x32"}
"""Each square, and the rectangle that holds about as much: 18 and 16 codewords, 22 and 22, 30 and 32, 8 and 10."""
KINDS = (*PEERS, *PEERS.values())
STRAINS = {
    name: SETTINGS[name]
    for name in ("usual", "tilt 15", "tilt 30", "tilt 40", "off-axis 20", "off-axis 40", "diameter 8", "diameter 6")
} | {
    "8 mm, tilt 15": replace(USUAL, diameter=8, tilt=15),
    "8 mm, off-axis 20": replace(USUAL, diameter=8, off_axis=20),
    "tilt 15, off-axis 20": replace(USUAL, tilt=15, off_axis=20),
    "flat, tilt 30": replace(USUAL, diameter=None, tilt=30),
}


def read_one(job):
    """Say whether a photograph was read (None: as another text); job is (seed, name of the strain, kind, number)."""
    seed, strain, kind, number = job
    rng = np.random.default_rng([seed, list(STRAINS).index(strain), KINDS.index(kind), number])
    shot = shoot(symbol_of(kind, int(rng.integers(9000))), kind, STRAINS[strain], rng)
    texts = {one.text for one in read_symbols(shot.grey, kinds=PRINTED)}
    return None if texts - {shot.symbol.payload.text} else bool(texts)


def jobs(seed, strains, kinds, count):
    return [(seed, strain, kind, number) for strain in strains for kind in kinds for number in range(count)]


def table(said):
    """Return lines: for each strain and kind the share read and its interval of 95 %."""
    kinds = [kind for kind in KINDS if any(kind == job[2] for job in said)]
    yield f"{'% read':22}" + "".join(f"{kind:>14}" for kind in kinds)
    for strain in dict.fromkeys(job[1] for job in said):
        yield f"{strain:22}" + "".join(f"{_cell(said, strain, kind):>14}" for kind in kinds)


def _cell(said, strain, kind):
    cell = [one is True for job, one in said.items() if job[1:3] == (strain, kind)]
    low, high = wilson(sum(cell), len(cell))
    return f"{100 * sum(cell) / len(cell):.0f} ({100 * max(0, low):.0f}-{100 * high:.0f})"


def show(said):
    print("", *table(said), sep="\n")
    assert [job for job, one in said.items() if one is None] == []


def read(said, strain, kind):
    return sum(one is True for job, one in said.items() if job[1:3] == (strain, kind))


def test_a_rectangle_along_the_tube_is_read_where_the_square_is():
    tilted = ("tilt 15", "tilt 30")
    todo = jobs(SEED, tilted, KINDS, 6)
    said = dict(zip(todo, map(read_one, todo), strict=True))
    show(said)
    for strain in tilted:
        for square, rectangle in PEERS.items():
            assert read(said, strain, rectangle) >= read(said, strain, square), (strain, rectangle)
    # What decides for rectangles: a label's whole payload, tilted by 15 degrees.
    assert read(said, "tilt 15", "DM12x36") > read(said, "tilt 15", "DM20")
    assert read(said, "tilt 15", "DM16x36") > read(said, "tilt 15", "DM22")


@pytest.mark.long
def test_shapes_in_every_strain():
    todo = jobs(SEED + 1, STRAINS, KINDS, 60)
    with ProcessPoolExecutor(2) as pool:
        show(dict(zip(todo, pool.map(read_one, todo, chunksize=20), strict=True)))
