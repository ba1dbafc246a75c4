"""A film clip to pictures: the sharpest frame of each stretch of time.

Frames are decoded one after another and only the sharpest of a stretch is kept, so memory holds two frames at any
length. The sizes that the container names are judged before a decoder sees the file.
"""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, Final

import cv2
import numpy as np
from cv2.utils import logging

from tracelabels.scanning.clip_headers import frame_sizes
from tracelabels.scanning.colours import better_channels
from tracelabels.scanning.picture import Picture
from tracelabels.scanning.refusals import PictureLimits, broken_clip, require_frame, require_frame_number
from tracelabels.scanning.sharpness import sharpness

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tracelabels.scanning.signatures import ClipKind

_QUIET: Final = {
    # The decoder takes its demultiplexer by content: none that follows references to other files, and no network.
    "OPENCV_FFMPEG_CAPTURE_OPTIONS": "format_whitelist;mov,matroska,webm,avi|protocol_whitelist;file",
    "OPENCV_FFMPEG_LOGLEVEL": "-8",
}
_JUDGED_SIDE: Final = 960
"""Pixels: sharpness is judged on frames reduced to this longest side."""
_SHORTEST_STRETCH_S: Final = 0.5
_USUAL_RATE: Final = 30.0
_GROWTH: Final = 4
"""Where the length of a clip is not known, a stretch is the share of what was seen that one part in this makes."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Frame:
    """One frame that may be handed out."""

    number: int
    """From 1."""
    colours: "NDArray[np.uint8]"
    """Blue, green, red."""
    sharpness: float
    """Variance of the Laplacian; only the order counts."""


class Clip:
    """An open clip, handing out the sharpest frame of each stretch."""

    def __init__(self, path: Path, name: str, limits: PictureLimits) -> None:
        """Open a clip whose header was judged.

        Raises:
            PictureError: it cannot be played, or has too many frames by what it says itself.
        """
        self._name = name
        self._limits = limits
        self._seen = 0
        with _decoder_settings():
            self._capture = cv2.VideoCapture(str(path.resolve()), cv2.CAP_FFMPEG)
        if not self._capture.isOpened():
            raise broken_clip(name)
        self._capture.set(cv2.CAP_PROP_ORIENTATION_AUTO, 1)
        width = int(self._capture.get(cv2.CAP_PROP_FRAME_WIDTH))
        height = int(self._capture.get(cv2.CAP_PROP_FRAME_HEIGHT))
        require_frame(width, height, name, limits)
        self._size = width, height
        self._declared = _within(self._capture.get(cv2.CAP_PROP_FRAME_COUNT), 1e9)
        self._rate = _within(self._capture.get(cv2.CAP_PROP_FPS), 1000.0) or _USUAL_RATE
        require_frame_number(int(self._declared), *self._size, name, limits)

    def close(self) -> None:
        """Let go of the file."""
        self._capture.release()

    def next_picture(self) -> Picture | None:
        """Return the sharpest frame of the next stretch; None at the end.

        Raises:
            PictureError: there are too many frames.
        """
        end = self._seen + self._stretch()
        best: _Frame | None = None
        while self._seen < end:
            frame = self._next_frame()
            if frame is None:
                break
            if best is None or frame.sharpness > best.sharpness:
                best = frame
        return None if best is None else self._as_picture(best)

    def _stretch(self) -> int:
        """Return how many frames the next stretch has."""
        left = self._declared > self._seen
        wanted = self._declared / self._limits.clip_pictures if left else self._seen / _GROWTH
        return max(1, round(max(wanted, _SHORTEST_STRETCH_S * self._rate)))

    def _next_frame(self) -> _Frame | None:
        found, decoded = self._capture.read()
        if not found:
            return None
        colours = np.asarray(decoded, dtype=np.uint8)
        self._seen += 1
        height, width = colours.shape[:2]
        require_frame(width, height, self._name, self._limits)
        require_frame_number(self._seen, width, height, self._name, self._limits)
        return _Frame(number=self._seen, colours=colours, sharpness=_sharpness(colours))

    def _as_picture(self, frame: _Frame) -> Picture:
        return Picture(
            grey=np.asarray(cv2.cvtColor(frame.colours, cv2.COLOR_BGR2GRAY), dtype=np.uint8),
            name=self._name,
            page=frame.number,
            other_greys=partial(better_channels, frame.colours[..., ::-1]),
            is_frame=True,
        )


def _within(value: float, most: float) -> float:
    """Return a number that a header claims, or 0 if it is none that can be."""
    return value if 0.0 < value <= most else 0.0


def _sharpness(colours: "NDArray[np.uint8]") -> float:
    factor = min(1.0, _JUDGED_SIDE / max(colours.shape[:2]))
    small = cv2.resize(colours, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA) if factor < 1.0 else colours
    return sharpness(np.asarray(cv2.cvtColor(small, cv2.COLOR_BGR2GRAY), dtype=np.uint8))


@contextmanager
def _decoder_settings() -> Iterator[None]:
    """Set what the decoder takes from its surroundings alone, for as long as it opens a file.

    The caller sees that this is done by one thread at a time.
    """
    before = {key: os.environ.get(key) for key in _QUIET}
    level = logging.getLogLevel()
    os.environ.update(_QUIET)
    logging.setLogLevel(0)
    try:
        yield
    finally:
        logging.setLogLevel(level)
        for key, value in before.items():
            if value is None:
                del os.environ[key]
            else:
                os.environ[key] = value


def require_known_frames(stream: BinaryIO, kind: "ClipKind", name: str, limits: PictureLimits) -> None:
    """Refuse a clip whose header names no frame size, or one that is too large; nothing is decoded.

    Raises:
        PictureError: so it is.
    """
    sizes = frame_sizes(stream, kind)
    if not sizes:
        raise broken_clip(name)
    for width, height in sizes:
        require_frame(width, height, name, limits)


@contextmanager
def clip_file(source: Path | bytes) -> Iterator[Path]:
    """Give a clip a file, since the decoder reads nothing else; a private one is taken away afterwards."""
    if isinstance(source, Path):
        yield source
        return
    with tempfile.TemporaryDirectory(prefix="clip-", ignore_cleanup_errors=True) as folder:
        path = Path(folder) / "clip"
        path.write_bytes(source)
        yield path
