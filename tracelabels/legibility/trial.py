"""One trial: does the plain reader still say the right text in a simulated photograph? And many trials at once."""

from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from tracelabels.legibility.simulation.optics import Spot
from tracelabels.legibility.snapshot import photograph_symbol
from tracelabels.symbols import read_symbols

if TYPE_CHECKING:
    from tracelabels.legibility.condition import Condition
    from tracelabels.legibility.specimen import Specimen


class Outcome(StrEnum):
    """How one trial ended."""

    READ = "read"
    UNREAD = "unread"
    WRONG = "wrong"
    """The reader said another text; counts as failed and is told apart."""


def try_reading(
    specimen: "Specimen", condition: "Condition", rng: np.random.Generator, *, spot: Spot = Spot.BELL
) -> Outcome:
    """Take one simulated photograph and read it with the plain reader (default effort, this kind alone)."""
    photo = photograph_symbol(specimen, condition, rng, spot=spot)
    readings = read_symbols(photo, kinds=frozenset({specimen.symbology}))
    texts = {reading.text for reading in readings}
    if texts - {specimen.text}:
        return Outcome.WRONG
    return Outcome.READ if texts else Outcome.UNREAD


def chance(seed: int, *place: int) -> np.random.Generator:
    """Return the generator of one trial, whatever the order in which trials are made."""
    return np.random.default_rng([seed, *place])
