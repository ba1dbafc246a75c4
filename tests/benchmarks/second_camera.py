"""A second simulator of press, tube and camera, written apart from the package's own, which it does not import.

It takes the same physical parameters and gets to a picture another way: ink spreads by a blurred edge and a threshold
instead of a distance; the print's points are thrown forward on the sensor instead of lines of sight being followed
back; defocus is always a disc (there a bell, in every other strained trial a disc); light grows evenly instead of
geometrically; the highlight is a bell instead of a plateau; noise grows with the light; exposure follows a percentile;
Pillow compresses instead of OpenCV.
"""

import io
import math

import cv2
import numpy as np
from PIL import Image

POINTS = 0.5  # pixels of the picture from one point of the print to the next
LENS = 180.0


def photograph(subject, condition, rng):
    """Return a grey picture of the subject's symbol, shape (height, width)."""
    dots, outline = _part(subject)
    levels, pitch = _print(_faults(dots, outline, condition, rng), subject.dot, condition, rng)
    scene, corners = _thrown(levels, pitch, subject, outline, condition, rng)
    lit = _lit(scene, corners, subject, condition, rng)
    lit = cv2.filter2D(lit, -1, _disc(2.0 * condition.defocus), borderType=cv2.BORDER_REFLECT)
    smear = _streak(condition.motion * condition.px_per_mm, rng.uniform(0, math.pi))
    lit = cv2.filter2D(lit, -1, smear, borderType=cv2.BORDER_REFLECT)
    spread = condition.noise * np.sqrt(0.4 + 0.6 * np.clip(lit, 0, 255) / 128.0)
    grey = np.clip(lit + spread * rng.normal(size=lit.shape) + 0.5, 0, 255).astype(np.uint8)
    file = io.BytesIO()
    Image.fromarray(np.rot90(grey, rng.integers(4)).copy()).save(file, "JPEG", quality=int(condition.jpeg_quality))
    return np.asarray(Image.open(file))


def _part(subject):
    """Return the dots around the symbol, and the symbol's outline in them."""
    code = subject.code
    rows, columns = code.modules.shape
    linear = code.symbology == "code_128"
    width, height = code.x * columns, code.y * rows
    if linear and columns == 1:
        width, height = code.y, code.x * rows
    rim = int({"data_matrix": 3, "qr": 6, "code_128": 12}[code.symbology] * code.x)
    left, top = int(code.left), int(code.top)
    dots = subject.picture < 128
    dots = np.pad(dots, rim)[top : top + int(height) + 2 * rim, left : left + int(width) + 2 * rim]
    return dots, (rim, rim, rim + int(width), rim + int(height))


def _faults(dots, outline, condition, rng):
    left, top, right, bottom = outline
    dots = dots.copy()
    ink = dots.sum()
    for _ in range(rng.poisson(ink * condition.lost_dots / 1.4)):  # four of ten take a neighbour with them
        y, x = rng.integers(dots.shape[0]), rng.integers(dots.shape[1])
        while not dots[y, x] and dots.any():
            y, x = rng.integers(dots.shape[0]), rng.integers(dots.shape[1])
        dots[y, x] = False
        if rng.random() < 0.4:
            dots[min(y + 1, dots.shape[0] - 1), x] = False
    light = np.argwhere(~dots)
    for y, x in light[rng.integers(len(light), size=rng.poisson(len(light) * condition.specks))]:
        dots[y, x] = True
    for _ in range(int(condition.dead_lines)):
        if rng.random() < 0.5:
            dots[rng.integers(top, bottom)] = False
        else:
            dots[:, rng.integers(left, right)] = False
    return dots


