"""Labels made of one symbol, for whoever photographs them: shared by the tests of this folder and by benchmarks."""

import numpy as np

from tracelabels.legibility.subject import PrintedCode, Subject


def code_of(symbol, *, left, top, x, y=None, modules=None):
    """Describe a symbol at a place, all in printer dots; y is the length of the bars of a linear one."""
    return PrintedCode(
        symbology=symbol.symbology,
        symbology_identifier=symbol.symbology_identifier,
        version=symbol.version,
        text=symbol.payload.text,
        modules=symbol.modules if modules is None else modules,
        left=left,
        top=top,
        x=x,
        y=x if y is None else y,
    )


def label_of(symbol, *, rim, x=4, bars=1, dpi=300, label="1", tube=None, axis=None):
    """Return a label with one symbol and a rim of so many light dots; a linear symbol has bars of so many dots."""
    y = x if symbol.modules.shape[0] > 1 else bars
    picture = np.pad(symbol.modules.repeat(y, axis=0).repeat(x, axis=1), rim)
    return Subject(
        label=label,
        picture=np.where(picture, 0, 255).astype(np.uint8),
        dpi=dpi,
        code=code_of(symbol, left=rim, top=rim, x=x, y=y),
        tube_diameter=tube,
        axis=axis,
    )
