"""Clips as a hand-held camera makes them: the same labels in every frame, a little moved, blurred now and then."""

from dataclasses import dataclass

import cv2
import numpy as np
from envelope_pictures import USUAL, light_of, photographed, symbol_of

BENCH = 80.0  # grey level of what lies under the labels


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Laid:
    """A label on the bench: its light, and where its picture's top left corner lies, in pixels."""

    light: np.ndarray
    at: tuple[int, int]
    text: str


def laid(kind, number, at, *, seed=1, strain=USUAL, symbol=None):
    """Lay a label down; labels of one kind and seed differ in their symbol alone."""
    symbol = symbol or symbol_of(kind, number)
    light = light_of(symbol, strain, np.random.default_rng(seed))
    return Laid(light=light, at=at, text=symbol.payload.text)


def frame(labels, rng, *, size=(360, 480), shift=(0.0, 0.0), blur=0.7, motion=0.0, noise=USUAL.noise):
    """Photograph labels on the bench; size is (height, width), shift, blur and motion are in pixels."""
    light = np.full(size, BENCH)
    for one in labels:
        (x, y), (height, width) = one.at, one.light.shape
        light[y : y + height, x : x + width] = one.light
    moved = np.array([[1, 0, shift[0]], [0, 1, shift[1]]], float)
    light = cv2.warpAffine(light, moved, size[::-1], flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
    return photographed(light, rng, blur=blur, motion=motion, noise=noise)


def tremor(count, rng, *, step=1.5):
    """Return shifts in pixels of a hand that trembles round one place."""
    shifts = [np.zeros(2)]
    for _ in range(count - 1):
        shifts.append(0.9 * shifts[-1] + rng.normal(0, step, 2))
    return [tuple(shift.tolist()) for shift in shifts]
