"""When enough trials were made to tell a label that hardly ever stays unread from one that does so now and then.

Wald's sequential probability ratio test: of n trials k stay unread; the evidence is the logarithm of how much likelier
that is if 3 % of all trials stay unread than if 1 % do,

    k ln(0.03 / 0.01) + (n - k) ln(0.97 / 0.99).

At ln 9 or more the label is called one that does, at -ln 9 or less one that does not, each wrongly once in ten times at
most; in between another trial is made. Of a label that always reads that takes 108 trials. Where no more trials can be
afforded, the sign decides (up to 1.8 % unread is good enough). The two shares were tuned on simulated labels.
Source: A. Wald, Sequential tests of statistical hypotheses, Ann. Math. Stat. 16 (1945) 117-186.
Assumption: trials are independent of each other.
"""

import math
from typing import Final

GOOD_SHARE: Final = 0.01
"""Of a good label no more than so large a share of trials stays unread."""
BAD_SHARE: Final = 0.03
"""A label of which so large a share stays unread is not good."""
RISK: Final = 0.1
"""How often either may be taken for the other."""

_MISS: Final = math.log(BAD_SHARE / GOOD_SHARE)
_READ: Final = math.log((1.0 - BAD_SHARE) / (1.0 - GOOD_SHARE))
_ENOUGH: Final = math.log((1.0 - RISK) / RISK)


def evidence(misses: int, trials: int) -> float:
    """Return the evidence against a label: above 0 it is rather bad, below 0 rather good."""
    return misses * _MISS + (trials - misses) * _READ


def is_settled(misses: int, trials: int) -> bool:
    """Say whether no further trial is needed."""
    return abs(evidence(misses, trials)) >= _ENOUGH
