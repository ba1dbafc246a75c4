"""One photograph of the failing envelope, read in three ways: bare, by a scan, by a sampler that knows the place."""

import math
from collections import defaultdict
from dataclasses import dataclass
from datetime import date

import numpy as np
from envelope_pictures import SETTINGS, SYMBOLS, decoy, shape_of, shoot, symbol_of

from tracelabels.scanning import Picture, ScanMode, scan_picture
from tracelabels.scanning.guards import as_candidate, find_refusal
from tracelabels.scanning.sampling import read_sampled
from tracelabels.symbols import PRINTED, read_symbols

TODAY = date(2026, 11, 28)
WAYS = ("bare", "scan", "told")


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """What three ways made of one photograph: True read, False not read, None another text."""

    setting: str
    kind: str
    bare: bool | None
    scan: bool | None
    told: bool | None


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
    scan = scan_picture(Picture(grey=shot.grey, name="envelope", page=1), today=TODAY)
    told = read_told(shot)
    return Tried(
        setting=setting,
        kind=kind,
        bare=_outcome({one.text for one in read_symbols(shot.grey, kinds=PRINTED)}, wanted),
        scan=_outcome({one.text for one in scan.readings}, wanted),
        told=_outcome(set() if told is None else {told}, wanted),
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


def wilson(read, of):
    """Return the interval of 95 % for a share (E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209)."""
    z, share = 1.96, read / of
    middle = (share + z * z / (2 * of)) / (1 + z * z / of)
    half = z / (1 + z * z / of) * math.sqrt(share * (1 - share) / of + z * z / (4 * of * of))
    return middle - half, middle + half


def table(tried):
    """Return lines: for each setting and kind the shares read in the three ways, and the intervals of their totals."""
    cells = defaultdict(list)
    for one in tried:
        cells[one.setting, one.kind].append(one)
    kinds = [kind for kind in SYMBOLS if any(kind == key[1] for key in cells)]
    yield f"{'% ' + ' / '.join(WAYS):16}" + "".join(f"{kind:>17}" for kind in kinds) + "   all: intervals of 95 %"
    for setting in dict.fromkeys(key[0] for key in cells):
        shown = "".join(f"{_shares(cells[setting, kind]):>17}" for kind in kinds)
        yield f"{setting:16}{shown}   {_intervals([one for one in tried if one.setting == setting])}"
    shown = "".join(f"{_shares([one for one in tried if one.kind == kind]):>17}" for kind in kinds)
    yield f"{'all':16}{shown}   {_intervals(tried)}"


def _shares(tried):
    return " / ".join(f"{100 * count(tried, way) / len(tried):.0f}" for way in WAYS) if tried else "-"


def _intervals(tried):
    bounds = (wilson(count(tried, way), len(tried)) for way in WAYS)
    return ", ".join(f"{100 * low:.0f} to {100 * high:.0f}" for low, high in bounds)


def count(tried, way):
    return sum(getattr(one, way) is True for one in tried)
