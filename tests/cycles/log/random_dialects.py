"""Invented cycles written in invented dialects: what a person might get from a logger, with what it says in truth."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles.steam import saturation_pressure_kpa

HEADERS = {
    "en": ("Date", "Time", "Elapsed", "Temperature", "Jacket temperature", "Pressure", "abs", "gauge", "No.", "Phase"),
    "de": (
        "Datum",
        "Uhrzeit",
        "Laufzeit",
        "Temperatur",
        "Manteltemperatur",
        "Druck",
        "abs",
        "Überdruck",
        "Nr.",
        "Phase",
    ),
    "fr": ("Date", "Heure", "Temps", "Température", "Temp. double enveloppe", "Pression", "abs", "rel", "N°", "Phase"),
    "es": ("Fecha", "Hora", "Tiempo", "Temperatura", "Temp. camisa", "Presión", "abs", "manométrica", "Núm", "Fase"),
    "it": ("Data", "Ora", "Tempo", "Temperatura", "Temp. camicia", "Pressione", "assoluta", "relativa", "N.", "Fase"),
    "nl": ("Datum", "Tijd", "Tijd", "Temperatuur", "Temp. ketel", "Druk", "absoluut", "overdruk", "Nr.", "Fase"),
    "pt": (
        "Data",
        "Hora",
        "Tempo",
        "Temperatura",
        "Temp. caldeira",
        "Pressão",
        "absoluta",
        "manométrica",
        "N.º",
        "Fase",
    ),
}
"""Date, clock, elapsed time, temperature, another temperature, pressure, two zeros, number of the row, phase."""
DATES = ("%d.%m.%Y", "%d/%m/%Y", "%m/%d/%Y", "%Y-%m-%d", "%Y/%m/%d", "%d.%m.%y", "%d-%b-%Y", "%d-%m-%Y")
KPA = {"kPa": (1.0, 1), "bar": (100.0, 3), "mbar": (0.1, 0), "psi": (6.894757293168, 2), "MPa": (1000.0, 4)}
"""Kilopascal in one, and the digits after the mark that are usual."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Written:
    """A log and its truth."""

    content: bytes
    seconds: NDArray[np.float64]
    celsius: NDArray[np.float64]
    kpa: NDArray[np.float64] | None
    started_at: datetime | None
    celsius_step: float
    kpa_step: float


def _cycle(rng: np.random.Generator) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """A cold start, heating, a plateau of saturated steam, cooling; no steriliser in particular."""
    hold = rng.choice([121.4, 126.5, 132.6, 134.7])
    ends = np.cumsum([0, rng.integers(400, 1500), rng.integers(240, 1300), rng.integers(300, 900)])
    every = int(rng.choice([1, 2, 5, 10, 15, 30]))
    seconds = np.arange(0, ends[-1], every, dtype=np.float64)
    celsius = np.interp(seconds, ends, [rng.uniform(16, 29), hold, hold, rng.uniform(60, 95)])
    steam = saturation_pressure_kpa(celsius)
    kpa = np.where(celsius > 100.2, steam, 101.3)
    return seconds, celsius + rng.normal(0, 0.03, len(celsius)), kpa


class _Writer:
    """One dialect, drawn by chance."""

    def __init__(self, seed: int) -> None:
        self.rng = np.random.default_rng(seed)
        self.language = str(self.rng.choice(list(HEADERS)))
        self.words = HEADERS[self.language]
        self.separator = str(self.rng.choice([",", ";", "\t", "|"]))
        self.mark = str(self.rng.choice([".", ","]))
        self.quoted = bool(self.rng.random() < 0.2)
        self.named_units = bool(self.rng.random() < 0.8)
        self.own_row = self.named_units and bool(self.rng.random() < 0.2)
        # Where the comma is both, only a header with as many words as columns tells them apart.
        self.has_header = bool(self.rng.random() < 0.9) or (self.separator == self.mark and not self.quoted)

    def maybe(self, share: float) -> bool:
        return bool(self.rng.random() < share)

    def number(self, value: float, digits: int) -> str:
        return f"{value:.{digits}f}".replace(".", self.mark)

    def heading(self, name: str, unit: str) -> tuple[str, str]:
        return name, unit if self.named_units else ""


