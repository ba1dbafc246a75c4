"""The envelope in which readers fail: printed symbols on tubes, photographed under one strain at a time.

A third simulator, small, so that it can say where every module truly lies: each pixel is followed back to the label by
closed formulas (a weak perspective, the tilt, the tube), and :meth:`Shot.place` follows a module forward. Settings and
the usual case are those of an earlier study of the same kind: a module of 0.254 mm (three dots of 300 dpi), a tube of
10.8 mm, 5 pixels a module, off the axis by up to 5 degrees, turned by up to 8 degrees from a quarter, a bell of 0.7
pixels, noise of 4 grey levels, JPEG 85, a gain of 0.02 mm, ink 0.06 on stock 0.85. Long symbols lie along the tube.
"""

import math
from dataclasses import dataclass, field, replace
from datetime import date

import cv2
import numpy as np

from tracelabels.identifiers import IdentifierMode, LabelIdentity, Payload, compose_label, format_serial
from tracelabels.scanning.sampling import SymbolShape
from tracelabels.scanning.sampling.fixed_cells import fixed_cells
from tracelabels.symbols import DataMatrixShape, write_data_matrix, write_micro_qr, write_qr

MODULE = 0.254  # mm
FINE = 4  # points of the print from one printer dot to the next
DOTS = 3  # printer dots a module
QUIET = 4  # modules of stock around the symbol before words begin
SAMPLES = 3  # lines of sight a pixel, along each side
FAR = 120.0  # mm from the lens to the label
EXPOSURE = 225 / 0.85  # grey levels for all of the light: white stock comes to 225
SYMBOLS = ("DM14", "DM18", "DM20", "DM22", "DM8x32", "DM12x26", "DM12x36", "DM16x36", "MQR4", "QR2")


@dataclass(frozen=True, slots=True, kw_only=True)
class Strain:
    """What one photograph is put to; lengths in mm where nothing else is said, angles in degrees."""

    px_per_module: float = 5.0
    diameter: float | None = 10.8
    off_axis: float | None = None  # None: anywhere up to 5
    tilt: float = 0.0
    turn: float | None = None  # None: up to 8
    blur: float | None = None  # modules; None: 0.7 pixels
    motion: float = 0.0  # modules
    glare: float = 0.0  # share of the symbol
    noise: float = 4.0
    gain: float = 0.02
    dead_lines: int = 0
    shadow: float = 0.0
    voids: float = 0.0
    ink: float = 0.06
    stock: float = 0.85
    exposure: float = 1.0  # of the usual light; what follows only on a bench
    outside: float = 0.0  # share of the symbol beyond the picture's border
    covered: float = 0.0  # share of the symbol under something that lies on it


USUAL = Strain()


def _each(name, key, levels):
    return {f"{name} {level:g}": replace(USUAL, **{key: level}) for level in levels}


