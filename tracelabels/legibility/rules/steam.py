"""Label stock that goes through a steam steriliser; direct-thermal paper is refused before processing."""

from tracelabels.custody import LabelKind
from tracelabels.legibility.findings import Finding, Legibility
from tracelabels.legibility.rules.stock import PrintMethod, Stock
from tracelabels.legibility.subject import Subject

RULE = "steam"
SOURCE = "common practice (from memory): direct-thermal paper blackens from about 60 to 100 degrees C on"
REQUIRED = "stock, glue and print that go through the steriliser unharmed"
CAUTION = "direct-thermal paper turns black in the steriliser, and nothing on it can be read afterwards"


def check(subject: Subject, *, stock: Stock | None) -> Finding | None:
    """Say whether the stock may go into the steriliser; nothing where nobody knows.

    A label that is stuck on after processing (a layout for the second surface) may be of any stock.
    """
    if subject.layout is not None and subject.layout.surface is LabelKind.SECOND:
        return _finding(Legibility.PASS, "this label is stuck on after processing", "")
    if stock is None:
        return None
    if stock.method is PrintMethod.DIRECT_THERMAL:
        return _finding(Legibility.FAIL, f"{stock.name} is direct thermal: {CAUTION}", _TAKE)
    if stock.withstands_steam is None:
        return None
    if not stock.withstands_steam:
        return _finding(Legibility.FAIL, f"{stock.name} does not withstand steam", _TAKE)
    return _finding(Legibility.PASS, f"{stock.name} withstands steam", "")


UNKNOWN = (
    "nobody entered whether the label stock withstands steam: ask its maker, or send one printed label through a cycle "
    "and scan it before and after ([stock] in practice.toml)"
)
"""What to tell people where the rule says nothing."""

_TAKE = "print on polypropylene or polyester film with high-temperature glue, by laser or thermal transfer with resin"


def _finding(verdict: Legibility, measured: str, fix: str) -> Finding:
    return Finding(rule=RULE, verdict=verdict, measured=measured, required=REQUIRED, source=SOURCE, fix=fix)