def _print(dots, dot, condition, rng):
    split = max(2, math.ceil(dot * condition.px_per_mm / POINTS))
    pitch = dot / split
    fine = cv2.resize(dots.astype(np.float32), None, fx=split, fy=split, interpolation=cv2.INTER_NEAREST)
    if condition.wrinkle > 0:
        slope = math.tan(math.radians(rng.uniform(20, 70))) * rng.choice([-1, 1])
        y, x = np.mgrid[0 : fine.shape[0], 0 : fine.shape[1]]
        middle = rng.uniform(0.25, 0.75, 2) * fine.shape
        away = np.abs((y - middle[0]) - slope * (x - middle[1])) / math.hypot(1, slope)
        fine[away < condition.wrinkle / pitch / 2] = 0
    # A straight edge blurred by a bell of width s crosses the level P(-g / s) exactly g outside where it was.
    bell = max(0.012, condition.dot_gain / 1.5)
    soft = cv2.GaussianBlur(fine, (0, 0), bell / pitch)
    level = 0.5 * math.erfc(condition.dot_gain / bell / math.sqrt(2))
    ink = (soft > level).astype(np.float32)
    levels = condition.stock + (condition.ink - condition.stock) * ink
    levels += 0.01 * cv2.resize(rng.normal(size=dots.shape).astype(np.float32), fine.shape[::-1])
    if condition.blotches > 0:
        field = cv2.GaussianBlur(rng.normal(size=dots.shape).astype(np.float32), (0, 0), 0.5 / dot)
        stain = cv2.resize((field > np.quantile(field, 1 - condition.blotches)).astype(np.float32), fine.shape[::-1])
        levels *= 1 - 0.35 * stain
    return levels.astype(np.float32), pitch


def _lifted(u, v, subject, condition, signs, phase):
    """Return the places of points of the label (mm from its middle) and how much they face the camera."""
    if subject.tube_diameter is None:
        wave = 2 * math.pi / 12.0 * (u * math.cos(phase[0]) + v * math.sin(phase[0])) + phase[1]
        z = condition.buckle * np.cos(wave)
        swing = math.radians(condition.off_axis) * signs[0]
        return u * math.cos(swing) + z * math.sin(swing), v, z * math.cos(swing) - u * math.sin(swing), np.ones_like(u)
    radius = subject.tube_diameter / 2
    around, along = (u, v) if subject.axis == "height" else (v, u)
    angle = around / radius + signs[0] * math.radians(condition.off_axis)
    x, z = radius * np.sin(angle), radius * np.cos(angle) - radius
    return (x, along, z, np.cos(angle)) if subject.axis == "height" else (along, x, z, np.cos(angle))


def _thrown(levels, pitch, subject, outline, condition, rng):
    """Return the light on each pixel before lamps, and the symbol's corners; the print is thrown on it in points."""
    signs, phase = rng.choice([-1, 1], 3), rng.uniform(0, 2 * math.pi, 2)
    rows, columns = levels.shape
    v, u = np.mgrid[0:rows, 0:columns].astype(np.float32).reshape(2, -1)
    u = (u + np.float32(0.5 - columns / 2)) * np.float32(pitch)
    v = (v + np.float32(0.5 - rows / 2)) * np.float32(pitch)
    left, top, right, bottom = (side * subject.dot for side in outline)
    cu = np.array([left, right, right, left]) - columns * pitch / 2
    cv_ = np.array([top, top, bottom, bottom]) - rows * pitch / 2
    u, v = np.append(u, cu).astype(np.float32), np.append(v, cv_).astype(np.float32)
    x, y, z, facing = _lifted(u, v, subject, condition, signs, phase)
    lean, turn = math.radians(condition.tilt) * signs[1], math.radians(condition.turn) * signs[2]
    if subject.tube_diameter is not None and subject.axis == "width":
        x, z = x * math.cos(lean) - z * math.sin(lean), z * math.cos(lean) + x * math.sin(lean)
    else:
        y, z = y * math.cos(lean) - z * math.sin(lean), z * math.cos(lean) + y * math.sin(lean)
    x, y = x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn)
    scale = condition.px_per_mm * LENS / (LENS - z)
    x, y = x * scale, y * scale
    x, y = x - x.min() + 4 + rng.random(), y - y.min() + 4 + rng.random()
    shape = (int(y.max()) + 6, int(x.max()) + 6)
    seen = facing[:-4] > 0.02
    shade = levels.ravel() * (0.6 + 0.4 * np.clip(facing[:-4], 0, 1))
    place = y[:-4].astype(np.int32) * shape[1] + x[:-4].astype(np.int32)  # a pixel gathers what falls on its square
    weight = np.bincount(place, seen, shape[0] * shape[1])
    light = np.bincount(place, seen * shade, shape[0] * shape[1])
    full = 1.0 / (pitch * condition.px_per_mm) ** 2
    covered = np.clip(weight / full, 0, 1)
    colour = np.where(weight > 0, light / np.maximum(weight, 1e-9), 0)
    whole = np.minimum(covered * 4, 1)
    scene = whole * colour + (1 - whole) * (0.2 if subject.tube_diameter is not None else condition.stock)
    return scene.reshape(shape), np.stack([x[-4:], y[-4:]], axis=1)


