"""The text of a logger's file to readings, with everything that had to be assumed, and everything odd in it.

Modules, in the order in which a file goes through them:
    reading: the order of steps.
    asked: what a person may say of a file.
    decoding: bytes to text.
    dialect: separator and decimal mark.
    table: lines to fields.
    header: where the readings begin, names of the columns, units.
    vocabulary: what the words of headers mean, in eight languages.
    columns: which column holds the times.
    measured: which columns hold the temperature and the pressure that are judged.
    rows: the columns of all rows as times and numbers, and why a row is none.
    alike: fields that are written alike are read alike.
    shapes: what a single field looks like.
    numbers: a column of numbers.
    times: a column of times.
    dates: the order of day, month and year.
    units: deciding the units.
    temperature_units: what numbers look like as temperatures.
    pressure_units: what numbers look like as pressures.
    time_units: seconds or minutes.
    sequence: times put in order.
    spikes: single readings that no chamber can follow.
    gaps: stretches without readings.
    noting: what is odd, kept while a log is read.
    logged: what was read from a log: readings, assumptions, oddities.
"""

from tracelabels.cycles.log.logged import Basis, Guess, LoggedCycle, LogOptions, Oddity, OddityKind
from tracelabels.cycles.log.reading import read_log

__all__ = ["Basis", "Guess", "LogOptions", "LoggedCycle", "Oddity", "OddityKind", "read_log"]
