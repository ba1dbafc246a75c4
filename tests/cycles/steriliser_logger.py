"""A probe, a gauge and a logger on the modelled steriliser, and the files that loggers of many makes might write.

Sensors lag, are off, drift, hiss and step; the clock may step; rows may be lost, doubled or spoilt. The dialects are
invented from common practice (no source): separators, decimal commas, dates, units, headers in several languages.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from steriliser_model import Course, Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensor:
    """One measuring chain; amounts in kelvin or kilopascal."""

    lag_s: float = 2.0
    offset: float = 0.0
    drift_per_hour: float = 0.0
    noise: float = 0.03
    """Standard deviation."""

    def follow(self, seconds: Floats, truth: Floats) -> Floats:
        """Return what it would show without its noise: lagging, off by its offset and drift."""
        span = int(6 * self.lag_s) + 1
        kernel = np.exp(-np.arange(span) / max(self.lag_s, 1e-6))
        padded = np.concatenate([np.full(span - 1, truth[0]), truth])
        lagged = np.convolve(padded, kernel / kernel.sum(), mode="valid")
        return np.asarray(lagged + self.offset + self.drift_per_hour * seconds / 3600)


@dataclass(frozen=True, slots=True, kw_only=True)
class Faults:
    """What goes wrong between sensor and file; times in seconds of the run."""

    starts_s: float = 0.0
    ends_s: float = float("inf")
    gap: tuple[float, float] | None = None
    """No rows within it."""
    clock_step: tuple[float, float] | None = None
    """From when on the written clock is off, and by how many seconds."""
    doubled: tuple[float, ...] = ()
    """Rows near these times are written twice."""
    spikes: tuple[tuple[float, float], ...] = ()
    """The temperature (in the unit of the file) in the row near a time."""


class Reference:
    """To what a pressure is counted, and how the header says so."""

    ABSOLUTE = "absolute"
    GAUGE = "gauge"


@dataclass(frozen=True, slots=True, kw_only=True)
class Dialect:
    """How a logger writes."""

    language: str = "en"
    separator: str = ","
    decimal_mark: str = "."
    time: str = "iso"
    """``iso``, ``dmy``, ``mdy``, ``two_columns``, ``clock``, ``elapsed_s``, ``elapsed_min`` or ``elapsed_hms``."""
    temperature_unit: str = "C"
    temperature_step: float = 0.1
    """In the unit of the file."""
    pressure_unit: str | None = "kPa"
    """None: no pressure is written."""
    pressure_step: float = 0.1
    reference: str = Reference.ABSOLUTE
    said_temperature: str | None = "C"
    """The unit that the header names; None for none."""
    said_pressure: str | None = "kPa"
    said_reference: str | None = Reference.ABSOLUTE
    units_in_own_row: bool = False
    preamble: int = 0
    """Lines before the header."""
    has_index: bool = False
    has_phase: bool = False
    encoding: str = "utf-8"
    newline: str = "\r\n"
    begin: datetime = datetime(2026, 3, 14, 9, 12, 0)  # noqa: DTZ001  # a logger's clock has no zone


WORDS = {
    "en": ("Time", "Date", "Temperature", "Pressure", "No.", "Phase", "abs", "gauge", "Elapsed"),
    "de": ("Zeit", "Datum", "Temperatur", "Druck", "Nr.", "Phase", "absolut", "Überdruck", "Laufzeit"),
    "fr": ("Heure", "Date", "Température", "Pression", "N°", "Phase", "absolue", "relative", "Temps écoulé"),
    "es": ("Hora", "Fecha", "Temperatura", "Presión", "N.º", "Fase", "absoluta", "manométrica", "Tiempo"),
    "it": ("Ora", "Data", "Temperatura", "Pressione", "N.", "Fase", "assoluta", "relativa", "Tempo"),
    "nl": ("Tijd", "Datum", "Temperatuur", "Druk", "Nr.", "Fase", "absoluut", "overdruk", "Tijd"),
    "pt": ("Hora", "Data", "Temperatura", "Pressão", "N.º", "Fase", "absoluta", "manométrica", "Tempo"),
    "sv": ("Tid", "Datum", "Temperatur", "Tryck", "Nr", "Fas", "absolut", "övertryck", "Tid"),
}
KPA = {"kPa": 1.0, "bar": 100.0, "mbar": 0.1, "psi": 6.894757, "MPa": 1000.0}
PREAMBLE = {
    ";": ("Logger;LX-2", "Serial;000417", "Cycle;118", "Comment;morning, second load", ""),
    ",": ("Logger,LX-2", "Serial,000417", "Cycle,118", 'Comment,"morning, second load"', ""),
    "\t": ("Logger\tLX-2", "Serial\t000417", "Cycle\t118", "Comment\tmorning, second load", ""),
    "|": ("Logger|LX-2", "Serial|000417", "Cycle|118", "Comment|morning, second load", ""),
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sampled:
    """What the logger took, before it was written."""

    true_s: Floats
    written_s: Floats
    celsius: Floats
    kpa: Floats


def sample(course: Course, probed: tuple[Floats, Floats], noise: tuple[float, float], every_s: int, faults: Faults,
           rng: np.random.Generator) -> Sampled:  # fmt: skip
    """Take every so many seconds what probe and gauge show, noise and faults with it."""
    end = min(course.seconds[-1], faults.ends_s)
    at = np.arange(faults.starts_s, end + 1e-9, every_s)
    if faults.gap is not None:
        at = at[(at <= faults.gap[0]) | (at >= faults.gap[1])]
    for when in faults.doubled:
        place = int(np.searchsorted(at, when))
        at = np.insert(at, place, at[min(place, len(at) - 1)])
    celsius = np.interp(at, course.seconds, probed[0]) + rng.normal(0, noise[0], len(at))
    kpa = np.interp(at, course.seconds, probed[1]) + rng.normal(0, noise[1], len(at))
    again = np.flatnonzero(np.diff(at) == 0) + 1
    celsius[again], kpa[again] = celsius[again - 1], kpa[again - 1]
    written = at.copy()
    if faults.clock_step is not None:
        written = written + np.where(at >= faults.clock_step[0], faults.clock_step[1], 0.0)
    return Sampled(true_s=at, written_s=written, celsius=celsius, kpa=kpa)


def write_log(taken: Sampled, dialect: Dialect, faults: Faults, atmosphere_kpa: float) -> bytes:
    """Return the file."""
    columns: list[tuple[str, str, list[str]]] = []
    if dialect.has_index:
        columns.append((WORDS[dialect.language][4], "", [str(n + 1) for n in range(len(taken.true_s))]))
    columns += _times(taken.written_s, dialect)
    columns.append(_temperatures(taken, dialect, faults))
    if dialect.pressure_unit is not None:
        columns.append(_pressures(taken, dialect, atmosphere_kpa))
    if dialect.has_phase:
        columns.append((WORDS[dialect.language][5], "", [f"P{int(s // 300) + 1}" for s in taken.true_s]))
    lines = list(PREAMBLE[dialect.separator][: dialect.preamble])
    lines += _header(columns, dialect)
    lines += [dialect.separator.join(row) for row in zip(*(cells for _, _, cells in columns), strict=True)]
    return (dialect.newline.join(lines) + dialect.newline).encode(dialect.encoding)


def _header(columns: list[tuple[str, str, list[str]]], dialect: Dialect) -> list[str]:
    if dialect.units_in_own_row:
        return [dialect.separator.join(title for title, _, _ in columns),
                dialect.separator.join(unit for _, unit, _ in columns)]  # fmt: skip
    return [dialect.separator.join(f"{title} [{unit}]" if unit else title for title, unit, _ in columns)]


def _times(seconds: Floats, dialect: Dialect) -> list[tuple[str, str, list[str]]]:
    words = WORDS[dialect.language]
    elapsed = seconds - seconds[0]
    if dialect.time == "elapsed_s":
        return [(words[8], "s", [f"{s:.0f}" for s in elapsed])]
    if dialect.time == "elapsed_min":
        return [(words[8], "min", _numbers(elapsed / 60, 0.001, dialect))]
    if dialect.time == "elapsed_hms":
        return [(words[8], "h:min:s", [f"{s // 3600:.0f}:{s % 3600 // 60:02.0f}:{s % 60:02.0f}" for s in elapsed])]
    moments = [dialect.begin + timedelta(seconds=float(s)) for s in seconds]
    if dialect.time == "two_columns":
        return [(words[1], "", [f"{m:%d.%m.%Y}" for m in moments]), (words[0], "", [f"{m:%H:%M:%S}" for m in moments])]
    style = {"iso": "%Y-%m-%d %H:%M:%S", "dmy": "%d.%m.%Y %H:%M:%S", "mdy": "%m/%d/%Y %H:%M:%S", "clock": "%H:%M:%S"}
    return [(words[0], "", [m.strftime(style[dialect.time]) for m in moments])]


def _numbers(values: Floats, step: float, dialect: Dialect) -> list[str]:
    places = max(0, int(np.ceil(-np.log10(step) - 1e-9)))
    written = [f"{value:.{places}f}" for value in (np.round(values / step) * step).tolist()]
    return written if dialect.decimal_mark == "." else [cell.replace(".", dialect.decimal_mark) for cell in written]


def _temperatures(taken: Sampled, dialect: Dialect, faults: Faults) -> tuple[str, str, list[str]]:
    values = taken.celsius * 1.8 + 32 if dialect.temperature_unit == "F" else taken.celsius.copy()
    for when, value in faults.spikes:
        values[min(int(np.searchsorted(taken.true_s, when)), len(values) - 1)] = value
    unit = "" if dialect.said_temperature is None else f"°{dialect.said_temperature}"
    return WORDS[dialect.language][2], unit, _numbers(values, dialect.temperature_step, dialect)


def _pressures(taken: Sampled, dialect: Dialect, atmosphere_kpa: float) -> tuple[str, str, list[str]]:
    counted = taken.kpa - (atmosphere_kpa if dialect.reference == Reference.GAUGE else 0.0)
    words = WORDS[dialect.language]
    said = "" if dialect.said_pressure is None else dialect.said_pressure
    if dialect.said_reference is not None:
        said = f"{said} {words[6] if dialect.said_reference == Reference.ABSOLUTE else words[7]}".strip()
    cells = _numbers(counted / KPA[dialect.pressure_unit or ""], dialect.pressure_step, dialect)
    return words[3], said, cells
