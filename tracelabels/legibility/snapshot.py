"""A simulated photograph of one symbol: printed, aged, laid on its surface, lit, and taken.

Only the symbol with its quiet zone and a rim is simulated, in grey, a few milliseconds each; what lies beyond the
label's edge is plastic of middle grey, what lies beyond the tube is dark. The camera, 150 mm away, exposes so that the
brightest stock that it could see comes out at 235 of 255. Everything here is simulated; no real printer and camera were
compared with it.
"""

from dataclasses import replace
from typing import TYPE_CHECKING

import cv2
import numpy as np

from tracelabels.legibility.simulation.ageing import blotched, reflectance
from tracelabels.legibility.simulation.dot_gain import spread
from tracelabels.legibility.simulation.dots import damaged
from tracelabels.legibility.simulation.film import Film
from tracelabels.legibility.simulation.glare import Highlight, added
from tracelabels.legibility.simulation.light import shading, uneven
from tracelabels.legibility.simulation.motion import moved
from tracelabels.legibility.simulation.optics import Spot, spotted
from tracelabels.legibility.simulation.ribbon import with_dead_lines, with_wrinkle
from tracelabels.legibility.simulation.sensor import compressed_grey, digitised, noisy_grey
from tracelabels.legibility.simulation.shadow_edge import shaded
from tracelabels.legibility.simulation.surfaces import Cylinder, Flat
from tracelabels.legibility.simulation.view import Pinhole, Pose
from tracelabels.symbols import TubeAxis

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tracelabels.legibility.condition import Condition
    from tracelabels.legibility.specimen import Specimen

_FULL = 235.0
_PLASTIC = 0.5
_DARK = 0.15
_DISTANCE_MM = 150.0
_FINE_MM = 0.03
_RIM_PX = 8  # a photograph goes on beyond the label: cut at 4 pixels, a large symbol went unread for the cut alone
_COARSEST = 1.5
_NET_MM = 0.15
_SAMPLES = 3
_PENUMBRA = 0.1


def photograph_symbol(
    specimen: "Specimen", condition: "Condition", rng: np.random.Generator, *, spot: Spot = Spot.BELL
) -> "NDArray[np.uint8]":
    """Return a simulated photograph of the symbol, shape (height, width), grey.

    Args:
        specimen: the symbol.
        condition: what it is printed and photographed under.
        rng: a fresh generator; the same seed gives the same picture.
        spot: what a point of light becomes out of focus.
    """
    # A generator for each stage: one more draw in one of them must not change what happens in the others.
    press, age, view, light, sensor = rng.spawn(5)
    ink, scale = _printed(specimen, condition, press)
    scene, corners = _viewed(_aged(ink, scale, specimen, condition, age), scale, specimen, condition, view)
    height, width = scene.shape
    glare = added(height, width, _highlight(corners, specimen, condition, light))
    lit = scene * _light(height, width, corners, condition, light)
    lit *= np.float32(_FULL / (condition.stock * condition.light_ratio**0.5))
    lit += np.float32(255.0) * glare
    blurred = moved(lit, condition.motion * condition.px_per_mm, sensor.uniform(0.0, 180.0))
    quarters = int(sensor.integers(4))
    grey = digitised(noisy_grey(spotted(blurred, condition.defocus, spot), condition.noise, sensor))
    return compressed_grey(np.ascontiguousarray(np.rot90(grey, quarters)), int(condition.jpeg_quality))


def _printed(
    specimen: "Specimen", condition: "Condition", rng: np.random.Generator
) -> "tuple[NDArray[np.float32], float]":
    """Return the share of ink of each pixel of the printed symbol, and its pixels per mm."""
    damage, heads, folds = rng.spawn(3)
    dots = damaged(specimen.inked, lost=condition.lost_dots, specks=condition.specks, rng=damage)
    dots = with_dead_lines(dots, count=int(condition.dead_lines), box=specimen.box, rng=heads)
    split = max(2, round(specimen.dot / _FINE_MM))
    pixel = specimen.dot / split
    left, top, right, bottom = (side * split for side in specimen.box)
    fine = dots.repeat(split, axis=0).repeat(split, axis=1)
    fine = with_wrinkle(fine, width=condition.wrinkle / pixel, box=(left, top, right, bottom), rng=folds)
    return spread(fine, condition.dot_gain, pixel), 1.0 / pixel


