"""Dots that the printer loses, and specks where none should be.

Each inked dot is lost with the probability p (share of dots lost, 0 to 0.5), each light dot is inked with the
probability q (share of specks, 0 to 0.2): the expected shares are p and q. How far losses come in pairs is not known
and is drawn anew for each print: a dot is hit with the probability h and takes the dot below it with the probability c,
even between 0 and 1, where 1 - (1 - h)(1 - c h) = p. Pairs hurt narrow bars more than single dots do.
Assumption: no larger clusters; specks are single dots.
"""

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


def damaged(inked: "NDArray[np.bool_]", *, lost: float, specks: float, rng: np.random.Generator) -> "NDArray[np.bool_]":
    """Return the dots with some lost and some added.

    Args:
        inked: which dots were to be inked, shape (rows, columns).
        lost: share of the inked dots that stay light.
        specks: share of the light dots that come out inked.
        rng: where the randomness comes from.
    """
    pairs = max(0.01, float(rng.random()))
    hit_share = (1.0 + pairs - np.sqrt((1.0 + pairs) ** 2 - 4.0 * pairs * lost)) / (2.0 * pairs)
    hit = rng.random(inked.shape, dtype=np.float32) < hit_share
    taken = hit & (rng.random(inked.shape, dtype=np.float32) < pairs)
    gone = hit.copy()
    gone[1:] |= taken[:-1]
    added = rng.random(inked.shape, dtype=np.float32) < specks
    damage: NDArray[np.bool_] = (inked & ~gone) | (~inked & added)
    return damage
