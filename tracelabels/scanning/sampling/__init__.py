"""The modules of a symbol whose place is known, sampled and decoded: the last step of reading hard photographs.

Given a map from module coordinates to pixels, the picture's blur is undone at several strengths, each module's level is
taken, and what is dark is decided by the symbol's own fixed pattern. What glare hides is told from what was seen, and
goes to the error correction as missing instead of wrong, as far as chance allows.

Modules:
    geometry: a map from modules to pixels, and points of modules.
    fixed_cells: which modules of a shape are dark or light in every symbol.
    sharpening: the picture with a blur undone.
    levels: the level of each module.
    light_fields: what dark and light are at each place.
    deciding: dark, light or unknown, with a confidence.
    erasing: codewords from what was seen, and how many may be missing.
    ideal: a clean picture of modules, read.
    reading: the order of all this.
"""

from tracelabels.scanning.sampling.erasing import FALSE_CHANCE, is_allowed, most_erasures
from tracelabels.scanning.sampling.fixed_cells import SymbolShape
from tracelabels.scanning.sampling.geometry import ModuleMap
from tracelabels.scanning.sampling.reading import read_sampled

__all__ = ["FALSE_CHANCE", "ModuleMap", "SymbolShape", "is_allowed", "most_erasures", "read_sampled"]