SETTINGS = {
    "usual": USUAL,
    **_each("px/module", "px_per_module", (1.5, 1.75, 2, 2.5, 3)),
    **_each("off-axis", "off_axis", (20, 30, 40, 50)),
    **_each("diameter", "diameter", (8, 6)),
    **_each("tilt", "tilt", (15, 30, 40, 45, 50, 60)),
    **_each("blur", "blur", (0.4, 0.5, 0.6, 0.7)),
    **_each("motion", "motion", (1, 1.5, 2)),
    **_each("glare", "glare", (0.05, 0.1, 0.15, 0.2)),
    **_each("noise", "noise", (25, 50)),
    **_each("gain", "gain", (0.08, 0.1, 0.12)),
    **_each("turn", "turn", (20, 45)),
    "combined 1": replace(USUAL, tilt=10, blur=0.25),
    "combined 2": replace(USUAL, tilt=20, blur=0.35, glare=0.03),
    "combined 3": replace(USUAL, tilt=30, blur=0.45, glare=0.06),
    **_each("dead lines", "dead_lines", (1, 3)),
    **{f"flat, blur {level:g}": replace(USUAL, diameter=None, blur=level) for level in (0.5, 0.6, 0.7)},
    **{f"flat, tilt {level:g}": replace(USUAL, diameter=None, tilt=level) for level in (60, 70)},
    **_each("shadow", "shadow", (0.7, 0.85)),
    **_each("voids", "voids", (0.1, 0.15)),
    **_each("ink", "ink", (0.5, 0.65, 0.7, 0.75)),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """The geometry of one photograph."""

    rows: int
    columns: int
    px_per_mm: float
    radius: float | None
    along_columns: bool  # the tube's axis runs along the symbol's rows of modules, across its columns
    off_axis: float  # radians
    skew: float  # radians, of the label on the tube
    tilt: float
    turn: float
    shift: tuple[float, float] = (0.0, 0.0)

    def place(self, modules):
        """Return pixels (x, y), shape (n, 2), of points in modules (right, down) from the symbol's outer top left."""
        across, along = self._on_label((np.asarray(modules, float) - [self.columns / 2, self.rows / 2]) * MODULE)
        if self.radius is None:
            x, z = across * math.cos(self.off_axis), -across * math.sin(self.off_axis)
        else:
            angle = across / self.radius + self.off_axis
            x, z = self.radius * np.sin(angle), self.radius * np.cos(angle) - self.radius
        y = along * math.cos(self.tilt) - z * math.sin(self.tilt)
        height = z * math.cos(self.tilt) + along * math.sin(self.tilt)
        near = FAR / (FAR - height) * self.px_per_mm
        x, y = x * near, y * near
        c, s = math.cos(self.turn), math.sin(self.turn)
        return np.stack([x * c - y * s + self.shift[0], x * s + y * c + self.shift[1]], axis=-1)

    def _on_label(self, centred):
        u, v = (centred[..., 1], -centred[..., 0]) if self.along_columns else (centred[..., 0], centred[..., 1])
        c, s = math.cos(self.skew), math.sin(self.skew)
        return u * c - v * s, u * s + v * c

    def back(self, x, y):
        """Return modules (right, down), how much the surface faces the lens, and whether a line of sight meets it."""
        c, s = math.cos(self.turn), math.sin(self.turn)
        x, y = x - self.shift[0], y - self.shift[1]
        x, y = (x * c + y * s) / self.px_per_mm, (y * c - x * s) / self.px_per_mm
        height = np.zeros_like(x)
        for _ in range(4):  # the nearness depends on the height, by a few hundredths: this settles at once
            flat_x, flat_y = x * (FAR - height) / FAR, y * (FAR - height) / FAR
            if self.radius is None:
                across, facing = flat_x / math.cos(self.off_axis), np.full_like(x, math.cos(self.off_axis))
                met, z = np.ones(x.shape, bool), -across * math.sin(self.off_axis)
            else:
                sine = np.clip(flat_x / self.radius, -1, 1)
                met, facing = np.abs(flat_x) < self.radius, np.sqrt(1 - sine**2)
                across, z = (np.arcsin(sine) - self.off_axis) * self.radius, self.radius * (facing - 1)
            along = (flat_y + z * math.sin(self.tilt)) / math.cos(self.tilt)
            height = z * math.cos(self.tilt) + along * math.sin(self.tilt)
        c, s = math.cos(self.skew), math.sin(self.skew)
        u, v = across * c + along * s, along * c - across * s
        right, down = (-v, u) if self.along_columns else (u, v)
        return right / MODULE + self.columns / 2, down / MODULE + self.rows / 2, facing * math.cos(self.tilt), met


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shot:
    """One photograph, and the truth about it."""

    grey: np.ndarray = field(repr=False)
    symbol: object
    view: View
    kind: str


def label_text(kind, number):
    """Return a payload that the tool prints in a symbol of this kind."""
    serial = format_serial(1 + number % 90, number)
    if kind in {"DM14", "DM8x32"}:  # caps carry the serial alone
        return Payload(text=f"21{serial}", fnc1_first=False, mode=IdentifierMode.IN_HOUSE)
    gs1 = kind in {"DM22", "DM16x36"}
    lot = {"DM12x26": None, "MQR4": None, "DM18": f"{4000 + number % 6000}"}.get(kind, f"B{number % 90:02d}-3A")
    identity = LabelIdentity(
        gtin="09501101530003" if gs1 else None,
        use_by=date(2027, 1 + number % 12, 1 + number % 28),
        prepared=date(2026, 1 + number % 9, 1 + number % 28),
        lot=lot,
        serial=serial,
    )
    return compose_label(identity, IdentifierMode.GS1 if gs1 else IdentifierMode.IN_HOUSE)


def symbol_of(kind, number):
    payload = label_text(kind, number)
    if kind.startswith("DM"):
        size = kind[2:] if "x" in kind else f"{kind[2:]}x{kind[2:]}"
        return write_data_matrix(payload, shape=DataMatrixShape(size))
    return write_micro_qr(payload) if kind == "MQR4" else write_qr(payload, version=2)


def decoy(symbol, rng, *, turned):
    """Return the symbol's modules with a share of those that carry something turned over; half leaves nothing."""
    shape = shape_of(symbol)
    free = ~fixed_cells(shape).known[1:-1, 1:-1]
    return symbol.modules ^ (free & (rng.random(free.shape) < turned))


def shape_of(symbol):
    return SymbolShape(symbology=symbol.symbology, version=symbol.version.partition("-")[0])


def shoot(symbol, kind, strain, rng, *, modules=None):
    """Photograph a symbol, or other modules in its place."""
    dark = symbol.modules if modules is None else modules
    view = _view(*dark.shape, strain, rng)
    levels = _printed(dark, strain, rng)
    grey = _seen(levels, view, rng)
    grey = _sensed(_lit(grey, view, strain, rng), strain, rng)
    return Shot(grey=grey, symbol=symbol, view=view, kind=kind)


def on_bench(symbol, kind, strain, rng, *, size=(420, 560)):
    """Photograph a label on a dark bench; size is the picture's (height, width) in pixels, or what the label needs."""
    view = _view(*symbol.modules.shape, strain, rng)
    light = _seen(_printed(symbol.modules, strain, rng), view, rng)
    height, width = light.shape
    bench = np.full((max(size[0], height), max(size[1], width)), rng.uniform(0.25, 0.4), np.float32)
    y, x = (int(rng.integers(side - own + 1)) for side, own in zip(bench.shape, light.shape, strict=True))
    bench[y : y + height, x : x + width] = light
    view = replace(view, shift=(view.shift[0] + x, view.shift[1] + y))
    if strain.covered:
        _cover(bench, view, strain.covered, rng)
    grey = _sensed(strain.exposure * _lit(bench, view, strain, rng), strain, rng)
    if strain.outside:
        grey, view = _cut_off(grey, view, strain.outside, rng)
    return Shot(grey=grey, symbol=symbol, view=view, kind=kind)


def _sides(view):
    """Return the symbol's corners in pixels, and of a side drawn from them where it begins and how it runs inward."""
    corners = [[0, 0], [view.columns, 0], [view.columns, view.rows], [0, view.rows]]
    return view.place(np.array(corners))


def _cover(bench, view, share, rng):
    """Lay a round-ended finger over the symbol, from one of its sides inward."""
    corners = np.roll(_sides(view), int(rng.integers(4)), axis=0)
    start, inward = (corners[0] + corners[1]) / 2, (corners[2] + corners[3] - corners[0] - corners[1]) / 2
    wide = math.dist(corners[0], corners[1])
    tip, back = start + share * inward, start - 1.5 * inward
    half = 0.75 * wide
    unit = inward / np.hypot(*inward)
    level = rng.choice([rng.uniform(0.12, 0.3), rng.uniform(0.5, 0.75)])
    across = half * np.array([-unit[1], unit[0]])
    polygon = np.array([tip - across, tip + across, back + across, back - across])
    cv2.fillPoly(bench, [np.rint(polygon).astype(np.int32)], float(level), cv2.LINE_AA)
    middle = np.rint(tip).astype(int).tolist()
    axes = (round(half), round(0.12 * half))
    cv2.ellipse(
        bench, middle, axes, math.degrees(math.atan2(across[1], across[0])), 0, 360, float(level), -1, cv2.LINE_AA
    )


def _cut_off(grey, view, share, rng):
    """Move the picture's border over the symbol."""
    (left, top), (right, bottom) = _sides(view).min(axis=0), _sides(view).max(axis=0)
    height, width = grey.shape
    x, y = round(left + share * (right - left)), round(top + share * (bottom - top))
    boxes = ((x, 0, width, height), (0, 0, round(left + right) - x, height))
    boxes += ((0, y, width, height), (0, 0, width, round(top + bottom) - y))
    x, y, right, bottom = boxes[int(rng.integers(4))]
    return grey[y:bottom, x:right], replace(view, shift=(view.shift[0] - x, view.shift[1] - y))


def light_of(symbol, strain, rng):
    """Return the light that comes back from a label with a symbol, before shadow, glare, lens and sensor.

    The same seed gives the same place and the same words round any symbol of that size.
    """
    view = _view(*symbol.modules.shape, strain, rng)
    return _seen(_printed(symbol.modules, strain, rng), view, rng) * EXPOSURE


def photographed(light, rng, *, blur, motion, noise=USUAL.noise):
    """Return grey levels of a light that a lens blurs and a moving hand smears; blur and motion in pixels."""
    light = cv2.GaussianBlur(light, (0, 0), blur, borderType=cv2.BORDER_REPLICATE)
    if motion:
        light = cv2.filter2D(light, -1, _streak(motion, rng.uniform(0, math.pi)))
    return _sensed(light, replace(USUAL, noise=noise), rng)


def _view(rows, columns, strain, rng):
    off = rng.uniform(-5, 5) if strain.off_axis is None else strain.off_axis * rng.choice([-1, 1])
    turn = (rng.uniform(-8, 8) if strain.turn is None else strain.turn) + 90 * rng.integers(4)
    view = View(
        rows=rows,
        columns=columns,
        px_per_mm=strain.px_per_module / MODULE,
        radius=None if strain.diameter is None else strain.diameter / 2,
        along_columns=columns > rows,
        off_axis=math.radians(off),
        skew=math.radians(rng.uniform(-2, 2)),
        tilt=math.radians(strain.tilt) * rng.choice([-1, 1]),
        turn=math.radians(turn),
    )
    rim = 6
    edge = [(x, y) for x in np.linspace(-rim, columns + rim, 9) for y in np.linspace(-rim, rows + rim, 9)]
    low = view.place(np.array(edge)).min(axis=0)
    return replace(view, shift=tuple((rng.random(2) + 8 - low).tolist()))


def size_of(view):
    """Return height and width of the picture that shows the symbol with some label around it."""
    rim = 6
    edge = [(x, y) for x in np.linspace(-rim, view.columns + rim, 9) for y in np.linspace(-rim, view.rows + rim, 9)]
    high = view.place(np.array(edge)).max(axis=0)
    return int(high[1]) + 9, int(high[0]) + 9


def _printed(dark, strain, rng):
    """Return reflectances of the label, and where modules begin in them."""
    rim = QUIET + 6
    label = np.pad(dark, rim)
    dots = label.repeat(DOTS, axis=0).repeat(DOTS, axis=1)
    words = np.zeros(dots.shape, np.uint8)
    for row in (2 * DOTS, dots.shape[0] - 5 * DOTS):
        text = "".join(rng.choice(list("ABCDEFGHKLMN0123456789"), 60))
        cv2.putText(words, text, (0, row + 3 * DOTS), cv2.FONT_HERSHEY_SIMPLEX, 0.28, 1)
    dots |= words > 0
    if strain.voids:
        dots &= rng.random(dots.shape) >= strain.voids
    start, end = rim * DOTS, dots.shape
    along_rows = rng.random() < 0.5
    for _ in range(strain.dead_lines):
        if along_rows:
            dots[rng.integers(start, end[0] - start)] = False
        else:
            dots[:, rng.integers(start, end[1] - start)] = False
    fine = dots.repeat(FINE, axis=0).repeat(FINE, axis=1)
    step = MODULE / DOTS / FINE
    away = cv2.distanceTransform((~fine).astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE) - 0.5
    ink = cv2.GaussianBlur(np.clip(strain.gain / step - away + 0.5, 0, 1).astype(np.float32), (0, 0), 0.6)
    return strain.stock + (strain.ink - strain.stock) * ink + rng.normal(0, 0.01, ink.shape).astype(np.float32)


def _seen(levels, view, rng):
    """Return the light that comes back to each pixel, averaged over its lines of sight."""
    height, width = size_of(view)
    y, x = np.mgrid[0 : height * SAMPLES, 0 : width * SAMPLES].astype(float)
    right, down, facing, met = view.back((x + 0.5) / SAMPLES, (y + 0.5) / SAMPLES)
    rim, scale = QUIET + 6, DOTS * FINE
    light = cv2.remap(
        levels.astype(np.float32),
        ((right + rim) * scale - 0.5).astype(np.float32),
        ((down + rim) * scale - 0.5).astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=0.6,  # the bare tube
    )
    light = np.where(met, light * (0.5 + 0.5 * facing / math.cos(view.tilt)), 0.25 + 0.05 * rng.random())
    return light.reshape(height, SAMPLES, width, SAMPLES).mean(axis=(1, 3))


def _lit(light, view, strain, rng):
    """Lay shadow, glare, defocus and motion over the light; returns grey levels before the sensor."""
    height, width = light.shape
    y, x = np.mgrid[0:height, 0:width] + 0.5
    px = view.px_per_mm * MODULE
    if strain.shadow:
        spot = view.place(np.array([[rng.uniform(0.3, 0.7) * view.columns, rng.uniform(0.3, 0.7) * view.rows]]))[0]
        angle = rng.uniform(0, 2 * math.pi)
        away = (x - spot[0]) * math.cos(angle) + (y - spot[1]) * math.sin(angle)
        light = light * (1 - strain.shadow * np.clip(away / px + 0.5, 0, 1))
    light = light * EXPOSURE
    if strain.glare:
        light = light + _glare(x, y, view, strain, rng)
    sigma = 0.7 if strain.blur is None else strain.blur * px
    light = cv2.GaussianBlur(light, (0, 0), sigma, borderType=cv2.BORDER_REPLICATE)
    if strain.motion:
        light = cv2.filter2D(light, -1, _streak(strain.motion * px, rng.uniform(0, math.pi)))
    return light


def _glare(x, y, view, strain, rng):
    """Return a soft-edged blot that covers the share of the symbol, drawn out along the tube."""
    corners = view.place(np.array([[0, 0], [view.columns, 0], [view.columns, view.rows], [0, view.rows]]))
    area = strain.glare * abs(cv2.contourArea(corners.astype(np.float32)))
    where = np.array([[rng.uniform(0.15, 0.85) * view.columns, rng.uniform(0.15, 0.85) * view.rows]])
    spot, step = view.place(where)[0], [1, 0] if view.along_columns else [0, 1]
    way = view.place(where + step)[0] - spot
    angle, long = math.atan2(way[1], way[0]), 1.8 if view.radius is not None else 1.3
    short = math.sqrt(area / math.pi / long)
    a = ((x - spot[0]) * math.cos(angle) + (y - spot[1]) * math.sin(angle)) / (short * long)
    b = (-(x - spot[0]) * math.sin(angle) + (y - spot[1]) * math.cos(angle)) / short
    return 300 / (1 + np.exp((np.hypot(a, b) - 1) / 0.08))


def _streak(length, angle):
    size = 2 * math.ceil(length / 2) + 3
    big = np.zeros((size * 8, size * 8), np.float32)
    way = 4.0 * length * np.array([math.cos(angle), math.sin(angle)])
    start, end = size * 4 - way, size * 4 + way
    cv2.line(big, tuple(int(v) for v in np.rint(start)), tuple(int(v) for v in np.rint(end)), 1.0, 8)
    kernel = cv2.resize(big, (size, size), interpolation=cv2.INTER_AREA)
    return kernel / kernel.sum()


def _sensed(light, strain, rng):
    grey = np.clip(light + rng.normal(0, strain.noise, light.shape) + 0.5, 0, 255).astype(np.uint8)
    _, file = cv2.imencode(".jpg", grey, [cv2.IMWRITE_JPEG_QUALITY, 85])
    return cv2.imdecode(file, cv2.IMREAD_GRAYSCALE)
