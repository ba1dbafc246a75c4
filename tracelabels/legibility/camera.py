"""A small simulated camera: printed labels on a mat or round a tube, photographed.

Every picture made here is simulated, and :func:`save_photograph` writes that into the picture and its metadata.
"""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import cv2
import numpy as np
from PIL import ExifTags, Image, ImageDraw, ImageFont, PngImagePlugin

from tracelabels.errors import InputError
from tracelabels.legibility.simulation.bench import mat, shadow
from tracelabels.legibility.simulation.light import shading, uneven
from tracelabels.legibility.simulation.optics import defocused
from tracelabels.legibility.simulation.sensor import compressed, digitised, noisy
from tracelabels.legibility.simulation.surfaces import Cylinder, Flat, Meeting
from tracelabels.legibility.simulation.view import Pinhole, Pose, Rays, turn_matrix
from tracelabels.symbols import TubeAxis

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from numpy.typing import NDArray

SIMULATED = "simulated photograph"
_STRIP_ROWS = 256
_INK = np.array([0.05, 0.05, 0.06], dtype=np.float32)
_STOCK = np.array([0.90, 0.89, 0.86], dtype=np.float32)
_PLASTIC = np.array([0.62, 0.66, 0.68], dtype=np.float32)
_END = np.array([0.46, 0.50, 0.52], dtype=np.float32)
_CAP = np.array([0.20, 0.30, 0.42], dtype=np.float32)
_EXPOSURE = 262.0
_MARGIN_MM = 7.0
_CAP_MM = 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Camera:
    """The camera, the light and the file; lengths in mm and pixels, angles in degrees."""

    px_per_mm: float = 20.0
    """Scale at the picture's middle, 1 to 100."""

    width: int = 1600
    """Pixels from left to right, 16 to 12,000."""

    height: int = 1200
    """Pixels from top to bottom, 16 to 12,000."""

    distance: float = 250.0
    """From the lens to the picture's middle, 40 to 5,000 mm; less means a stronger perspective."""

    tilt: float = 0.0
    """The far side leans away, -80 to 80 degrees; along a tube that lies upright in the picture, its tilt."""

    swing: float = 0.0
    """The right side leans away, -80 to 80 degrees."""

    defocus: float = 0.7
    """Standard deviation of the blur, 0 to 50 pixels."""

    light_ratio: float = 1.3
    """Brightest to darkest across the diagonal, 1 to 32."""

    light_direction: float = 135.0
    """Degrees anticlockwise from the right in which the picture grows brighter."""

    vignette: float = 0.18
    """Share of the light that is lost in the corners, 0 to 0.9."""

    noise: float = 3.0
    """Standard deviation, 0 to 100 grey levels."""

    jpeg_quality: int | None = 90
    """1 to 100; None leaves the picture uncompressed."""

    def __post_init__(self) -> None:
        """Refuse values outside the ranges above."""
        for name, lowest, highest in _RANGES:
            value = getattr(self, name)
            if value is not None and not lowest <= value <= highest:
                raise InputError(
                    given=f"camera: {name} {value}",
                    expected=f"a value from {lowest:g} to {highest:g}",
                    remedy="change it",
                )


