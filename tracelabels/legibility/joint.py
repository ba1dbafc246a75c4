"""How often a label reads when all factors vary at once within the envelope, with a confidence interval.

Each trial draws every factor evenly between its usual value and its limit, all independent of each other. A second,
*strained* sample draws the same, makes each factor worse by up to a share of its safety, and lets every other picture
be out of focus with a disc instead of a bell; whoever calls a label good asks that sample to read as well, because the
simulated press and camera are not the real ones.
"""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from tracelabels.legibility.simulation.optics import Spot
from tracelabels.legibility.trial import Outcome, chance, try_reading

if TYPE_CHECKING:
    import numpy as np

    from tracelabels.legibility.condition import Condition
    from tracelabels.legibility.envelope import Envelope
    from tracelabels.legibility.specimen import Specimen

SAFETY: Final = 0.5
"""The share of each factor's safety that a strained trial uses at most; tuned on simulated labels."""
_PLAIN, _STRAINED = 1, 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """The outcome of a sample over the envelope; simulated."""

    read: int
    """Trials that read the right text."""
    wrong: int
    """Trials that read another text."""
    trials: int
    """All trials."""
    share: float
    """Share read."""
    low: float
    """Lower end of the 95 % interval (Wilson)."""
    high: float
    """Upper end."""


def wilson_interval(read: int, trials: int, *, z: float = 1.959964) -> tuple[float, float]:
    """Return the Wilson score interval of a share.

    (p + z^2 / 2n -+ z sqrt(p (1 - p) / n + z^2 / 4n^2)) / (1 + z^2 / n). Source: E. B. Wilson, Probable inference, the
    law of succession, and statistical inference, J. Am. Stat. Assoc. 22 (1927) 209-212.

    Args:
        read: successes.
        trials: all, at least 1.
        z: of the normal distribution; 1.96 for 95 %.
    """
    share, spread = read / trials, z * z / trials
    middle = share + spread / 2.0
    half = z * math.sqrt(share * (1.0 - share) / trials + spread / (4.0 * trials))
    return max(0.0, (middle - half) / (1.0 + spread)), min(1.0, (middle + half) / (1.0 + spread))


def joint_of(outcomes: "list[Outcome]") -> Joint:
    """Return the count of outcomes, at least one, with its interval."""
    read = outcomes.count(Outcome.READ)
    low, high = wilson_interval(read, len(outcomes))
    return Joint(
        read=read,
        wrong=outcomes.count(Outcome.WRONG),
        trials=len(outcomes),
        share=read / len(outcomes),
        low=low,
        high=high,
    )


def plain_trial(specimen: "Specimen", envelope: "Envelope", seed: int, number: int) -> Outcome:
    """Return the outcome of one trial of the sample over the envelope."""
    rng = chance(seed, _PLAIN, number)
    return try_reading(specimen, _drawn(envelope, rng), rng)


def strained_trial(specimen: "Specimen", envelope: "Envelope", seed: int, number: int) -> Outcome:
    """Return the outcome of one trial with every factor made worse, and every other one with a disc out of focus."""
    rng = chance(seed, _STRAINED, number)
    condition = strained(_drawn(envelope, rng), rng)
    return try_reading(specimen, condition, rng, spot=Spot.DISC if number % 2 else Spot.BELL)


def strained(condition: "Condition", rng: "np.random.Generator") -> "Condition":
    """Return a condition with each factor made worse by an even share of its safety."""
    return condition.worsened(lambda factor, value: SAFETY * float(rng.random()) * factor.strain(value))


def _drawn(envelope: "Envelope", rng: "np.random.Generator") -> "Condition":
    return envelope.sample(lambda _: float(rng.random()))
