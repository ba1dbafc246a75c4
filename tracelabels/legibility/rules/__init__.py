"""Rules: what standards and practice ask of a label, each in its own module, each answer with its source.

Modules, from the bottom up:
    stock: the label stock and the ink.
    extent: how far a symbol reaches.
    x_dimension: the module against GS1's tables.
    whole_dots: modules on whole printer dots.
    quiet_zones: the light margin.
    curvature: one sixth of the circumference; the grid on a cylinder.
    orientation: how a code lies on a tube.
    registration: the label's edge.
    legible_text: type size, essential text whole.
    contrast: ink and stock under red light.
    steam: stock that goes through a steriliser.
    checking: all of them.
"""

from tracelabels.legibility.rules.checking import check_rules
from tracelabels.legibility.rules.stock import PrintMethod, Stock, Tint

__all__ = ["PrintMethod", "Stock", "Tint", "check_rules"]