_RANGES: tuple[tuple[str, float, float], ...] = (
    ("px_per_mm", 1.0, 100.0),
    ("width", 16, 12_000),
    ("height", 16, 12_000),
    ("distance", 40.0, 5_000.0),
    ("tilt", -80.0, 80.0),
    ("swing", -80.0, 80.0),
    ("defocus", 0.0, 50.0),
    ("light_ratio", 1.0, 32.0),
    ("vignette", 0.0, 0.9),
    ("noise", 0.0, 100.0),
    ("jpeg_quality", 1, 100),
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Piece:
    """One printed thing in the picture: a sheet, a label, or a tube with its label."""

    print: "NDArray[np.uint8]"
    """The print, shape (rows, columns), 0 ink to 255 stock."""

    px_per_mm: float
    """Pixels of the print per mm, for example 300 / 25.4."""

    x: float = 0.0
    """Its centre on the bench, mm to the right of the picture's middle."""

    y: float = 0.0
    """Its centre on the bench, mm below the picture's middle."""

    turn: float = 0.0
    """Degrees anticlockwise in the plane of the bench."""

    tube_diameter: float | None = None
    """The label is bent round a tube of this diameter in mm; None: it lies flat."""

    tube_axis: TubeAxis = TubeAxis.HEIGHT
    """The label's side along which the tube's axis runs."""

    off_axis: float = 0.0
    """Degrees by which the label is turned round the tube, away from the top."""

    def __post_init__(self) -> None:
        """Refuse a print that is no grey picture, and a tube of no size."""
        if self.print.ndim != 2 or self.print.dtype != np.uint8 or not self.print.size:  # noqa: PLR2004  two sides
            raise InputError(
                given=f"a print of shape {self.print.shape} and type {self.print.dtype}",
                expected="grey levels of shape (rows, columns) and type uint8",
                remedy="rasterise the page to grey",
            )
        for name, value in (("px_per_mm", self.px_per_mm), ("tube_diameter", self.tube_diameter)):
            if value is not None and not value > 0.0:
                raise InputError(given=f"a piece: {name} {value}", expected="a value above 0", remedy="change it")

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the print in mm."""
        rows, columns = self.print.shape
        return columns / self.px_per_mm, rows / self.px_per_mm

    @property
    def surface(self) -> Flat | Cylinder:
        """What the label sticks to."""
        if self.tube_diameter is None:
            return Flat()
        return Cylinder(diameter=self.tube_diameter, axis=self.tube_axis, off_axis=self.off_axis)

    @property
    def pose(self) -> Pose:
        """How it lies on the bench."""
        return Pose(x=self.x, y=self.y, turn=self.turn)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Photograph:
    """A simulated photograph, and where everything in it truly is."""

    rgb: "NDArray[np.uint8]"
    """The picture, shape (height, width, 3)."""

    camera: Camera
    """How it was taken."""

    pieces: "tuple[Piece, ...]" = field(repr=False)
    """What was photographed."""

    def positions(self, points: "Sequence[tuple[float, float]]", *, piece: int = 0) -> "NDArray[np.float64]":
        """Return the pixels (x, y), shape (n, 2), of points of a piece's print.

        Args:
            points: (x, y) in mm from the print's top left.
            piece: which piece, from 0.
        """
        shown = self.pieces[piece]
        width, height = shown.size
        centred = np.array(points, dtype=np.float64).reshape(-1, 2) - np.array([width / 2.0, height / 2.0])
        lifted = shown.surface.lift(centred) @ turn_matrix(shown.turn).T
        return _pinhole(self.camera).project(lifted + np.array([shown.x, shown.y, 0.0]))


def photograph(pieces: "Sequence[Piece]", *, camera: Camera, rng: np.random.Generator) -> Photograph:
    """Take a simulated photograph.

    The order is the light's: reflectance of mat and pieces, shading and uneven light, defocus, noise, JPEG.

    Args:
        pieces: what lies on the bench; later ones lie over earlier ones.
        camera: how the picture is taken.
        rng: where the randomness of mat and noise comes from; the same seed gives the same picture.
    """
    pinhole = _pinhole(camera)
    scene = mat(camera.height, camera.width, px_per_mm=camera.px_per_mm, rng=rng)
    for piece in pieces:
        _lay(scene, piece, pinhole)
    light = uneven(
        camera.height,
        camera.width,
        ratio=camera.light_ratio,
        direction=camera.light_direction,
        vignette=camera.vignette,
    )
    scene *= light[:, :, np.newaxis] * np.float32(_EXPOSURE)
    rgb = digitised(noisy(defocused(scene, camera.defocus), camera.noise, rng))
    if camera.jpeg_quality is not None:
        rgb = compressed(rgb, camera.jpeg_quality)
    return Photograph(rgb=rgb, camera=camera, pieces=tuple(pieces))


def _pinhole(camera: Camera) -> Pinhole:
    return Pinhole(
        width=camera.width,
        height=camera.height,
        px_per_mm=camera.px_per_mm,
        distance=camera.distance,
        tilt=camera.tilt,
        swing=camera.swing,
    )


def _lay(scene: "NDArray[np.float32]", piece: Piece, pinhole: Pinhole) -> None:
    """Draw one piece and its shadow into the scene."""
    left, top, right, bottom = box = _box(piece, pinhole)
    if left >= right or top >= bottom:
        return
    colour, coverage = _rendered(piece, pinhole, box)
    outline = np.zeros(scene.shape[:2], dtype=np.float32)
    outline[top:bottom, left:right] = coverage
    standing = 0.0 if piece.tube_diameter is None else piece.tube_diameter
    scene *= shadow(outline, px_per_mm=pinhole.px_per_mm, height_mm=standing)[:, :, np.newaxis]
    part = scene[top:bottom, left:right]
    part *= 1.0 - coverage[:, :, np.newaxis]
    part += colour


def _box(piece: Piece, pinhole: Pinhole) -> tuple[int, int, int, int]:
    """Return the box of pixels, inside the picture, that can show a piece."""
    half_width, half_height = (side / 2.0 + _MARGIN_MM + _CAP_MM for side in piece.size)
    tall = piece.tube_diameter or 0.0
    if piece.tube_diameter is not None:
        half_width, half_height = (tall, half_height) if piece.tube_axis is TubeAxis.HEIGHT else (half_width, tall)
    corners = np.array([(x, y, z) for x in (-1, 1) for y in (-1, 1) for z in (0.0, tall)], dtype=np.float64)
    corners *= np.array([half_width, half_height, 1.0])
    seen = pinhole.project(corners @ turn_matrix(piece.turn).T + np.array([piece.x, piece.y, 0.0]))
    low, high = np.floor(seen.min(axis=0)).astype(int), np.ceil(seen.max(axis=0)).astype(int) + 1
    return max(0, low[0]), max(0, low[1]), min(pinhole.width, high[0]), min(pinhole.height, high[1])


def _rendered(
    piece: Piece, pinhole: Pinhole, box: tuple[int, int, int, int]
) -> "tuple[NDArray[np.float32], NDArray[np.float32]]":
    """Return colour (weighted by coverage) and coverage of a box of pixels, averaged over samples of each pixel."""
    left, top, right, bottom = box
    samples = int(np.clip(np.ceil(piece.px_per_mm / pinhole.px_per_mm), 2, 4))
    colours, coverages = [], []
    for first in range(top, bottom, _STRIP_ROWS):
        last = min(first + _STRIP_ROWS, bottom)
        rays = pinhole.rays((left, first, right, last), samples).moved(piece.pose)
        colour, covered = _seen(piece, rays)
        weighted = colour * covered[:, :, np.newaxis]
        shape = (last - first, samples, right - left, samples)
        colours.append(weighted.reshape(*shape, 3).mean(axis=(1, 3)))
        coverages.append(covered.astype(np.float32).reshape(shape).mean(axis=(1, 3)))
    return np.concatenate(colours), np.concatenate(coverages)


def _seen(piece: Piece, rays: Rays) -> "tuple[NDArray[np.float32], NDArray[np.bool_]]":
    """Return the light that comes back along each line of sight, and whether it shows the piece at all."""
    surface = piece.surface
    meeting = surface.meet(rays)
    width, height = piece.size
    on_label = meeting.met & (np.abs(meeting.u) < width / 2.0) & (np.abs(meeting.v) < height / 2.0)
    colour = _INK + (_STOCK - _INK) * _sampled(piece, meeting)[:, :, np.newaxis]
    covered = on_label
    if isinstance(surface, Cylinder):
        upright = surface.axis is TubeAxis.HEIGHT
        along = meeting.v if upright else meeting.u
        length = (height if upright else width) + 2.0 * _MARGIN_MM
        covered = meeting.met & (np.abs(along) < length / 2.0)
        body = np.where((along < _CAP_MM - length / 2.0)[:, :, np.newaxis], _CAP, _PLASTIC)
        colour = np.where(on_label[:, :, np.newaxis], colour, body + _gloss(meeting)[:, :, np.newaxis])
        end = surface.shows_end(rays, length) & ~covered
        colour[end] = _END
        covered = covered | end
    return colour * shading(meeting.normal)[:, :, np.newaxis], covered


def _gloss(meeting: Meeting) -> "NDArray[np.float32]":
    """Return a soft highlight on the tube's bare plastic (decoration; labels are matte here)."""
    facing = np.clip(0.94 * meeting.normal[2] - 0.34 * np.hypot(meeting.normal[0], meeting.normal[1]), 0.0, 1.0)
    highlight: NDArray[np.float32] = 0.5 * facing**40
    return highlight


def _sampled(piece: Piece, meeting: Meeting) -> "NDArray[np.float32]":
    """Return the print's grey, 0 to 1, where each line of sight meets it, interpolated between the print's pixels."""
    width, height = piece.size
    across = ((meeting.u + width / 2.0) * piece.px_per_mm - 0.5).astype(np.float32)
    down = ((meeting.v + height / 2.0) * piece.px_per_mm - 0.5).astype(np.float32)
    grey = cv2.remap(piece.print, across, down, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(grey, dtype=np.float32) / np.float32(255.0)


def save_photograph(path: "Path", photo: Photograph, *, note: str = "") -> None:
    """Write a photograph as PNG or JPEG (by the path's suffix), marked as simulated.

    The words stand in the picture's lower right corner and in the metadata (PNG text chunks, or EXIF ImageDescription
    and Software), because such pictures travel without their folder.

    Args:
        path: ends in ``.png``, ``.jpg`` or ``.jpeg``.
        photo: the photograph.
        note: further words for the description.
    """
    image = _stamped(photo)
    description = f"{SIMULATED}{': ' if note else ''}{note}"
    if path.suffix.lower() == ".png":
        text = PngImagePlugin.PngInfo()
        text.add_text("Description", description)
        text.add_text("Software", "tracelabels")
        image.save(path, format="PNG", pnginfo=text)
        return
    exif = Image.Exif()
    exif[ExifTags.Base.ImageDescription] = description
    exif[ExifTags.Base.Software] = "tracelabels"
    image.save(path, format="JPEG", quality=92, exif=exif)


def _stamped(photo: Photograph) -> Image.Image:
    """Return the picture with the words in its lower right corner."""
    image = Image.fromarray(photo.rgb)
    size = max(11, min(image.size) // 45)
    font = ImageFont.load_default(size)
    draw = ImageDraw.Draw(image, "RGBA")
    left, top, right, bottom = draw.textbbox((0, 0), SIMULATED, font=font)
    pad = size // 2
    corner = (image.width - (right - left) - 2 * pad, image.height - (bottom - top) - 2 * pad)
    draw.rectangle((*corner, image.width, image.height), fill=(20, 28, 32, 150))
    draw.text((corner[0] + pad - left, corner[1] + pad - top), SIMULATED, font=font, fill=(235, 240, 240, 255))
    return image
