"""The colour of a chemical indicator in a photograph, held against pictures of a turned and an unturned one.

The indicator fills the middle of each picture and the pouch's white paper stands round it, so that the light of one
picture can be taken out before its colour is compared with another's. What comes out is a help to the eye: cameras,
lamps and gloss change colours more than a half turned indicator does, and a colour shows exposure, not sterility.
"""

import io
import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np
from PIL import ImageOps

from tracelabels.errors import PictureError
from tracelabels.scanning.loading import guarded, open_image
from tracelabels.scanning.refusals import DEFAULT_LIMITS
from tracelabels.scanning.stripping import find_picture_kind

if TYPE_CHECKING:
    from numpy.typing import NDArray

_SIDE: Final = 480
"""Longest side that is looked at, in pixels."""
_LIGHTEST: Final = 0.15
"""Share of the pixels round the middle that counts as paper."""
_DARK, _BURNT = 0.12, 0.985
"""Linear light of the paper below which a picture is too dark, and above which it is burnt out."""
_OTHER_LIGHT: Final = 6.0
"""How far one colour may lie from itself in another picture, in CIELAB units; common practice, no source."""
_APART: Final = 20.0
"""Turned and unturned must lie so far apart to be told apart, in CIELAB units."""
_NEAR_TURNED, _NEAR_UNTURNED = 0.75, 0.25
_STRAIGHT_TO, _SLOPE = 0.04045, 12.92  # of sRGB, IEC 61966-2-1


@dataclass(frozen=True, slots=True, kw_only=True)
class Patch:
    """The middle of a picture, its light taken out."""

    lab: tuple[float, float, float]
    """CIELAB lightness, green to red, blue to yellow; the paper is white."""
    scatter: float
    """How far its pixels lie from that colour, in CIELAB units (median)."""


class Likeness(StrEnum):
    """What an indicator looks like."""

    TURNED = "turned"
    UNTURNED = "unturned"
    BETWEEN = "between"
    """Neither: look at it again, in another light."""
    NOT_COMPARABLE = "not_comparable"
    """The pictures cannot tell."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """What comparing says: a help to the eye, never the decision."""

    likeness: Likeness
    """What it looks like."""
    share: float
    """Where its colour lies from unturned (0) to turned (1)."""
    confidence: float
    """From 0.5 (a guess) to 1, by how far colours of one thing lie apart from picture to picture; not calibrated."""
    sentence: str
    """The same in words."""


def find_patch(content: bytes, *, name: str) -> Patch:
    """Return the colour of the middle of a photograph, relative to the white paper round it.

    Args:
        content: of the file: JPEG, PNG or another picture.
        name: for sentences.

    Raises:
        PictureError: it is no picture, broken, too dark, or burnt out.
    """
    light = _linear(_pixels(content, name))
    paper = _paper(light, name)
    lab = cv2.cvtColor(_gamma(np.clip(_middle(light) / paper, 0, 1)).astype(np.float32), cv2.COLOR_RGB2LAB)
    flat = lab.reshape(-1, 3)
    colour = np.median(flat, axis=0)
    scatter = float(np.median(np.linalg.norm(flat - colour, axis=1)))
    return Patch(lab=(float(colour[0]), float(colour[1]), float(colour[2])), scatter=scatter)


def compare_patches(seen: Patch, *, turned: Patch, unturned: Patch) -> Compared:
    """Say which of two pictures an indicator looks like."""
    at, start, end = (np.array(one.lab) for one in (seen, unturned, turned))
    way = end - start
    apart = float(np.linalg.norm(way))
    if apart < _APART:
        sentence = "the pictures of a turned and an unturned one look alike: take them again, in one light"
        return Compared(likeness=Likeness.NOT_COMPARABLE, share=0.5, confidence=0.5, sentence=sentence)
    share = float(np.dot(at - start, way) / apart**2)
    beside = float(np.linalg.norm(at - start - share * way))
    noise = math.hypot(_OTHER_LIGHT, seen.scatter, turned.scatter, unturned.scatter)
    confidence = 0.5 + 0.5 * math.erf(abs(share - 0.5) * apart / (noise * math.sqrt(2)))
    if beside > apart / 2 + noise:
        sentence = (
            f"its colour is neither of both ({beside:.0f} CIELAB units beside them): other light, or another indicator"
        )
        return Compared(likeness=Likeness.NOT_COMPARABLE, share=share, confidence=0.5, sentence=sentence)
    likeness = _likeness(share)
    return Compared(likeness=likeness, share=share, confidence=confidence, sentence=_said(likeness, share, confidence))


def _likeness(share: float) -> Likeness:
    if share >= _NEAR_TURNED:
        return Likeness.TURNED
    return Likeness.UNTURNED if share <= _NEAR_UNTURNED else Likeness.BETWEEN


def _said(likeness: Likeness, share: float, confidence: float) -> str:
    where = f"{min(max(share, 0.0), 1.0) * 100:.0f} of 100 parts of the way to turned"
    if likeness is Likeness.BETWEEN:
        return f"its colour lies {where}: look at it again"
    return f"it looks like the {likeness.value} one ({where}, confidence {confidence:.2f})"


def _pixels(content: bytes, name: str) -> "NDArray[np.uint8]":
    kind = find_picture_kind(content)
    if kind is None or kind.value == "PDF":
        raise PictureError(
            given=f"{name}, which is no photograph", expected="a photograph", remedy="photograph the indicator"
        )
    with guarded(name, DEFAULT_LIMITS), open_image(io.BytesIO(content), kind, name) as image:
        image.draft("RGB", (_SIDE, _SIDE))
        upright = ImageOps.exif_transpose(image).convert("RGB")
        upright.thumbnail((_SIDE, _SIDE))
        return np.asarray(upright)


def _linear(pixels: "NDArray[np.uint8]") -> "NDArray[np.float64]":
    """Return linear light of sRGB values (IEC 61966-2-1)."""
    values = pixels.astype(np.float64) / 255
    return np.where(values <= _STRAIGHT_TO, values / _SLOPE, ((values + 0.055) / 1.055) ** 2.4)


def _gamma(light: "NDArray[np.float64]") -> "NDArray[np.float64]":
    return np.where(
        light <= _STRAIGHT_TO / _SLOPE, light * _SLOPE, 1.055 * np.maximum(light, 1e-9) ** (1 / 2.4) - 0.055
    )


def _middle(light: "NDArray[np.float64]") -> "NDArray[np.float64]":
    height, width = light.shape[:2]
    return light[height // 3 : height - height // 3, width // 3 : width - width // 3]


def _paper(light: "NDArray[np.float64]", name: str) -> "NDArray[np.float64]":
    """Return the light of the paper: the lightest pixels round the middle half."""
    height, width = light.shape[:2]
    around = np.ones((height, width), dtype=bool)
    around[height // 4 : height - height // 4, width // 4 : width - width // 4] = False
    outside = light[around]
    grey = outside.mean(axis=1)
    paper = np.median(outside[grey >= np.quantile(grey, 1 - _LIGHTEST)], axis=0)
    lightest = float(paper.mean())
    if not _DARK <= lightest <= _BURNT:
        what = "too dark" if lightest < _DARK else "burnt out"
        raise PictureError(
            given=f"{name}, in which the paper round the indicator is {what}",
            expected="the indicator in the middle, white paper round it, evenly lit",
            remedy="photograph it again without lamp or flash in the glass"
            if lightest > _BURNT
            else "photograph it again in more light",
        )
    return np.asarray(np.maximum(paper, 1e-3))
