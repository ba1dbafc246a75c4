"""Codewords from what was seen, and how many may be missing.

A missing codeword costs one check word, a wrong one two. With as many missing as there are check words every reading
is "valid", so what is accepted is capped by chance: of n words, c of them check words, drawn at random, with e missing
and t to be corrected besides, a share of about (n - e over t) 255^(t + e - c) passes. :func:`is_allowed` accepts no
more than :data:`FALSE_CHANCE`.
"""

from dataclasses import dataclass
from math import comb
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.symbols import Symbology
from tracelabels.symbols.codewords import find_codeword_map, unused_error_correction

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from tracelabels.symbols import DataMatrixShape
    from tracelabels.symbols.codewords import CodewordMap

FALSE_CHANCE: Final = 1e-8
"""Highest chance that random words pass one attempt; a hopeless patch sees up to ten maps with some 400 attempts each,
and what passes must still be a payload that is printed here."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Corrected:
    """A valid symbol near to what was seen."""

    modules: "NDArray[np.bool_]"
    """Shape (rows, columns)."""
    unused: float
    """Share of the error correction that was left over."""


def is_allowed(total: int, check: int, *, missing: int, wrong: int) -> bool:
    """Say whether a correction is surer than chance.

    Args:
        total: codewords of the symbol.
        check: check words among them.
        missing: codewords that nobody saw.
        wrong: codewords that were corrected besides.
    """
    spare = check - missing - wrong
    return spare > wrong and comb(total - missing, wrong) * 255.0**-spare <= FALSE_CHANCE


def most_erasures(shape: "DataMatrixShape") -> int:
    """Return how many codewords of a Data Matrix may be missing if none is wrong."""
    total, check = shape.data_codewords + shape.error_codewords, shape.error_codewords
    allowed = (missing for missing in range(check, 0, -1) if is_allowed(total, check, missing=missing, wrong=0))
    return next(allowed, 0)


def corrections(
    dark: "NDArray[np.bool_]",
    confidence: "NDArray[np.float64]",
    hidden: "tuple[NDArray[np.bool_], ...]",
    shape: "DataMatrixShape",
) -> "Iterator[Corrected]":
    """Yield valid symbols near to what was seen, each way of choosing the missing codewords in turn.

    Args:
        dark: modules as seen, shape (rows, columns), like the others.
        confidence: of each module.
        hidden: modules that may be hidden, the narrowest choice first.
        shape: the Data Matrix; those of several blocks (from 52x52 on) are left alone.
    """
    codewords = find_codeword_map(Symbology.DATA_MATRIX, shape.value)
    if codewords is None or codewords.block.any():
        return
    for missing in _choices(codewords, confidence, hidden, most_erasures(shape)):
        corrected = _find_corrected(codewords, dark, missing)
        if corrected is not None:
            yield corrected


def _choices(
    codewords: "CodewordMap",
    confidence: "NDArray[np.float64]",
    hidden: "tuple[NDArray[np.bool_], ...]",
    most: int,
) -> "Iterator[tuple[int, ...]]":
    """Yield the codewords to do without: those hidden, then those and the least sure besides."""
    sureness = codewords.least_per_codeword(confidence)
    tried = {()}
    for modules in hidden:
        lost = codewords.codewords_with(modules)
        order = np.lexsort((sureness, ~lost)).tolist()
        count = int(lost.sum())
        for number in (count, (count + most) // 2, most):
            chosen = tuple(sorted(order[:number]))
            if number <= most and count <= most and chosen not in tried:
                tried.add(chosen)
                yield chosen


def _find_corrected(codewords: "CodewordMap", dark: "NDArray[np.bool_]", missing: tuple[int, ...]) -> Corrected | None:
    words, check, total = codewords.words(dark), codewords.check, len(codewords.block)
    found = codewords.code.find_corrected(words.tolist(), check, erased=missing)
    if found is None:
        return None
    changed = np.flatnonzero(words != np.array(found, dtype=np.uint8))
    wrong = len(set(changed.tolist()) - set(missing))
    if not is_allowed(total, check, missing=len(missing), wrong=wrong):
        return None
    unused = unused_error_correction(errors=wrong, erasures=len(missing), capacity=check)
    return Corrected(modules=codewords.laid(np.array(found, dtype=np.uint8), dark), unused=unused)