def write_at_random(seed: int) -> Written:
    """Write one cycle in one dialect."""
    writer = _Writer(seed)
    seconds, celsius, kpa = _cycle(writer.rng)
    columns, start = _time_columns(writer, seconds)
    unit, digits = str(writer.rng.choice(["C", "C", "F", "K"])), int(writer.rng.choice([0, 1, 1, 2]))
    shown = {"C": celsius, "F": celsius * 1.8 + 32, "K": celsius + 273.15}[unit]
    temperature = [writer.number(value, digits) for value in shown]
    jacket = [writer.number(value + 4, digits) for value in shown]
    degree = {"C": "°C", "F": "°F", "K": "K"}[unit]
    named = [(*writer.heading(writer.words[3], degree), temperature)]
    if writer.has_header and writer.maybe(0.3):
        named.insert(int(writer.rng.integers(2)), (*writer.heading(writer.words[4], degree), jacket))
    has_pressure = writer.maybe(0.7)
    kpa_step = 0.0
    if has_pressure:
        pressure, kpa_step = _pressure_column(writer, kpa)
        named.insert(int(writer.rng.integers(len(named) + 1)), pressure)
    columns += named
    if writer.has_header and writer.maybe(0.3):
        columns.insert(0, (writer.words[8], "", [str(row + 1) for row in range(len(seconds))]))
    if writer.has_header and writer.maybe(0.2):
        columns.append((writer.words[9], "", [f"P{int(at // 300)}" for at in seconds]))
    return Written(
        content=_file(writer, columns),
        seconds=seconds,
        celsius=celsius,
        kpa=kpa if has_pressure else None,
        started_at=start,
        celsius_step=10.0**-digits / (1.8 if unit == "F" else 1),
        kpa_step=kpa_step,
    )


def _time_columns(
    writer: _Writer, seconds: NDArray[np.float64]
) -> tuple[list[tuple[str, str, list[str]]], datetime | None]:
    date, clock, elapsed = writer.words[:3]
    style = str(writer.rng.choice(["moment", "two", "clock", "s", "min", "h:m:s", "m:s", "am", "iso"]))
    if style in {"s", "min"}:
        digits = 0 if style == "s" else 3
        cells = [writer.number(at / (1 if style == "s" else 60), digits) for at in seconds]
        return [(*writer.heading(elapsed, style), cells)], None
    if style in {"h:m:s", "m:s"} and seconds[-1] < 3600:
        hours = style == "h:m:s"
        cells = [f"{'0:' * hours}{int(at // 60):02d}:{int(at % 60):02d}" for at in seconds]
        return [(elapsed, "", cells)], None
    start = datetime(2026, int(writer.rng.integers(1, 13)), int(writer.rng.integers(13, 29)))  # noqa: DTZ001 - a logger's
    start += timedelta(seconds=int(writer.rng.integers(86400)))
    moments = [start + timedelta(seconds=float(at)) for at in seconds]
    if style in {"clock", "h:m:s", "m:s"}:
        return [(clock, "", [f"{at:%H:%M:%S}" for at in moments])], None
    if style == "iso":
        zone = str(writer.rng.choice(["", "Z", "+02:00"]))
        return [(clock, "", [f"{at:%Y-%m-%dT%H:%M:%S}{zone}" for at in moments])], start
    form = str(writer.rng.choice(DATES))
    times = [f"{at:%I:%M:%S %p}" if style == "am" else f"{at:%H:%M:%S}" for at in moments]
    days = [at.strftime(form) for at in moments]
    if style == "two":
        return [(date, "", days), (clock, "", times)], start
    return [(f"{date} {clock}", "", [f"{day} {time}" for day, time in zip(days, times, strict=True)])], start


def _pressure_column(writer: _Writer, kpa: NDArray[np.float64]) -> tuple[tuple[str, str, list[str]], float]:
    unit = str(writer.rng.choice(list(KPA)))
    size, digits = KPA[unit]
    gauge, said = writer.maybe(0.5), writer.maybe(0.5)
    cells = [writer.number((value - (101.325 if gauge else 0)) / size, digits) for value in kpa]
    name = f"{writer.words[5]} {writer.words[7 if gauge else 6]}" if said else writer.words[5]
    return (*writer.heading(name, unit), cells), size * 10.0**-digits


def _file(writer: _Writer, columns: list[tuple[str, str, list[str]]]) -> bytes:
    quote = '"' if writer.quoted else ""
    join = writer.separator

    def row(cells: list[str]) -> str:
        return join.join(f"{quote}{cell}{quote}" for cell in cells)

    lines = [f"Logger{join}X{number}" for number in range(int(writer.rng.integers(4)))] if writer.maybe(0.3) else []
    if writer.has_header and writer.own_row:
        lines += [row([name for name, _, _ in columns]), row([unit for _, unit, _ in columns])]
    elif writer.has_header:
        bracket = str(writer.rng.choice(["[]", "()"]))
        lines.append(row([f"{name} {bracket[0]}{unit}{bracket[1]}" if unit else name for name, unit, _ in columns]))
    lines += [row(list(cells)) for cells in zip(*(cells for _, _, cells in columns), strict=True)]
    newline = "\r\n" if writer.maybe(0.5) else "\n"
    text = newline.join(lines) + (newline if writer.maybe(0.8) else "")
    return text.encode(str(writer.rng.choice(["utf-8", "utf-8-sig", "cp1252", "utf-16"])))
