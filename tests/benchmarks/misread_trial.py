"""Random photographs, half of them of nothing that may be read: what a scan for own labels says of each."""

import time
from dataclasses import dataclass, replace

import numpy as np
import zxingcpp
from envelope_pictures import SETTINGS, SYMBOLS, USUAL, decoy, shoot, symbol_of
from envelope_trial import TODAY

from tracelabels.scanning import Picture, scan_picture

NOTHINGS = ("decoy", "random", "scrambled", "foreign", "words", "empty")
FOREIGN = ("Aztec", "PDF417", "EAN13", "ITF", "Code39", "DataBar")
STRAINS = {
    "px_per_module": (1.5, 8.0),
    "tilt": (0.0, 55.0),
    "off_axis": (0.0, 45.0),
    "blur": (0.15, 0.7),
    "glare": (0.02, 0.2),
    "noise": (2.0, 40.0),
    "gain": (-0.02, 0.1),
    "motion": (0.0, 2.0),
    "shadow": (0.0, 0.85),
    "ink": (0.06, 0.75),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What came of one photograph."""

    nothing: str | None  # the kind of nothing, None for a symbol
    said: tuple[str, ...]
    wrong: bool
    how: str


def strain_of(rng):
    """Return a random strain: the usual case with up to three things made worse."""
    names = rng.choice(list(STRAINS), int(rng.integers(0, 4)), replace=False)
    return replace(USUAL, **{name: float(rng.uniform(*STRAINS[name])) for name in names.tolist()})


def foreign(rng):
    """Return the modules of a code that is not printed here."""
    kind = str(rng.choice(FOREIGN))
    digits = "".join(rng.choice(list("0123456789"), 12))
    text = {"EAN13": digits, "DataBar": "0" + digits, "ITF": digits}.get(kind, f"RX{digits}")
    image = np.array(zxingcpp.create_barcode(text, getattr(zxingcpp.BarcodeFormat, kind)).to_image(scale=1))
    rows = np.flatnonzero((image < 128).any(axis=1))
    columns = np.flatnonzero((image < 128).any(axis=0))
    modules = image[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1] < 128
    return modules[:: max(1, len(modules) // 24)] if kind not in {"Aztec", "PDF417"} else modules


def _modules(nothing, symbol, rng):
    match nothing:
        case None:
            return symbol.modules
        case "decoy":
            return decoy(symbol, rng, turned=0.5)
        case "random":
            return rng.random(symbol.modules.shape) < 0.5
        case "scrambled":
            return decoy(symbol, rng, turned=rng.uniform(0.3, 0.5))
        case "foreign":
            return foreign(rng)
    return np.zeros(symbol.modules.shape, bool)  # words stand round it, and none on an empty label


def try_random(job):
    """Return what a scan says of one photograph; job is (seed, number, milliseconds of a processor)."""
    seed, number, budget_ms = job
    rng = np.random.default_rng([seed, number, 6])
    nothing = NOTHINGS[number // 2 % len(NOTHINGS)] if number % 2 else None
    kind = SYMBOLS[int(rng.integers(len(SYMBOLS)))]
    symbol = symbol_of(kind, int(rng.integers(9000)))
    strain = SETTINGS[str(rng.choice(list(SETTINGS)))] if rng.random() < 0.5 else strain_of(rng)
    shot = shoot(symbol, kind, strain, rng, modules=_modules(nothing, symbol, rng))
    grey = shot.grey if nothing != "empty" else np.full_like(shot.grey, 190)
    picture = Picture(grey=grey, name="random", page=1)
    scan = scan_picture(picture, today=TODAY, budget_ms=budget_ms, clock=time.process_time)
    said = tuple(reading.text for reading in scan.readings)
    # A scrambled symbol may still be repaired; then it must say what it said.
    allowed = {symbol.payload.text} if nothing in {None, "scrambled"} else set()
    return Outcome(
        nothing=nothing,
        said=said,
        wrong=not set(said) <= allowed,
        how=scan.readings[0].how if said else "unread",
    )
