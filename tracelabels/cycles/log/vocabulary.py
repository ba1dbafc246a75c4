"""Words of headers in eight languages: what a column holds, in which unit, and where its probe is.

Common practice, no source: words in English, German, French, Spanish, Italian, Dutch, Portuguese and Swedish, without
accents and in lower case.
"""

import re
import unicodedata
from dataclasses import dataclass
from enum import StrEnum
from typing import Final


class Role(StrEnum):
    """What a column holds."""

    TIME = "time"
    DATE = "date"
    TEMPERATURE = "temperature"
    PRESSURE = "pressure"
    OTHER = "other"
    """Something else that is known and not needed."""
    UNKNOWN = "unknown"


class Place(StrEnum):
    """Where a probe is, as far as judging asks."""

    INSIDE = "inside"
    """In chamber, drain, load or product."""
    UNSAID = "unsaid"
    OUTSIDE = "outside"
    """Jacket, steam generator, room."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """What the words over a column say."""

    text: str
    """The words."""
    role: Role
    """What it holds."""
    unit: str = ""
    """Its unit, as in ``UNITS``; empty if not said."""
    reference: str = ""
    """Of a pressure: ``absolute`` or ``gauge``; empty if not said."""
    place: Place = Place.UNSAID
    """Where it is measured."""


STEMS: Final[dict[Role, tuple[str, ...]]] = {
    Role.PRESSURE: ("pressure", "druck", "pression", "presion", "pressao", "vacuum", "vakuum", "tryck"),
    Role.TEMPERATURE: ("temperat", "celsius", "fahrenheit", "thermo"),
    Role.DATE: ("datum", "fecha"),
    Role.TIME: ("zeit", "timestamp", "elapsed", "dauer", "uhrzeit", "horodat", "tijd", "seconds", "sekund", "minut"),
}
"""Parts of words, since some languages write compounds."""

WORDS: Final[dict[Role, tuple[str, ...]]] = {
    Role.PRESSURE: ("press", "p", "druk", "pres"),
    Role.TEMPERATURE: ("temp", "temps1", "tmp", "tc", "pt100", "pt1000"),
    Role.DATE: ("date", "data", "day", "tag", "jour", "dia", "giorno", "dag"),
    Role.TIME: (
        "time",
        "temps",
        "heure",
        "duree",
        "tiempo",
        "hora",
        "tempo",
        "ora",
        "orario",
        "uur",
        "clock",
        "uhr",
        "tid",
    ),
}
"""Whole words."""

COUNTING: Final = (
    "# no nr num number index idx id n record rec sample scan row line lfd numero muestra messung meting campione "
    "amostra cycle zyklus cycles charge chargennummer lot"
)
"""Words of a column that counts rows or names the cycle; a heading of nothing else is one of those."""
OTHERS: Final = (
    "f0 fo fh a0 lethality letalitat rh humidity feuchte humidite humedad umidita vochtigheid umidade "
    "set setpoint sp soll sollwert consigne consigna target ziel theoretical calculated sat saturation "
    "battery batterie bateria batteria batterij status state phase fase fas step stage alarm event error fault "
    "valve pump level remark note conductivity flow"
)
"""Words of columns that are not needed here, even if they have the unit of one that is."""
PLACES: Final[dict[Place, str]] = {
    Place.INSIDE: (
        "chamber kammare kammer chambre cuve camara camera kamer drain abfluss purge desague scarico afvoer dreno load "
        "beladung product produkt produit producto prodotto produto carga carico lading reference referenz tube "
        "rohrchen"
    ),
    Place.OUTSIDE: (
        "jacket mantel manteau enveloppe camisa camicia generator generador generateur generatore gerador "
        "dampferzeuger boiler ketel kessel caldera caldaia caldeira ambient ambiente ambiant umgebung omgeving room "
        "raum door wall wand water wasser condenser kondensator supply board cold junction"
    ),
}
"""Words that say where a probe is."""

ABSOLUTE: Final = re.compile(
    r"(?<![a-z])(?:abs|absol[a-z]*|assolut[a-z]*|a)(?![a-z])|(?:bar|psi|kpa)a(?![a-z])|absolut"
)
GAUGE: Final = re.compile(
    r"(?<![a-z])(?:gauge|g|rel|relativ[a-z]*|relatief|manom[a-z]*|effecti[a-z]*)(?![a-z])|(?:bar|psi|kpa)g(?![a-z])"
    r"|uberdruck|ueberdruck|overdruk|overtryck"
)

APART: Final = r"(?<=[\[(/,;_ ])"
"""Before a unit of few letters stands a bracket, a mark or a blank."""
OVER: Final = r"\.?(?=[\])]|$)"
"""Behind it the bracket or the heading ends."""
UNITS: Final[dict[Role, tuple[tuple[str, str], ...]]] = {
    Role.PRESSURE: (
        ("kPa", r"kpa[ag]?"),
        ("mbar", r"mbar[ag]?|hpa"),
        ("MPa", r"mpa[ag]?"),
        ("bar", r"bar[ag]?"),
        ("psi", r"psi[ag]?|lbf?/in2|lb/sq ?in"),
        ("kgf/cm2", r"kgf?/cm[2²]|kp/cm[2²]"),
        ("atm", r"atm"),
        ("mmHg", r"mm ?hg|torr"),
        ("Pa", r"pa"),
    ),
    Role.TEMPERATURE: (
        ("C", rf"[°º˚?] ?c|deg\.? ?c|celsius|℃|{APART}c{OVER}|gradi c|grad c"),
        ("F", rf"[°º˚?] ?f|deg\.? ?f|fahrenheit|℉|{APART}f{OVER}"),
        ("K", rf"kelvin|{APART}k{OVER}"),
    ),
    Role.TIME: (
        ("ms", rf"{APART}(?:ms|msec){OVER}|milliseconds"),
        ("s", rf"{APART}(?:s|secs?|sek|seg){OVER}|^(?:s|sec|sek|seg)$|second[a-z]*|sekund|segundos|secondi|seconden"),
        ("min", rf"{APART}(?:min|mins|mn){OVER}|^min$|minut[a-z]*"),
        (
            "h",
            rf"{APART}(?:h|hrs?|std){OVER}|^h$|(?<![a-z])hours?(?![a-z])|stunden|heures|(?<![a-z])horas(?![a-z])|uren",
        ),
        ("d", rf"{APART}d{OVER}|(?<![a-z])days(?![a-z])|tage|jours"),
    ),
}
"""Units and how they are written; the first that is found counts."""

CLOCK_FORMS: Final = re.compile(r"[hm]{1,2}:[ms]{2}(?::ss)?")
"""A form such as ``hh:mm:ss`` names no unit."""


def plain(text: str) -> str:
    """Return a text without accents, in lower case, with words cut where a capital follows a small letter."""
    text = re.sub(r"(?<=[a-zäöüéè]{2})(?=[A-Z][a-z]|[CFKTP](?:[^A-Za-z]|$))", " ", text)
    text = "".join(one for one in unicodedata.normalize("NFD", text) if not unicodedata.combining(one))
    return text.casefold().strip()


def find_unit(words: str, role: Role) -> str:
    """Find the unit of a role in plain words; empty if there is none."""
    if role is Role.PRESSURE:
        cut = ((unit, rf"(?<![a-z])(?:{pattern})(?![a-z])") for unit, pattern in UNITS[role])
        return next((unit for unit, pattern in cut if re.search(pattern, words)), "")
    if role is Role.TIME:
        words = CLOCK_FORMS.sub("", words)
    return next((unit for unit, pattern in UNITS.get(role, ()) if re.search(pattern, words)), "")


def read_heading(text: str) -> Heading:
    """Say what the words over a column mean.

    >>> read_heading("Kammerdruck [mbar abs]").unit
    'mbar'
    """
    words = plain(text[:200])
    role = _role(text.strip(), words)
    place = next((place for place, known in PLACES.items() if any(one in words for one in known.split())), Place.UNSAID)
    return Heading(
        text=text.strip(), role=role, unit=find_unit(words, role), reference=_reference(words, role), place=place
    )


def _reference(words: str, role: Role) -> str:
    if role is not Role.PRESSURE:
        return ""
    if GAUGE.search(words):
        return "gauge"
    return "absolute" if ABSOLUTE.search(words) else ""


def _role(text: str, words: str) -> Role:
    whole = set(re.findall(r"[a-z]+\d*|#", words))
    if not text:
        return Role.UNKNOWN
    if whole <= set(COUNTING.split()) or whole & set(OTHERS.split()) or "%" in words:
        return Role.OTHER if whole or "%" in words else Role.UNKNOWN
    for role in (Role.PRESSURE, Role.TEMPERATURE):
        if find_unit(words, role):
            return role
    letter = re.fullmatch(r"([TtPp])\d{0,2}", re.sub(r"[\[(/].*", "", text).strip())
    if letter:
        return {"T": Role.TEMPERATURE, "t": Role.TIME}.get(letter[1], Role.PRESSURE)
    return _role_by_words(words, whole)


def _role_by_words(words: str, whole: set[str]) -> Role:
    bare = {re.sub(r"\d+$", "", one) for one in whole}
    said = {
        role
        for role in (Role.PRESSURE, Role.TEMPERATURE, Role.DATE, Role.TIME)
        if bare & set(WORDS[role]) or any(stem in words for stem in STEMS[role])
    }
    if said >= {Role.DATE, Role.TIME}:
        return Role.TIME
    order = (Role.PRESSURE, Role.TEMPERATURE, Role.TIME, Role.DATE)
    found = next((role for role in order if role in said), Role.UNKNOWN)
    return Role.TIME if found is Role.UNKNOWN and find_unit(words, Role.TIME) else found
