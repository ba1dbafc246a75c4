"""Random labels, and random conditions in which they are photographed, for the trial of the prediction's honesty."""

from legibility_subjects import label_of

from tracelabels.identifiers import IdentifierMode, Payload
from tracelabels.legibility.condition import Condition
from tracelabels.lengths import Mm
from tracelabels.symbols import DataMatrixShape, TubeAxis, write_code_128, write_data_matrix, write_qr

DOTS = {203: (2, 3, 4), 300: (3, 4, 5), 600: (5, 6, 8, 10)}
SQUARES = ("10x10", "12x12", "14x14", "16x16", "18x18", "20x20", "22x22", "24x24")
RECTANGLES = ("8x18", "8x32", "12x26", "12x36", "16x36", "16x48")
USUAL_AND_HARDEST = {  # the usual range, and the hardest value, well beyond where most labels stop reading
    "px_per_mm": (16.0, 25.0, 3.0),
    "off_axis": (0.0, 8.0, 70.0),
    "tilt": (0.0, 5.0, 60.0),
    "turn": (0.0, 4.0, 20.0),
    "defocus": (0.4, 0.8, 5.0),
    "motion": (0.0, 0.03, 0.8),
    "glare": (0.0, 0.0, 0.3),
    "light_ratio": (1.05, 1.3, 6.0),
    "shadow": (0.0, 0.0, 0.95),
    "noise": (1.5, 4.0, 40.0),
    "jpeg_quality": (95.0, 85.0, 10.0),
    "dot_gain": (0.0, 0.015, 0.15),
    "lost_dots": (0.0, 0.004, 0.3),
    "specks": (0.0, 0.0003, 0.04),
    "dead_lines": (0.0, 0.0, 3.0),
    "wrinkle": (0.0, 0.0, 0.6),
    "stock": (0.9, 0.8, 0.2),
    "ink": (0.03, 0.1, 0.7),
    "blotches": (0.0, 0.0, 0.6),
    "buckle": (0.0, 0.05, 1.5),
}
WHOLE = {"jpeg_quality", "dead_lines"}


def random_subject(rng):
    """Return a label with one symbol: a Data Matrix, a QR code, or a Code 128 whose bars are rungs of the tube."""
    dpi = int(rng.choice(list(DOTS)))
    x = int(rng.choice(DOTS[dpi]))
    kind = rng.choice(["square", "rectangle", "qr", "linear"], p=[0.4, 0.3, 0.15, 0.15])
    diameter = None if rng.random() < 0.4 else Mm(float(rng.uniform(6.0, 13.0)))
    axis = TubeAxis.WIDTH if kind == "linear" or rng.random() < 0.75 else TubeAxis.HEIGHT
    symbol = _symbol(kind, rng)
    y = x if symbol.modules.shape[0] > 1 else int(5.0 / 25.4 * dpi)
    rim = x * (int(symbol.quiet_zone) + 2)
    rows, columns = symbol.modules.shape
    around = ((rows * y if axis is TubeAxis.WIDTH else columns * x) + 2 * rim) * 25.4 / dpi
    if diameter is not None and around > 1.2 * diameter:  # more than about 140 degrees: nobody would
        diameter = None
    on = None if diameter is None else axis
    return label_of(symbol, x=x, bars=y, rim=rim, dpi=dpi, label="random", tube=diameter, axis=on)


def _symbol(kind, rng):
    def payload(length):
        text = "".join(rng.choice(list("0123456789ABCDEFGHJK"), length))
        return Payload(text=text, fnc1_first=False, mode=IdentifierMode.IN_HOUSE)

    if kind == "qr":
        return write_qr(payload(int(rng.choice([8, 18, 30]))))
    if kind == "linear":
        return write_code_128(payload(int(rng.integers(5, 12))))
    shape = DataMatrixShape(str(rng.choice(SQUARES if kind == "square" else RECTANGLES)))
    return write_data_matrix(payload(max(3, int(shape.data_codewords * 0.7))), shape=shape)


def random_condition(rng):
    """Return one condition: everything as usual, but one to three factors anywhere up to their hardest value."""
    values = {name: low + (high - low) * rng.random() for name, (low, high, _) in USUAL_AND_HARDEST.items()}
    for name in rng.choice(list(USUAL_AND_HARDEST), size=int(rng.integers(1, 4)), replace=False):
        low, high, hardest = USUAL_AND_HARDEST[name]
        usual = (low + high) / 2.0
        values[name] = usual + (hardest - usual) * rng.random()
    return Condition(**{name: float(round(value)) if name in WHOLE else value for name, value in values.items()})
