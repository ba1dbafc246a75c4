"""Why a code was not read, from measurements, and what a gloved person with one hand free can do about it.

A patch that may be a symbol is turned upright by its four sides, its surroundings with it. There everything is measured
that hides a code: pixels a module along both axes, how far edges are spread and whether more so in one direction,
levels, glare, shadow, light lines through the print, and for each side whether stock, something else or nothing lies
beyond it. The causes are asked in one order, the surest first; what no measurement shows is not guessed.

Modules:
    findings: the causes, and a finding.
    upright: a patch with its surroundings, turned upright.
    edges: how far edges are spread, in each direction.
    marks: which samples are print, and how wide a module is.
    around: what lies beyond each side.
    measuring: all that is measured on a patch, as one value.
    blots: glare, also beside what is left of a code.
    faint: a picture in which pale print is dark.
    candidates: which patches of a picture are symbols.
    judging: the causes in their order, each with its limit and its words.
    explaining: the order of all this.
"""

from tracelabels.scanning.advising.explaining import Explained, explain_unread, find_picture_cause
from tracelabels.scanning.advising.findings import Cause, Finding

__all__ = ["Cause", "Explained", "Finding", "explain_unread", "find_picture_cause"]
