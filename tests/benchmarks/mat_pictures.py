"""Photographs of a whole tube on a dark, rough mat, made apart from the envelope's pictures and from the package.

Words stand two modules beside the symbol, the label ends close to it, rectangles lie along the tube. Lines of sight are
followed from a distant camera to the cylinder or the plane; defocus is a disc or a bell, the phone sharpens what its
filter against noise has left, and JPEG comes last.
"""

import math
from dataclasses import dataclass

import cv2
import numpy as np
from envelope_pictures import symbol_of

DOTS = 10  # of the print, a module
QUIET = 2  # modules
STOCK, INK, TUBE = 235, 35, 170.0
FAR = 6.0  # the camera's focal length, in longer sides of the picture


@dataclass(frozen=True, slots=True, kw_only=True)
class Take:
    """How a photograph is taken; lengths in modules, angles in degrees."""

    diameter: float | None = 40.0
    px: float = 4.0
    tilt: float = 0.0
    off_axis: float = 0.0
    blur: float = 0.2
    is_bell: bool = False
    motion: float = 0.0
    noise: float = 4.0
    sharpened: float = 0.6
    shadow: bool = False
    quality: int = 85
    size: tuple[int, int] = (480, 640)


def _label(kind, number, rng):
    """Return the label's levels and where in it the symbol's middle lies, in modules (x, y)."""
    modules = symbol_of(kind, number).modules
    rows, columns = modules.shape
    height = rows + 2 * QUIET + int(rng.choice([2, 10]))
    width = columns + 2 * QUIET + int(rng.integers(2, 30))
    print_ = np.full((height * DOTS, width * DOTS), STOCK, np.uint8)
    top = (height - rows) // 2
    dark = np.kron(modules, np.ones((DOTS, DOTS))) > 0
    print_[top * DOTS : (top + rows) * DOTS, QUIET * DOTS : (QUIET + columns) * DOTS][dark] = INK
    for line in range(3):
        at = ((columns + 2 * QUIET) * DOTS, (line + 1) * height * DOTS // 4)
        text = f"LOT B{rng.integers(9999):04d} EXP 2027-08"
        cv2.putText(print_, text, at, cv2.FONT_HERSHEY_PLAIN, 0.28 * DOTS, 30, 2, cv2.LINE_AA)
    return print_.astype(np.float32), (QUIET + columns / 2, top + rows / 2), columns > 1.3 * rows


def _sight(take, roll, aside):
    """Return the camera's place and the direction of each pixel, before the tube is turned below it."""
    height, width = take.size
    focal = FAR * max(take.size)
    down, right = np.mgrid[0:height, 0:width].astype(np.float64)
    across, along = (right - width / 2 - aside[0]) / focal, (down - height / 2 - aside[1]) / focal
    c, s = math.cos(roll), math.sin(roll)
    ways = np.stack([c * across + s * along, c * along - s * across, np.ones_like(across)], -1)
    c, s = math.cos(math.radians(take.tilt)), math.sin(math.radians(take.tilt))
    tilted = np.array([[1.0, 0.0, 0.0], [0.0, c, -s], [0.0, s, c]])
    return tilted @ np.array([0.0, 0.0, -focal / take.px]), ways @ tilted.T


def _met(take, start, ways):
    """Return where lines of sight meet the label's surface: round it, along it, how squarely, and whether at all."""
    aside = math.radians(take.off_axis)
    c, s = math.cos(aside), math.sin(aside)
    if take.diameter is None:
        turned = np.array([[c, 0.0, s], [0.0, 1.0, 0.0], [-s, 0.0, c]])
        start, ways = turned @ start, ways @ turned.T
        far = -start[2] / ways[..., 2]
        flat = np.ones(far.shape)
        return start[0] + far * ways[..., 0], start[1] + far * ways[..., 1], flat, flat > 0
    radius = take.diameter / 2
    x, z = start[0] + radius * s, start[2] - radius * c
    square = ways[..., 0] ** 2 + ways[..., 2] ** 2
    half = ways[..., 0] * x + ways[..., 2] * z
    inner = half**2 - square * (x * x + z * z - radius**2)
    far = (-half - np.sqrt(np.maximum(inner, 0.0))) / square
    right, deep = x + far * ways[..., 0], z + far * ways[..., 2]
    facing = -(right * ways[..., 0] + deep * ways[..., 2]) / (radius * np.linalg.norm(ways, axis=-1))
    round_ = (np.arctan2(right, -deep) - aside) * radius
    return round_, start[1] + far * ways[..., 1], np.clip(facing, 0.0, 1.0), inner > 0


def _seen(kind, number, take, rng):
    print_, middle, is_wide = _label(kind, number, rng)
    aside = rng.uniform(-0.15, 0.15, 2) * take.size[::-1]
    round_, along, facing, is_tube = _met(take, *_sight(take, rng.uniform(0, 2 * math.pi), aside))
    if is_wide:  # a rectangle's long side lies along the tube
        round_, along = -along, round_
    x, y = ((one + at) * DOTS for one, at in zip((round_, along), middle, strict=True))
    smooth = cv2.GaussianBlur(print_, (0, 0), 0.4 * DOTS / take.px)
    levels = cv2.remap(smooth, x.astype(np.float32), y.astype(np.float32), cv2.INTER_LINEAR)
    on_label = (x >= 0) & (x < print_.shape[1]) & (y >= 0) & (y < print_.shape[0])
    rough = rng.normal(90, 25, (take.size[0] // 8 + 1, take.size[1] // 8 + 1)).astype(np.float32)
    mat = cv2.resize(rough, take.size[::-1], interpolation=cv2.INTER_CUBIC)
    seen = np.where(is_tube, np.where(on_label, levels, TUBE), mat) * (0.45 + 0.55 * facing)
    if take.shadow:
        down, right = np.mgrid[0 : take.size[0], 0 : take.size[1]]
        seen *= np.where(0.54 * right + 0.84 * down < rng.uniform(0.3, 0.7) * take.size[1], 0.4, 1.0)
    return seen


def _sensed(seen, take, rng):
    """Return the grey levels that a phone keeps."""
    sigma = take.blur * take.px
    if take.is_bell:
        seen = cv2.GaussianBlur(seen, (0, 0), sigma)
    else:
        reach = math.ceil(2 * sigma)
        down, right = np.mgrid[-reach : reach + 1, -reach : reach + 1]
        disc = (np.hypot(down, right) <= 2 * sigma).astype(np.float64)
        seen = cv2.filter2D(seen, -1, disc / disc.sum())
    length = round(take.motion * take.px) | 1
    streak = np.zeros((length, length), np.float32)
    streak[length // 2] = 1
    turn = cv2.getRotationMatrix2D(((length - 1) / 2,) * 2, float(rng.uniform(0, 180)), 1)
    streak = cv2.warpAffine(streak, turn, (length, length))
    seen = cv2.filter2D(seen, -1, streak / streak.sum())
    seen = seen + take.noise * np.sqrt(np.clip(seen, 1, 255) / 128) * rng.normal(size=seen.shape)
    calm = cv2.bilateralFilter(seen.astype(np.float32), 5, 25, 1.5)
    sharp = calm + take.sharpened * (calm - cv2.GaussianBlur(calm, (0, 0), 1.5))
    grey = np.clip(255 * np.clip(sharp / 255, 0, 1) ** 0.9, 0, 255).astype(np.uint8)
    return cv2.imdecode(cv2.imencode(".jpg", grey, [cv2.IMWRITE_JPEG_QUALITY, take.quality])[1], cv2.IMREAD_GRAYSCALE)


def photographed_on_mat(kind, number, take, rng):
    """Return the grey picture, shape of the take's size, of the label with that symbol and number."""
    return _sensed(_seen(kind, number, take, rng), take, rng)
