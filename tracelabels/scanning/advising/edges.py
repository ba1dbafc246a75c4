"""How far edges are spread, in each direction.

The steepest edges of a print are sharp in nature, so how steep they are in a photograph says how far lens and hand have
spread them: an edge of height *c* that a bell of deviation *s* has spread is c / (s sqrt(2 pi)) steep in its middle.
"""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_STEEPEST: Final = 97.0
"""Percentile of the slopes: a symbol of 5 pixels a module has an edge at every tenth pixel."""
_BELL: Final = math.sqrt(2.0 * math.pi)
_MOST: Final = 12.0
"""Samples: more is no edge."""
_EIGHTH: Final = 8
_CALM: Final = 0.7
"""Deviation in samples of the bell that noise is taken away with."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Of a patch's edges."""

    across: float
    """Deviation, in samples, of the bell that would spread edges so along the rows."""
    down: float
    """The same along the columns."""
    turned: float
    """Strength of slopes in the direction in which they are strongest, by that at right angles to it, once lengths are
    counted in modules: a square print that did not move has about 1."""

    @property
    def most(self) -> float:
        """Return the larger one."""
        return max(self.across, self.down)

    @property
    def least(self) -> float:
        """Return the smaller one."""
        return min(self.across, self.down)


def calmed(levels: "NDArray[np.float32]") -> "NDArray[np.float32]":
    """Return levels with little noise."""
    return np.asarray(cv2.GaussianBlur(levels, (0, 0), _CALM), dtype=np.float32)


def core(samples: "NDArray[np.float32]") -> "NDArray[np.float32]":
    """Return what lies inside the outermost eighths."""
    height, width = samples.shape
    return samples[height // _EIGHTH : height - height // _EIGHTH, width // _EIGHTH : width - width // _EIGHTH]


def edge_spread(calm: "NDArray[np.float32]", contrast: float, module: tuple[float, float]) -> Spread:
    """Measure the spread of edges.

    Args:
        calm: levels of the patch.
        contrast: between dark and light.
        module: samples a module along rows and along columns.
    """
    slopes = [core(np.asarray(cv2.Scharr(calm, cv2.CV_32F, *way) / 32.0, dtype=np.float32)) for way in ((1, 0), (0, 1))]
    across, down = (
        min(_MOST, max(contrast, 1.0) / (_BELL * max(float(np.percentile(np.abs(slope), _STEEPEST)), 1e-3)))
        for slope in slopes
    )
    right, below = (slope * side for slope, side in zip(slopes, module, strict=True))
    both = float((right * below).mean())
    powers = np.linalg.eigvalsh([[float((right**2).mean()), both], [both, float((below**2).mean())]])
    return Spread(across=across, down=down, turned=float(powers[1] / max(float(powers[0]), 1e-6)))