def _lit(scene, corners, subject, condition, rng):
    height, width = scene.shape
    y, x = np.mgrid[0:height, 0:width]
    middle, size = corners.mean(axis=0), math.hypot(height, width)
    angle = rng.uniform(0, 2 * math.pi)
    along = ((x - middle[0]) * math.cos(angle) + (y - middle[1]) * math.sin(angle)) / size
    slope = 2 * (condition.light_ratio - 1) / (condition.light_ratio + 1)
    light = scene * np.clip(1 + slope * along, 0.05, None)
    weights = rng.dirichlet(np.ones(4))
    place = weights @ corners
    if condition.shadow > 0:
        angle = rng.uniform(0, 2 * math.pi)
        away = (x - place[0]) * math.cos(angle) + (y - place[1]) * math.sin(angle)
        light *= 1 - condition.shadow * np.clip(away / (0.15 * min(height, width)) + 0.5, 0, 1)
    light *= 228.0 / np.percentile(light, 98)
    if condition.glare > 0:
        light += _glare(x, y, corners, subject, condition, rng)
    return light.astype(np.float32)


def _glare(x, y, corners, subject, condition, rng):
    """Return a highlight whose half-filled ellipse has the share of the symbol's area."""
    sides = np.diff(np.vstack([corners, corners[:1]]), axis=0)
    area = condition.glare * abs(np.cross(sides[0], sides[3]))
    place = rng.dirichlet(np.ones(4)) @ corners
    angle, long = rng.uniform(0, math.pi), 1.4
    if subject.tube_diameter is not None:
        way = sides[3] if subject.axis == "height" else sides[0]
        angle, long = math.atan2(way[1], way[0]), 3.5
    short = math.sqrt(area / math.pi / long)
    a = ((x - place[0]) * math.cos(angle) + (y - place[1]) * math.sin(angle)) / (short * long)
    b = (-(x - place[0]) * math.sin(angle) + (y - place[1]) * math.cos(angle)) / short
    return 255.0 * 2.0 * np.exp(-math.log(4.0) * (a * a + b * b))


def _disc(radius):
    if radius < 0.3:
        return np.ones((1, 1), np.float32)
    reach = math.ceil(radius)
    fine = (np.arange((2 * reach + 1) * 9) - (2 * reach + 1) * 4.5 + 0.5) / 9
    inside = (fine[:, None] ** 2 + fine[None] ** 2 <= radius * radius).astype(np.float32)
    kernel = inside.reshape(2 * reach + 1, 9, 2 * reach + 1, 9).sum(axis=(1, 3))
    return kernel / kernel.sum()


def _streak(length, angle):
    if length < 0.1:
        return np.ones((1, 1), np.float32)
    size = 2 * math.ceil(length / 2) + 3
    big = np.zeros((size * 8, size * 8), np.float32)
    way = 4.0 * length * np.array([math.cos(angle), math.sin(angle)])
    start, end = size * 4 - way, size * 4 + way
    cv2.line(big, tuple(int(v) for v in np.rint(start)), tuple(int(v) for v in np.rint(end)), 1.0, 8)
    kernel = cv2.resize(big, (size, size), interpolation=cv2.INTER_AREA)
    return kernel / kernel.sum()
