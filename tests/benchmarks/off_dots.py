"""Symbols whose modules need not be whole printer dots: each dot takes the module that its centre falls into."""

from dataclasses import replace

import numpy as np
from legibility_subjects import code_of

from tracelabels.identifiers import IdentifierMode, Payload
from tracelabels.legibility.condition import Condition
from tracelabels.legibility.specimen import specimen_of
from tracelabels.legibility.subject import Subject
from tracelabels.legibility.trial import Outcome, chance, try_reading
from tracelabels.symbols import DataMatrixShape, write_data_matrix

RIM = 6


def label(x, *, dpi, number):
    """Return a label with a Data Matrix of the module size x, mm, on a printer's dots."""
    rng = np.random.default_rng([31, number])
    text = "".join(rng.choice(list("0123456789ABCDEF"), 12))
    payload = Payload(text=text, fnc1_first=False, mode=IdentifierMode.IN_HOUSE)
    symbol = write_data_matrix(payload, shape=DataMatrixShape("18x18"))
    dots = x * dpi / 25.4
    if abs(dots - round(dots)) < 0.05:
        dots = float(round(dots))
    start = 0.0 if dots == round(dots) else rng.random()
    side = int(np.ceil(18 * dots + start))
    module = np.clip(np.floor((np.arange(side) + 0.5 - start) / dots).astype(int), 0, 17)
    picture = np.pad(symbol.modules[np.ix_(module, module)], RIM * 2)
    return Subject(
        label=str(number),
        picture=np.where(picture, 0, 255).astype(np.uint8),
        dpi=dpi,
        code=code_of(symbol, left=RIM * 2, top=RIM * 2, x=dots),
        tube_diameter=None,
        axis=None,
    )


def share_read(x, *, dpi, labels, photographs):
    """Return the share of photographs that read, at 2.0 to 3.5 pixels per module and a gain of a tenth of a module."""
    read = 0
    for number in range(labels):
        specimen = specimen_of(label(x, dpi=dpi, number=number))
        for seed in range(photographs):
            rng = np.random.default_rng([41, number, seed])
            usual = Condition(px_per_mm=rng.uniform(2.0, 3.5) / x, dot_gain=0.1 * x)
            outcome = try_reading(specimen, replace(usual, defocus=0.6), chance(51, number, seed))
            read += outcome is Outcome.READ
    return read / (labels * photographs)
