"""Photographs that a scan does not read, each for one cause alone: a label is strained step by step until it fails.

The label and its strains are those of the envelope; benches without a code and codes of others are added here.
"""

import time
from dataclasses import dataclass, field, replace
from datetime import date

import cv2
import numpy as np
import segno
from envelope_pictures import USUAL, on_bench, symbol_of

from tracelabels.scanning import Picture, scan_picture

TODAY = date(2026, 11, 28)
KINDS = ("DM14", "DM18", "DM20", "DM22", "DM8x32", "DM12x26", "DM12x36", "DM16x36", "MQR4", "QR2")
FLAT = replace(USUAL, diameter=None)
STEPS = 8


def _steps(key, start, end, *, of=USUAL, **more):  # noqa: ANN003  further fields of a strain
    """Return strains from the first to the last value, the next tried where the one before is read."""
    return tuple(replace(of, **more, **{key: float(value)}) for value in np.linspace(start, end, STEPS))


STRAINS = {
    "too far": _steps("px_per_module", 1.7, 1.0),
    "out of focus": _steps("blur", 0.7, 1.2),
    "moved": _steps("motion", 2.2, 5.0),
    "glare": _steps("glare", 0.2, 0.6),
    "too dark": (*_steps("exposure", 0.1, 0.02), *(replace(USUAL, exposure=share) for share in (0.01, 0.005))),
    "too pale": _steps("ink", 0.76, 0.82),
    "in shadow": _steps("shadow", 0.9, 0.985),
    "too steep": _steps("tilt", 68.0, 80.0, of=FLAT),
    "bent away": _steps("off_axis", 50.0, 75.0),
    "out of the picture": _steps("outside", 0.3, 0.6),
    "half covered": _steps("covered", 0.35, 0.6),
    "damaged": tuple(replace(USUAL, dead_lines=count) for count in (10, 14, 18, 22, 26, 30, 36, 44, 60, 80)),
}
"""By cause; each list of strains grows."""
CAUSES = (*STRAINS, "no code", "not ours")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Unread:
    """A photograph that was not read, and the scan that says so."""

    cause: str
    grey: np.ndarray = field(repr=False)
    scan: object
    strain: object
    kind: str
    corners: np.ndarray | None  # of the code, in pixels


def scanned(grey):
    """Scan with the usual budget, in processor time: a busy machine changes nothing."""
    return scan_picture(Picture(grey=grey, name="unread", page=1), today=TODAY, clock=time.process_time)


def unread(cause, seed, number):
    """Return a photograph that fails for this cause alone, or None if the last strain is still read."""
    rng = np.random.default_rng([seed, CAUSES.index(cause), number])
    if cause in {"no code", "not ours"}:
        grey = (_without_code if cause == "no code" else _foreign)(rng)
        return Unread(cause=cause, grey=grey, scan=scanned(grey), strain=None, kind="", corners=None)
    kind = KINDS[int(rng.integers(len(KINDS)))]
    symbol = symbol_of(kind, int(rng.integers(9000)))
    px, chance = rng.uniform(3.5, 7.0), int(rng.integers(1 << 30))
    for strain in STRAINS[cause]:
        here = strain if cause == "too far" else replace(strain, px_per_module=px)
        shot = on_bench(symbol, kind, here, np.random.default_rng(chance))
        scan = scanned(shot.grey)
        if not scan.readings:
            rows, columns = symbol.modules.shape
            corners = shot.view.place(np.array([[0, 0], [columns, 0], [columns, rows], [0, rows]]))
            return Unread(cause=cause, grey=shot.grey, scan=scan, strain=here, kind=kind, corners=corners)
    return None


def _without_code(rng):
    """Return a bench with what lies about: a label of words alone, a ruler, an empty tube."""
    light = np.full((420, 560), rng.integers(70, 130), np.uint8)
    x, y = (int(value) for value in rng.uniform(60, 140, 2))
    if rng.random() < 0.7:
        light[y : y + 130, x : x + 280] = 225
        for row in range(int(rng.integers(2, 6))):
            words = "".join(rng.choice(list("ABCDEFGHKLMN 0123456789"), 16))
            at = (x + 12, y + 28 + 22 * row)
            cv2.putText(light, words, at, cv2.FONT_HERSHEY_SIMPLEX, rng.uniform(0.5, 0.7), 18, 2, cv2.LINE_AA)
    if rng.random() < 0.5:
        light[300:340, 40:520] = 200
        for mark in range(50, 510, 8):
            light[300 : 322 if mark % 40 == 10 else 312, mark : mark + 2] = 30
    if rng.random() < 0.5:
        cv2.line(light, (450, 40), (480, 260), 180, 50, cv2.LINE_AA)
    light = cv2.GaussianBlur(light.astype(np.float32), (0, 0), rng.uniform(0.7, 1.5))
    return np.clip(light + rng.normal(0, 4, light.shape) + 0.5, 0, 255).astype(np.uint8)


def _foreign(rng):
    """Return a bench with a QR code that a shop might print."""
    made = segno.make(f"https://example.org/menu/{int(rng.integers(1000))}", error="m", boost_error=False)
    modules = np.array([[bool(cell) for cell in row] for row in made.matrix])
    px = int(rng.integers(4, 7))
    print_ = np.where(np.kron(np.pad(modules, 4), np.ones((px, px))), 18.0, 225.0)
    light = np.full((420, 560), rng.uniform(70, 130), np.float32)
    x, y = (int(value) for value in rng.uniform(20, 120, 2))
    light[y : y + len(print_), x : x + len(print_)] = print_
    angle = rng.uniform(-20, 20)
    turn = cv2.getRotationMatrix2D((280, 210), angle, 1.0)
    light = cv2.warpAffine(light, turn, light.shape[::-1], borderMode=cv2.BORDER_REPLICATE)
    light = cv2.GaussianBlur(light, (0, 0), 0.8)
    return np.clip(light + rng.normal(0, 4, light.shape) + 0.5, 0, 255).astype(np.uint8)
