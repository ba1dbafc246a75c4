"""Dots that the printer loses, and specks where none should be.

Each inked dot is lost with the probability p (share of dots lost, 0 to 0.5), each light dot is inked with the
probability q (share of specks, 0 to 0.2), all independent of each other: the expected shares are p and q.
Assumption: single dots; real voids and specks also come in clusters, which hurt less for the same share.
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


def damaged(
    inked: "NDArray[np.bool_]", *, lost: float, specks: float, rng: "np.random.Generator"
) -> "NDArray[np.bool_]":
    """Return the dots with some lost and some added.

    Args:
        inked: which dots were to be inked, shape (rows, columns).
        lost: share of the inked dots that stay light.
        specks: share of the light dots that come out inked.
        rng: where the randomness comes from.
    """
    chance = rng.random(inked.shape, dtype="float32")
    damage: NDArray[np.bool_] = (inked & (chance >= lost)) | (~inked & (chance < specks))
    return damage
