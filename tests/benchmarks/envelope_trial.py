"""One photograph of the failing envelope, read in several ways.

Bare (zxing-cpp alone), by libdmtx, by a scan, and by the sampler that is told the place.
"""

import math
import time
from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import date

import numpy as np
from envelope_pictures import SETTINGS, SYMBOLS, decoy, shape_of, shoot, symbol_of
from libdmtx_reader import is_read_by_libdmtx

from tracelabels.scanning import Picture, ScanMode, scan_picture
from tracelabels.scanning.guards import as_candidate, find_refusal
from tracelabels.scanning.sampling import read_sampled
from tracelabels.symbols import PRINTED, read_symbols

TODAY = date(2026, 11, 28)
BUDGET_MS = 1_000.0  # the default, of processor time: other work on the machine must not decide what is read
WAYS = ("bare", "libdmtx", "scan", "told")
SQUARES_AND_RECTANGLES = ("DM14", "DM18", "DM20", "DM22", "DM8x32", "DM12x26", "DM12x36", "DM16x36")
BARS = {
    "px/module 2": 1.0,
    "blur 0.6": 1.0,
    "tilt 45": 0.95,
    "off-axis 40": 0.95,
    "dead lines 3": 1.0,
    "glare 0.1": 0.9,
}  # what a Data Matrix is to be read in


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """What several ways made of one photograph: True read, False not read, None another text."""

    setting: str
    kind: str
    bare: bool | None
    libdmtx: bool  # reads Data Matrix alone
    scan: bool | None
    told: bool | None
    how: str  # the attempt that read it, "unread" if none did
    bare_ms: float
    scan_ms: float


def believed(reading):
    """Say whether the guards let a deep reading pass."""
    return find_refusal(as_candidate(reading, deep=True, today=TODAY), ScanMode.OWN) is None


def read_told(shot):
    """Return what the sampler says that is told where the symbol truly is, or None."""
    reading = read_sampled(shot.grey, shape_of(shot.symbol), shot.view.place, accepts=believed)
    return None if reading is None else reading.text


def try_picture(job):
    """Return what came of one photograph; job is (seed, setting, kind, number)."""
    seed, setting, kind, number = job
    rng = np.random.default_rng([seed, list(SETTINGS).index(setting), SYMBOLS.index(kind), number])
    shot = shoot(symbol_of(kind, int(rng.integers(9000))), kind, SETTINGS[setting], rng)
    wanted = shot.symbol.payload.text
    start = time.process_time()
    bare = {one.text for one in read_symbols(shot.grey, kinds=PRINTED)}
    middle = time.process_time()
    picture = Picture(grey=shot.grey, name="envelope", page=1)
    scan = scan_picture(picture, today=TODAY, budget_ms=BUDGET_MS, clock=time.process_time)
    end = time.process_time()
    told = read_told(shot)
    return Tried(
        setting=setting,
        kind=kind,
        bare=_outcome(bare, wanted),
        libdmtx=kind.startswith("DM") and is_read_by_libdmtx(shot.grey, wanted),
        scan=_outcome({one.text for one in scan.readings}, wanted),
        told=_outcome(set() if told is None else {told}, wanted),
        how=scan.readings[0].how if scan.readings else "unread",
        bare_ms=1000.0 * (middle - start),
        scan_ms=1000.0 * (end - middle),
    )


def _outcome(texts, wanted):
    return None if texts - {wanted} else wanted in texts


def try_decoy(job):
    """Return what the sampler read from random modules in a perfect fixed pattern, or from a scrambled symbol.

    Args:
        job: (seed, number).

    Returns:
        The kind, and a wrong text or None.
    """
    rng = np.random.default_rng([*job, 5])
    kind = SYMBOLS[job[1] % len(SYMBOLS)]
    setting = list(SETTINGS)[rng.integers(len(SETTINGS))]
    symbol = symbol_of(kind, int(rng.integers(9000)))
    modules = decoy(symbol, rng, turned=0.5 if rng.random() < 0.5 else rng.uniform(0.2, 0.5))
    shot = shoot(symbol, kind, SETTINGS[setting], rng, modules=modules)
    text = read_told(shot)
    return kind, None if text == symbol.payload.text else text


def many(work, jobs):
    """Return what each job comes to, two at a time."""
    with ProcessPoolExecutor(2) as pool:
        return list(pool.map(work, jobs, chunksize=10))


def wilson(read, of):
    """Return the interval of 95 % for a share (E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209)."""
    z, share = 1.96, read / of
    middle = (share + z * z / (2 * of)) / (1 + z * z / of)
    half = z / (1 + z * z / of) * math.sqrt(share * (1 - share) / of + z * z / (4 * of * of))
    return middle - half, middle + half


def table(tried):
    """Return lines: for each setting and kind the shares read in each way, and the intervals of their totals."""
    cells = defaultdict(list)
    for one in tried:
        cells[one.setting, one.kind].append(one)
    kinds = [kind for kind in SYMBOLS if any(kind == key[1] for key in cells)]
    yield f"% {' / '.join(WAYS)}, and of all the intervals of 95 %"
    yield " " * 16 + "".join(f"{kind:>24}" for kind in kinds)
    for setting in dict.fromkeys(key[0] for key in cells):
        shown = "".join(f"{_shares(cells[setting, kind]):>24}" for kind in kinds)
        yield f"{setting:16}{shown}   {_intervals([one for one in tried if one.setting == setting])}"
    shown = "".join(f"{_shares([one for one in tried if one.kind == kind]):>24}" for kind in kinds)
    yield f"{'all':16}{shown}   {_intervals(tried)}"


def yields(tried):
    """Return lines: for each attempt how many it read, and what a scan that ended there cost against bare reading."""
    bare = np.median([one.bare_ms for one in tried])
    yield f"bare reading: {bare:.1f} ms of processor time a picture, median"
    ways = defaultdict(list)
    for one in tried:
        ways[one.how].append(one.scan_ms)
    for how, costs in sorted(ways.items(), key=lambda way: np.median(way[1])):
        middle, high = np.percentile(costs, (50, 95))
        yield f"{how:34}{len(costs):6}  {middle / bare:7.1f} x bare, 95th percentile {high / bare:7.1f} x"


def bound(tried):
    """Return how many of what the told sampler reads a scan reads, and of how many, without cells of under half."""
    cells = defaultdict(list)
    for one in tried:
        cells[one.setting, one.kind].append(one)
    counted = [one for cell in cells.values() if 2 * count(cell, "told") >= len(cell) for one in cell if one.told]
    return count(counted, "scan"), len(counted)


def _shares(tried):
    return " / ".join(f"{100 * count(tried, way) / len(tried):.0f}" for way in WAYS) if tried else "-"


def _intervals(tried):
    bounds = (wilson(count(tried, way), len(tried)) for way in WAYS)
    return ", ".join(f"{100 * low:.0f} to {100 * high:.0f}" for low, high in bounds)


def count(tried, way):
    return sum(getattr(one, way) is True for one in tried)
