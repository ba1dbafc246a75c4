"""A photograph of twelve megapixels of a tray: forty labels, each in a random place and at any angle.

The fourth simulator, flat and plain, since what matters here is how much there is to look at: white labels with words
on a grey mat, a bell of 0.7 pixels, noise of 4 grey levels. A quarter each are Data Matrix of 20 and of 16 modules,
QR of version 2 and Code 128, as in an earlier study of the same kind.
"""

import math
from dataclasses import dataclass, field

import cv2
import numpy as np
from envelope_pictures import label_text, symbol_of

from tracelabels.symbols import DataMatrixShape, write_code_128, write_data_matrix

SIZE = (4000, 3000)  # pixels, width and height
KINDS = ("DM20", "DM16", "QR2", "C128")
FINE = 3  # points a pixel, along each side
BARS = 24  # modules, the height of a linear code
QUIET = {"C128": 10}  # modules; else
QUIET_SQUARE = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lying:
    """One label of a tray, and where it lies."""

    kind: str
    text: str
    print: np.ndarray = field(repr=False)  # dark points, at FINE times the pixels
    code: np.ndarray  # corners of the code in pixels of the upright label, clockwise
    centre: tuple[float, float]
    turn: float  # radians

    def placed(self, points):
        """Return where points of the upright label lie in the picture, in pixels (x, y)."""
        c, s = math.cos(self.turn), math.sin(self.turn)
        half = np.array(self.print.shape[::-1]) / (2 * FINE)
        return (np.asarray(points, float) - half) @ np.array([[c, s], [-s, c]]) + self.centre

    @property
    def corners(self):
        return self.placed(self.code)

    @property
    def middle(self):
        return self.corners.mean(axis=0)

    @property
    def reach(self):
        return math.hypot(*self.print.shape) / (2 * FINE)


def symbol_for(kind, number):
    if kind == "C128":
        return write_code_128(label_text("DM14", number))
    if kind == "DM16":
        return write_data_matrix(label_text("DM14", number), shape=DataMatrixShape("16x16"))
    return symbol_of(kind, number)


def lay(count, *, px, rng):
    """Return labels that do not touch, largest first so that all find room; px is pixels a module."""
    lying = []
    for number in sorted(range(count), key=lambda number: KINDS[number % 4] != "C128"):
        kind = KINDS[number % 4]
        symbol = symbol_for(kind, 100 + number)
        drawn, code = _printed(symbol.modules, kind, px, rng)
        one = None
        while one is None or any(_touch(one, other) for other in lying):
            room = math.hypot(*drawn.shape) / (2 * FINE) + 4
            centre = tuple(rng.uniform(room, side - room) for side in SIZE)
            one = Lying(
                kind=kind,
                text=symbol.payload.text,
                print=drawn,
                code=code,
                centre=centre,
                turn=rng.uniform(0, 2 * math.pi),
            )
        lying.append(one)
    return lying


def _touch(one, other):
    """Say whether two labels overlap, or nearly."""
    if math.dist(one.centre, other.centre) > one.reach + other.reach + 12:
        return False
    boxes = [
        (each.centre, tuple(side / FINE + 12 for side in each.print.shape[::-1]), math.degrees(each.turn))
        for each in (one, other)
    ]
    return cv2.rotatedRectangleIntersection(*boxes)[0] != cv2.INTERSECT_NONE


def _printed(modules, kind, px, rng):
    """Return a label's print and its code's corners in pixels: the code, and words beside or below it."""
    dark = modules.repeat(BARS, axis=0) if modules.shape[0] == 1 else modules
    quiet, point = QUIET.get(kind, QUIET_SQUARE), px * FINE
    rows, columns = dark.shape
    below, beside = (12, 0) if kind == "C128" else (0, 36)
    height, width = round((rows + 6 + below) * point), round((columns + 2 * quiet + beside) * point)
    y, x = ((np.arange(size) + 0.5) / point for size in (height, width))
    inside = np.pad(dark, ((3, below + 4), (quiet, quiet + beside + 1)))
    drawn = inside[np.ix_(y.astype(int), x.astype(int))].astype(np.uint8)
    left, top = (quiet, rows + 5) if below else (columns + 2 * quiet, 3)
    for line in range(3 if beside else 2):
        words = "".join(rng.choice(list("ABCDEFGHKLMN 0123456789"), 9 if beside else 22))
        at = (round(left * point), round((top + 4 + 6 * line) * point))
        cv2.putText(drawn, words, at, cv2.FONT_HERSHEY_SIMPLEX, 0.17 * point, 1, max(1, round(0.6 * point)), cv2.LINE_8)
    code = np.array([(0, 0), (columns, 0), (columns, rows), (0, rows)], float) * px + [quiet * px, 3 * px]
    return drawn, code


def photograph(lying, *, rng, hidden=()):
    """Return the grey picture of the labels.

    Args:
        lying: labels.
        rng: randomness.
        hidden: (polygon in pixels, grey level) laid over all.
    """
    width, height = SIZE
    light = np.full((height, width), 105, np.float32)
    light += cv2.resize(rng.normal(0, 6, (60, 80)).astype(np.float32), SIZE, interpolation=cv2.INTER_CUBIC)
    for one in lying:
        _paste(light, one)
    for polygon, level in hidden:
        cv2.fillPoly(light, [np.rint(polygon).astype(np.int32)], float(level), cv2.LINE_AA)
    light = cv2.GaussianBlur(light, (0, 0), 0.7)
    noise = rng.normal(0, 4, light.shape).astype(np.float32)
    return np.clip(light + noise + 0.5, 0, 255).astype(np.uint8)


def _paste(light, one):
    span = math.ceil(one.reach) + 2
    left, top = (int(value) - span for value in one.centre)
    size = 2 * span * FINE
    offset = np.array([left, top])
    height, width = one.print.shape
    corners = np.array([(0, 0), (width, 0), (0, height)], float)
    goal = (one.placed(corners / FINE) - offset) * FINE
    back = cv2.getAffineTransform((corners - 0.5).astype(np.float32), (goal - 0.5).astype(np.float32))
    grey = np.where(one.print > 0, 18, 225).astype(np.float32)
    fine = cv2.warpAffine(grey, back, (size, size))
    covers = cv2.warpAffine(np.ones_like(grey), back, (size, size))
    fine, covers = (cv2.resize(part, (2 * span, 2 * span), interpolation=cv2.INTER_AREA) for part in (fine, covers))
    rows, columns = slice(max(0, top), top + 2 * span), slice(max(0, left), left + 2 * span)
    cut = (slice(max(0, -top), None), slice(max(0, -left), None))
    here = light[rows, columns]
    fine, covers = (part[cut][: here.shape[0], : here.shape[1]] for part in (fine, covers))
    light[rows, columns] = here * (1 - covers) + fine
