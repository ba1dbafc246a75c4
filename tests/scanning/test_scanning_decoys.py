"""Own labels are never read wrongly: scrambled symbols and symbols with perfect finders and random cells.

Two thousand random photographs, half of nothing that may be read, are tried by the envelope's benchmark.
"""

import cv2
import numpy as np

from tracelabels.scanning import ScanMode
from tracelabels.symbols import Symbology

KINDS = (Symbology.DATA_MATRIX, Symbology.QR, Symbology.DATA_MATRIX, Symbology.CODE_128)


def scrambled(modules, symbology, share, rng):
    """A symbol with a share of its cells turned over; the fixed pattern of a matrix symbol stays whole."""
    free = np.ones(modules.shape, dtype=bool)
    if symbology is Symbology.DATA_MATRIX:
        free[:, [0, -1]] = free[[0, -1], :] = False
    elif symbology is Symbology.QR:
        free[:9, :9] = free[:9, -8:] = free[-8:, :9] = False
        free[6, :] = free[:, 6] = False
    return modules ^ (free & (rng.random(modules.shape) < share))


def trial(number, seed, payload, symbol_of, drawn, scan):
    """Scan one decoy; return what was read and the text that may be read."""
    rng = np.random.default_rng([seed, number])
    symbology = KINDS[number % len(KINDS)]
    symbol = symbol_of(payload(number), symbology)
    share = float(rng.choice([0.01, 0.02, 0.1, 0.3, 0.5]))
    grey = drawn(scrambled(symbol.modules, symbology, share, rng), px=int(rng.integers(2, 7)), margin=10, dark=30)
    angle = float(rng.uniform(-30, 30))
    middle = (grey.shape[1] / 2, grey.shape[0] / 2)
    grey = cv2.warpAffine(grey, cv2.getRotationMatrix2D(middle, angle, 0.9), grey.shape[::-1], borderValue=255)
    grey = cv2.GaussianBlur(grey, (0, 0), float(rng.uniform(0.3, 1.2)))
    noisy = np.clip(grey + rng.normal(0, 4, grey.shape), 0, 255).astype(np.uint8)
    return [reading.text for reading in scan(noisy, budget_ms=300.0).readings], symbol.payload.text


def wrong_texts(count, seed, *fixtures):  # noqa: ANN002  the fixtures of the caller
    outcomes = [trial(number, seed, *fixtures) for number in range(count)]
    wrong = [(texts, true) for texts, true in outcomes if any(text != true for text in texts)]
    right = sum(bool(texts) for texts, _ in outcomes)
    return wrong, right


def test_no_wrong_text(payload, symbol_of, drawn, scan):
    wrong, right = wrong_texts(80, 1, payload, symbol_of, drawn, scan)
    assert wrong == []
    assert right >= 8  # the lightly scrambled ones are repaired, so the trial does read


def test_random_cells_in_any_code_mode_say_nothing(payload, symbol_of, drawn, scan):
    rng = np.random.default_rng(11)
    for number in range(20):
        symbol = symbol_of(payload(number))
        decoy = scrambled(symbol.modules, Symbology.DATA_MATRIX, 0.5, rng)
        assert scan(drawn(decoy, margin=8), mode=ScanMode.ANY, budget_ms=400.0).readings == ()
