"""The text of a logger's file to readings, with everything that had to be assumed, and everything odd in it.

Modules:
    logged: what was read from a log: readings, assumptions, oddities.
"""

from tracelabels.cycles.log.logged import Basis, Guess, LoggedCycle, LogOptions, Oddity, OddityKind

__all__ = ["Basis", "Guess", "LogOptions", "LoggedCycle", "Oddity", "OddityKind"]