def _aged(
    ink: "NDArray[np.float32]",
    scale: float,
    specimen: "Specimen",
    condition: "Condition",
    rng: np.random.Generator,
) -> "NDArray[np.float32]":
    """Return the reflectance of the symbol after the steriliser; beyond the label's edge that of plastic."""
    levels = reflectance(ink, stock=condition.stock, ink_reflectance=condition.ink)
    levels = blotched(levels, share=condition.blotches, px_per_mm=scale, rng=rng)
    if not specimen.paper.all():
        split = levels.shape[0] // specimen.paper.shape[0]
        levels[~specimen.paper.repeat(split, axis=0).repeat(split, axis=1)] = _PLASTIC
    return levels


def _surface(specimen: "Specimen", condition: "Condition", rng: np.random.Generator) -> Flat | Cylinder | Film:
    """Return what the label sticks to, its direction left to chance."""
    side = float(rng.choice([-1.0, 1.0]))
    direction, phase = rng.uniform(0.0, 180.0), rng.uniform(0.0, 360.0)
    if specimen.tube_diameter is not None:
        return Cylinder(diameter=specimen.tube_diameter, axis=specimen.axis, off_axis=side * condition.off_axis)
    if condition.buckle > 0.0:
        return Film(height=condition.buckle, direction=direction, phase=phase)
    return Flat()


def _view(specimen: "Specimen", condition: "Condition", rng: np.random.Generator) -> Pinhole:
    """Return the camera before its picture is cut: the tilt along the tube, the swing of a flat label alone.

    The turn is the camera's, after both, as :class:`Condition` says: a label turned on the bench and then leaning shows
    its right angles skewed, by more than ten degrees at strong lean.
    """
    signs, turn = rng.choice([-1.0, 1.0], size=2), float(rng.choice([-1.0, 1.0])) * condition.turn
    lean = float(signs[0]) * condition.tilt
    swing = 0.0 if specimen.tube_diameter is not None else float(signs[1]) * condition.off_axis
    upright = specimen.axis is TubeAxis.HEIGHT
    nearer = (_DISTANCE_MM - (specimen.tube_diameter or 0.0)) / _DISTANCE_MM
    return Pinhole(
        width=0,
        height=0,
        px_per_mm=condition.px_per_mm * nearer,
        distance=_DISTANCE_MM,
        tilt=lean if upright else swing,
        swing=swing if upright else lean,
        roll=turn,
    )


def _viewed(
    levels: "NDArray[np.float32]", scale: float, specimen: "Specimen", condition: "Condition", rng: np.random.Generator
) -> "tuple[NDArray[np.float32], NDArray[np.float64]]":
    """Return the light that comes back along each pixel's line of sight, and the symbol's corners in the picture."""
    surface, pinhole = _surface(specimen, condition, rng), _view(specimen, condition, rng)
    x, y = rng.uniform(0.0, 1.0 / condition.px_per_mm, size=2)
    pose = Pose(x=x, y=y, turn=0.0)
    points = _outline(levels.shape, scale, specimen)
    seen = pinhole.project(surface.lift(points) + np.array([x, y, 0.0]))
    low, high = np.floor(seen.min(axis=0)).astype(int) - _RIM_PX, np.ceil(seen.max(axis=0)).astype(int) + _RIM_PX
    box = (int(low[0]), int(low[1]), int(high[0]), int(high[1]))
    samples = int(np.clip(np.ceil(scale / condition.px_per_mm / _COARSEST), 1, _SAMPLES))
    u, v, shade = _met(pinhole, pose, surface, box, samples)
    found = _sampled(levels, scale, (u, v), reach=scale / (condition.px_per_mm * samples), beyond=condition.stock)
    light = np.where(shade > 0.0, found * shade, np.float32(_DARK))
    size = (box[2] - box[0], box[3] - box[1])
    scene = np.asarray(cv2.resize(light, size, interpolation=cv2.INTER_AREA), dtype=np.float32)
    return scene, seen[-4:] - low


