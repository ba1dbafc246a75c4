"""Make a practice's folder: commented settings, an empty ledger, places for evidence, prints and own templates."""

from datetime import date
from pathlib import Path
from typing import Final

from tracelabels.errors import InputError
from tracelabels.settings import FILE_NAME, parse_settings
from tracelabels.workflows.practice import EVIDENCE, OWN_TEMPLATES, PRINTED, open_practice

OWN_KINDS: Final = ("sheets", "layouts", "programmes")
"""Folders for files of its own, in the practice's folder of templates."""

SETTINGS_TEXT: Final = """\
# Settings of one practice. Unknown keys are refused, so a misspelt one is noticed.

[practice]
name = "{name}"
site = {site}               # 1 to 99; every serial of this place begins with it, so no two places may share one
time_zone = "{zone}"       # an IANA name such as "Europe/Vienna"; decides what "today" is

[identifiers]
# "in_house": codes use the GS1 element syntax for use-by, date prepared, batch and serial, without claiming to be GS1.
# "gs1": conformant GS1 DataMatrix; only for a practice that owns a GS1 company prefix and gives its items GTINs.
mode = "in_house"
company_prefix = ""

[identifiers.gtins]
# Only for mode "gs1": the practice's own GTIN (14 digits) for each item number that it prepares, for example
# "R-12" = "..."

[printing]
dpi = 300              # the printer's dots per inch; symbols are built from whole dots
offset_x_mm = 0.0      # positive moves everything right; measure it with "tracelabels align"
offset_y_mm = 0.0      # positive moves everything down
scale_x = 1.0          # stretches the distances between labels, never a symbol
scale_y = 1.0
tube_sheet = "a4-5x13-38.1x21.2"
pouch_sheet = "a4-3x8-63.5x33.9"

[policy]
# Local codes, the steriliser's and the pigment maker's instructions come first.
limit_after_preparation = "180 days"   # "28 days", "12 months", or "none"
pouch_shelf_life = "event"             # a period from processing, or "event": until wet, torn or opened
without_expiry = "stop"                # a bottle that states no expiry: "stop", or a period from the day received
unknown_opening = "stop"               # a bottle opened nobody knows when: "stop" or "as_received"
validated_liquid_cycle = ""            # where the validation of a liquid cycle is filed, or nothing

[sterilisation]
# Local codes and the steriliser's instructions come first. Spore test = biological indicator (BI).
spore_test_interval_days = 7           # for each steriliser and cycle kind, after the last test's load
spore_growth_policy = "strict"         # "strict": all since the last passed test; "confirm_first": three repeat cycles
incubation_hours = 24                  # when a test is read; 24 to 48 are common (from memory): its maker says which
second_person_for_release = false      # true: a load is released by somebody else than its operator
early_release = false                  # true: release while a spore test incubates is allowed, and marked as early
who_may_release = []                   # staff codes; nobody named: everybody
air_removal_test = "refuse"            # an air-removal load without that day's passed test: "refuse" or "warn"

[stock]
name = "label stock"
method = "unknown"     # laser, inkjet, thermal_transfer, direct_thermal (never into a steriliser) or unknown
# withstands_steam = true      # only if its maker says that stock, glue and print go through your steriliser

[envelope]
# Within what labels shall still read when they are photographed; each factor has a usual value and a limit. What is
# left out keeps the usual span ("tracelabels check" shows them all). For example:
# px_per_mm = {{ nominal = 20.0, limit = 12.0 }}     # pixels a millimetre: how near the phone comes
# off_axis = {{ nominal = 0.0, limit = 20.0 }}       # degrees round the tube

[retention]
# A client is not erased before the longest of these rules has run out, counted from the last thing on record.
# Texts that were read ask for two to three years for client, load and spore-test records; reactions to ink may come
# late, so ten years for what leads from ink to client. Local law and your insurer may ask for more: add a rule.
client_records_years = 10
load_records_years = 3
# [[retention.rules]]
# name = "local code"
# years = 15

[database]
url = ""               # nothing: an SQLite file in this folder; or "postgresql://user@host/name"
"""


def make_practice(
    folder: Path, *, name: str = "A practice", site: int = 1, zone: str = "UTC", today: date | None = None
) -> Path:
    """Make a practice's folder and return its settings file.

    Args:
        folder: made if it is not there; anything already in it is left alone.
        name: of the practice.
        site: two digits with which its serials begin.
        zone: IANA time zone.
        today: the date to take as today's.

    Raises:
        InputError: a practice lives there already.
        SettingsError: name, site or zone is none.
    """
    settings = folder / FILE_NAME
    if settings.exists():
        raise InputError(
            given=f"{folder}, where a practice lives already",
            expected="a folder without practice.toml",
            remedy="name another folder, or edit that practice's settings",
        )
    quoted = name.replace("\\", "\\\\").replace('"', '\\"')
    text = SETTINGS_TEXT.format(name=quoted, site=site, zone=zone)
    parse_settings(text)
    for part in (EVIDENCE, PRINTED, *(f"{OWN_TEMPLATES}/{kind}" for kind in OWN_KINDS)):
        (folder / part).mkdir(parents=True, exist_ok=True)
    settings.write_text(text, encoding="utf-8")
    with open_practice(folder, today=today):
        pass
    return settings
