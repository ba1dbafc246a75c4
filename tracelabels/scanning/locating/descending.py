"""Maps settled by least squares: Gauss and Newton's steps on the levels at points of a pattern.

Contrast and brightness are fitted along; points that do not fit (dirt, glare, a dead line) count less (Cauchy's
weight). The third order is held small, since a tube bends a symbol by a few tenths of a module at most in that order,
and the corners are held near the outline where the pattern itself says nothing about them.
"""

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.scanning.locating.agreement import sampled_together
from tracelabels.scanning.locating.surface import BOWS, CROSS, TERMS, THIRD, node_powers
from tracelabels.scanning.locating.window import SHARP
from tracelabels.scanning.sampling.sharpening import Blur

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tracelabels.scanning.locating.pattern_points import PatternPoints
    from tracelabels.scanning.locating.window import Slopes

PATTERN_SOFTENED: Final = 0.3
FITTED_SOFTENED: Final = 0.2
"""Modules: how soft the pattern is drawn, and how soft the picture is made that it is fitted to."""
_LEAST_SHARPENED: Final = 0.35
_STIFF: Final = 0.5
_SUPPLE: Final = 0.06
"""Of the mean curvature: how strongly the third order is held at nothing."""
_SECOND: Final = 0.003
_ANCHOR: Final = 0.004
"""The same for the outline's nodes."""
_CAUTION: Final = 0.03
"""The same for each step (Levenberg and Marquardt)."""
_ODD: Final = 0.8
"""Of the contrast: a point that is off by this counts half."""
_SETTLED: Final = 0.02
"""Modules; a step is never longer than one module."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Looks:
    """How a photograph may have treated a print; all in modules."""

    blur: Blur = SHARP
    """What is undone first."""
    spread: float = 0.0
    """By how much dark modules have grown on each side."""

    def undone(self, side: float) -> Blur:
        """Return the blur in pixels, for modules of that side."""
        return self.blur.in_pixels(side)

    def told_apart(self, side: float) -> Blur:
        """Return the blur, in pixels, that is undone before modules are told apart, whatever fits the pattern best."""
        blur = self.blur if self.blur.streak else Blur(bell=max(self.blur.bell, _LEAST_SHARPENED))
        return blur.in_pixels(side)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Settled:
    """Surfaces after the descent."""

    surfaces: "NDArray[np.float64]"
    """Shape (n, 10, 2)."""
    fits: "NDArray[np.float64]"
    """Correlation of levels and pattern, shape (n,)."""


def settle(
    slopes: "Slopes",
    surfaces: "NDArray[np.float64]",
    points: "PatternPoints",
    *,
    side: float,
    rounds: int,
    stiff: bool,
    outline: "NDArray[np.float64] | None" = None,
) -> Settled:
    """Return each surface where the picture fits the pattern best, near to where it was.

    Args:
        slopes: the picture, as soft as the pattern's points.
        surfaces: shape (n, 10, 2).
        points: of the pattern.
        side: of a module, in pixels.
        rounds: most steps.
        stiff: whether the third order is held fast.
        outline: surface whose nodes hold the corners; None lets them go.
    """
    share = points.weights / points.weights.sum()
    pattern = points.levels - points.levels @ share
    power = float((pattern * share) @ pattern)
    best, fits = surfaces, np.full(len(surfaces), -1.0)
    for number in range(rounds + 1):
        levels, *changes = sampled_together(slopes.pictures, points.places.powers, surfaces)
        levels -= (levels @ share)[:, np.newaxis]
        contrast = ((levels @ (pattern * share)) / power)[:, np.newaxis]
        fit = contrast[:, 0] * np.sqrt(power / ((levels**2) @ share + 1e-9))
        best, fits = np.where((fit > fits)[:, np.newaxis, np.newaxis], surfaces, best), np.maximum(fit, fits)
        if number == rounds:
            break
        contrast = np.maximum(contrast, 1.0)
        missed = contrast * pattern - levels
        equations = _curvature_and_pull(changes, missed, _ODD * contrast, points)
        surfaces = surfaces + (steps := _steps(*equations, surfaces, outline, longest=side, stiff=stiff))
        if np.abs(steps).sum(axis=1).max() < _SETTLED * side:
            break
    return Settled(surfaces=best, fits=fits)


def _curvature_and_pull(
    changes: "list[NDArray[np.float32]]",
    missed: "NDArray[np.float32]",
    odd: "NDArray[np.float32]",
    points: "PatternPoints",
) -> "tuple[NDArray[np.float64], NDArray[np.float64]]":
    """Return the normal equations for the terms of x, then of y, shapes (n, 20, 20) and (n, 20)."""
    across, down = changes
    places, weights = points.places, points.weights / (1.0 + (missed / odd) ** 2)
    across_weighted, down_weighted = weights * across, weights * down
    blocks = (across_weighted * across, across_weighted * down, down_weighted * down)
    xx, xy, yy = (np.reshape(one @ places.squares, (len(across), TERMS, TERMS)) for one in blocks)
    curvature = np.empty((len(across), 2 * TERMS, 2 * TERMS))
    curvature[:, :TERMS, :TERMS], curvature[:, TERMS:, TERMS:] = xx, yy
    curvature[:, :TERMS, TERMS:] = curvature[:, TERMS:, :TERMS] = xy
    pulls = [(one * missed) @ places.terms for one in (across_weighted, down_weighted)]
    return curvature, np.concatenate(pulls, axis=1).astype(np.float64)


def _steps(
    curvature: "NDArray[np.float64]",
    pull: "NDArray[np.float64]",
    surfaces: "NDArray[np.float64]",
    outline: "NDArray[np.float64] | None",
    *,
    longest: float,
    stiff: bool,
) -> "NDArray[np.float64]":
    """Return the step of each surface, shape (n, 10, 2), no point of it moved by more than ``longest`` pixels.

    Third order and bows are held at nothing, the nodes at the outline's, each step short.
    """
    mean = np.trace(curvature, axis1=1, axis2=2)[:, np.newaxis] / (2.0 * TERMS)
    flat = surfaces.transpose(0, 2, 1).reshape(len(surfaces), -1)
    held, anchored = _held(stiff=stiff), _anchored()
    pulled_to = -flat @ held
    if outline is not None:
        held = held + anchored
        pulled_to += (outline.T.ravel() - flat) @ anchored
    each = np.eye(2 * TERMS)
    curvature = curvature + mean[:, :, np.newaxis] * (held + _CAUTION * each) + 1e-3 * each
    solved = np.linalg.solve(curvature, (pull + mean * pulled_to)[:, :, np.newaxis])
    steps = solved.reshape(-1, 2, TERMS).transpose(0, 2, 1)
    reach = np.abs(steps).sum(axis=1).max(axis=1)
    return np.asarray(steps * np.minimum(1.0, longest / np.maximum(reach, 1e-6))[:, np.newaxis, np.newaxis])


@cache
def _held(*, stiff: bool) -> "NDArray[np.float64]":
    """Return how strongly each term is held at nothing, of the mean curvature, shape (20, 20)."""
    held = np.zeros(TERMS)
    held[list(THIRD)], held[[CROSS, *BOWS]] = (_STIFF if stiff else _SUPPLE), _SECOND
    return np.diag(np.tile(held, 2))


@cache
def _anchored() -> "NDArray[np.float64]":
    """Return how strongly the nodes are held at the outline's, shape (20, 20)."""
    nodes = node_powers()
    return np.asarray(_ANCHOR * np.kron(np.eye(2), nodes.T @ nodes))