def _met(
    pinhole: Pinhole, pose: Pose, surface: Flat | Cylinder | Film, box: tuple[int, int, int, int], samples: int
) -> "tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.float32]]":
    """Return label coordinates and shading (0 where nothing is met) of a box of pixels, ``samples`` along each side.

    Lines of sight are followed every ``_NET_MM`` on the label and what they meet is interpolated in between: on a tube
    of 10 mm, up to 50 degrees away from facing the camera, that moves a point by less than 2 micrometres.
    """
    cell = max(1, int(_NET_MM * pinhole.px_per_mm))
    left, top, right, bottom = box
    net = (left // cell - 1, top // cell - 1, -(-right // cell) + 1, -(-bottom // cell) + 1)
    meeting = surface.meet(replace(pinhole, px_per_mm=pinhole.px_per_mm / cell).rays(net, 1).moved(pose))
    fine = cell * samples
    x, y = left * samples - net[0] * fine, top * samples - net[1] * fine
    size = ((net[2] - net[0]) * fine, (net[3] - net[1]) * fine)

    def between(values: "NDArray[np.float32]") -> "NDArray[np.float32]":
        large = cv2.resize(values, size, interpolation=cv2.INTER_LINEAR)
        part = large[y : y + (bottom - top) * samples, x : x + (right - left) * samples]
        return np.asarray(part, dtype=np.float32)

    shade = between(shading(meeting.normal))
    seen = between(meeting.met.astype(np.float32)) > 0.5  # noqa: PLR2004  one half
    return between(meeting.u), between(meeting.v), shade * seen


def _outline(shape: tuple[int, ...], scale: float, specimen: "Specimen") -> "NDArray[np.float64]":
    """Return points (u, v), mm from the middle: a grid over the printed part, then the symbol's four corners."""
    height, width = (side / scale for side in shape)
    grid = np.stack(np.meshgrid(np.linspace(-0.5, 0.5, 5) * width, np.linspace(-0.5, 0.5, 5) * height), axis=-1)
    left, top, right, bottom = specimen.box
    corners = np.array([(left, top), (right, top), (right, bottom), (left, bottom)], dtype=np.float64)
    centred = corners * specimen.dot - np.array([width, height]) / 2.0
    return np.concatenate([grid.reshape(-1, 2), centred])


def _sampled(
    levels: "NDArray[np.float32]",
    scale: float,
    places: "tuple[NDArray[np.float32], NDArray[np.float32]]",
    *,
    reach: float,
    beyond: float,
) -> "NDArray[np.float32]":
    """Return the print where the lines of sight meet it.

    Args:
        levels: reflectance of the print, its middle at the label coordinates (0, 0).
        scale: pixels of the print per mm.
        places: label coordinates u and v.
        reach: pixels of the print between two lines of sight: so much of it is averaged.
        beyond: reflectance beyond the print.
    """
    rows, columns = levels.shape
    across = places[0] * np.float32(scale) + np.float32(columns / 2.0 - 0.5)
    down = places[1] * np.float32(scale) + np.float32(rows / 2.0 - 0.5)
    wide = round(reach)
    smooth = cv2.blur(levels, (wide, wide)) if wide > 1 else levels
    sampled = cv2.remap(smooth, across, down, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=beyond)
    return np.asarray(sampled, dtype=np.float32)


def _light(
    height: int, width: int, corners: "NDArray[np.float64]", condition: "Condition", rng: np.random.Generator
) -> "NDArray[np.float32]":
    """Return the light on each pixel: uneven, and with a hard shadow through the symbol."""
    brighter, shadow = (float(angle) for angle in rng.uniform(0.0, 360.0, size=2))
    through = _place(corners, rng)
    short = float(min(np.hypot(*(corners[1] - corners[0])), np.hypot(*(corners[3] - corners[0]))))
    light = uneven(height, width, ratio=condition.light_ratio, direction=brighter, vignette=0.0)
    penumbra = max(1.0, short * _PENUMBRA)
    return light * shaded(height, width, depth=condition.shadow, through=through, direction=shadow, penumbra=penumbra)


def _highlight(
    corners: "NDArray[np.float64]", specimen: "Specimen", condition: "Condition", rng: np.random.Generator
) -> Highlight:
    """Return the glare: along the tube's axis, or in any direction on a flat label."""
    x, y = _place(corners, rng)
    direction = float(rng.uniform(0.0, 180.0))
    if specimen.tube_diameter is not None:
        way = corners[3] - corners[0] if specimen.axis is TubeAxis.HEIGHT else corners[1] - corners[0]
        direction = float(np.degrees(np.arctan2(-way[1], way[0])))
    return Highlight(
        x=x,
        y=y,
        area=condition.glare * _area(corners),
        elongation=1.5 if specimen.tube_diameter is None else 3.0,
        direction=direction,
    )


def _place(corners: "NDArray[np.float64]", rng: np.random.Generator) -> tuple[float, float]:
    """Return a random point of the symbol in the picture, bilinear between its corners."""
    across, down = rng.uniform(0.0, 1.0, size=2)
    upper, lower = corners[0] + across * (corners[1] - corners[0]), corners[3] + across * (corners[2] - corners[3])
    x, y = upper + down * (lower - upper)
    return float(x), float(y)


def _area(corners: "NDArray[np.float64]") -> float:
    """Return the area of a quadrangle, square pixels (the shoelace formula)."""
    x, y = corners.T
    return float(abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2.0)
