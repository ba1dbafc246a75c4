"""practice.toml as frozen values; unknown keys are refused with a sentence that names file, key and value."""

import difflib
import re
import tomllib
from datetime import tzinfo
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Final, Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import msgspec

from tracelabels.custody import Period, Policy, RetentionRule, UnknownOpeningRule, parse_period
from tracelabels.errors import InputError, SettingsError
from tracelabels.identifiers import IdentifierMode, has_valid_check_digit
from tracelabels.sterilization import GrowthPolicy, SporePolicy

FILE_NAME: Final = "practice.toml"

Text = Annotated[str, msgspec.Meta(min_length=1, max_length=120)]
Site = Annotated[int, msgspec.Meta(ge=1, le=99)]
Resolution = Annotated[int, msgspec.Meta(ge=100, le=2400)]
Correction = Annotated[float, msgspec.Meta(ge=-20.0, le=20.0)]
Scale = Annotated[float, msgspec.Meta(ge=0.95, le=1.05)]
Gtin = Annotated[str, msgspec.Meta(pattern=r"^[0-9]{14}$")]
Prefix = Annotated[str, msgspec.Meta(pattern=r"^([0-9]{4,12})?$")]
Years = Annotated[int, msgspec.Meta(ge=0, le=100)]
Days = Annotated[int, msgspec.Meta(ge=1, le=366)]
Hours = Annotated[int, msgspec.Meta(ge=1, le=24 * 14)]


class DailyTestRule(StrEnum):
    """What a missing test of the day does to a load."""

    REFUSE = "refuse"
    WARN = "warn"


class _Section(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A section of the file: frozen, named keys only, unknown keys refused."""


class PracticeSection(_Section, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Who and where."""

    name: Text = "A practice"
    """Printed on pages; never in a code."""
    site: Site = 1
    """The two digits with which every serial of this place begins."""
    time_zone: Text = "UTC"
    """An IANA name; decides what 'today' is."""


class IdentifierWish(StrEnum):
    """What the codes on labels claim."""

    IN_HOUSE = "in_house"
    GS1 = "gs1"


class IdentifierSection(_Section, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What the codes claim."""

    mode: IdentifierWish = IdentifierWish.IN_HOUSE
    """``in_house`` claims nothing; ``gs1`` needs a licensed company prefix and item GTINs under it."""
    company_prefix: Prefix = ""
    """The GS1 company prefix that the practice itself owns (4 to 12 digits), or nothing."""
    gtins: dict[str, Gtin] = {}
    """In mode ``gs1``: the practice's own GTIN-14 for each item number that it prepares."""


class PrintingSection(_Section, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The printer."""

    dpi: Resolution = 300
    """Dots per inch."""
    offset_x_mm: Correction = 0.0
    """Moves everything to the right; measured on the alignment page."""
    offset_y_mm: Correction = 0.0
    """Moves everything down."""
    scale_x: Scale = 1.0
    """Stretches the distances between labels, never a symbol."""
    scale_y: Scale = 1.0
    """As scale_x, down the page."""
    tube_sheet: Text = "a4-5x13-38.1x21.2"
    """The sheet that tube labels are printed on unless another is named."""
    pouch_sheet: Text = "a4-3x8-63.5x33.9"
    """The sheet that pouch labels are printed on unless another is named."""


class PolicySection(_Section, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The practice's own limits; local codes and the makers' instructions come first."""

    limit_after_preparation: Text = "180 days"
    """A tube is not used later than this after it was prepared: a period, or ``none``."""
    pouch_shelf_life: Text = "event"
    """A pouch is not used later than this after processing: a period, or ``event`` (until wet, torn or opened)."""
    without_expiry: Text = "stop"
    """What to do with a bottle that states no expiry: ``stop``, or a period from the day it was received."""
    unknown_opening: UnknownOpeningRule = UnknownOpeningRule.STOP
    """What to do with a bottle of which nobody knows when it was opened: ``stop`` or ``as_received``."""
    validated_liquid_cycle: str = ""
    """Where the validation of a liquid cycle for filled tubes is filed, or nothing if there is none."""

    def as_policy(self) -> Policy:
        """Return the rules as the gate takes them.

        Raises:
            InputError: a period is not one.
        """
        return Policy(
            limit_after_preparation=_period(self.limit_after_preparation, none="none"),
            pack_shelf_life=_period(self.pouch_shelf_life, none="event"),
            without_expiry=_period(self.without_expiry, none="stop"),
            unknown_opening=self.unknown_opening,
            liquid_cycle=self.validated_liquid_cycle or None,
        )


def _period(text: str, *, none: str) -> Period | None:
    return None if text == none else parse_period(text)


class SterilisationSection(_Section, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Loads, spore tests (biological indicators, BI) and release; local codes come first."""

    spore_test_interval_days: Days = 7
    """A spore test is due so many days after the last, for each steriliser and cycle kind; 7, 14, 30 and 92 are met."""
    spore_growth_policy: GrowthPolicy = GrowthPolicy.STRICT
    """What a single growth reaches: ``strict`` or ``confirm_first``."""
    incubation_hours: Hours = 24
    """After how many hours a spore test is read unless its own instructions say otherwise."""
    second_person_for_release: bool = False
    """Whether a load is released by somebody else than its operator."""
    early_release: bool = False
    """Whether a load may be released while its spore test still incubates; such a release is marked."""
    who_may_release: tuple[Text, ...] = ()
    """Staff codes that may release; nobody named: everybody."""
    air_removal_test: DailyTestRule = DailyTestRule.REFUSE
    """What to do when an air-removal load starts without that day's passed air-removal test."""

    def as_spore_policy(self, zone: tzinfo) -> SporePolicy:
        """Return the rules as the judging of spore tests takes them.

        Args:
            zone: the practice's, which decides on which day a load ran.
        """
        return SporePolicy(interval_days=self.spore_test_interval_days, growth=self.spore_growth_policy, zone=zone)


class SpanSection(_Section, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One factor of the envelope: its usual value and the worst at which labels shall still read."""

    nominal: float
    """What it usually is."""
    limit: float
    """The worst value."""


class EnvelopeSection(_Section, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Within what the practice wants its labels to read; what is left out keeps the usual span.

    Meanings, units and ranges of the factors stand with the simulated condition (``legibility/condition.py``).
    """

    px_per_mm: SpanSection | None = None
    off_axis: SpanSection | None = None
    tilt: SpanSection | None = None
    turn: SpanSection | None = None
    defocus: SpanSection | None = None
    motion: SpanSection | None = None
    glare: SpanSection | None = None
    light_ratio: SpanSection | None = None
    shadow: SpanSection | None = None
    noise: SpanSection | None = None
    jpeg_quality: SpanSection | None = None
    dot_gain: SpanSection | None = None
    lost_dots: SpanSection | None = None
    specks: SpanSection | None = None
    dead_lines: SpanSection | None = None
    wrinkle: SpanSection | None = None
    stock: SpanSection | None = None
    ink: SpanSection | None = None
    blotches: SpanSection | None = None
    buckle: SpanSection | None = None


class StockSection(_Section, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The label stock and what is printed on it."""

    name: Text = "label stock"
    """What people call it."""
    method: Literal["laser", "inkjet", "thermal_transfer", "direct_thermal", "unknown"] = "unknown"
    """How it is printed; direct-thermal stock blackens in a steriliser."""
    withstands_steam: bool | None = None
    """Whether stock, glue and print go through a steam steriliser unharmed; left out if nobody knows."""


class RetentionRuleSection(_Section, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One further rule, of local law or of an insurer."""

    name: Text
    """Whose rule it is."""
    years: Years
    """For so many years after the last thing that happened to a client."""


class RetentionSection(_Section, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How long records are kept; the longest rule decides, and local law may ask for more."""

    client_records_years: Years = 10
    """From ink to client, for reactions that come late."""
    load_records_years: Years = 3
    """Loads and spore tests, which the record of a use points to."""
    rules: tuple[RetentionRuleSection, ...] = ()
    """Further rules by name."""

    def as_rules(self) -> tuple[RetentionRule, ...]:
        """Return every rule, named."""
        return (
            RetentionRule(name="the practice's rule for client records", years=self.client_records_years),
            RetentionRule(name="the practice's rule for load and spore-test records", years=self.load_records_years),
            *(RetentionRule(name=one.name, years=one.years) for one in self.rules),
        )


class DatabaseSection(_Section, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Where the ledger lives."""

    url: str = ""
    """Nothing: an SQLite file in the practice's folder. Else ``postgresql://...``."""


class Settings(_Section, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Everything that practice.toml says."""

    practice: PracticeSection = PracticeSection()
    identifiers: IdentifierSection = IdentifierSection()
    printing: PrintingSection = PrintingSection()
    policy: PolicySection = PolicySection()
    sterilisation: SterilisationSection = SterilisationSection()
    envelope: EnvelopeSection = EnvelopeSection()
    stock: StockSection = StockSection()
    retention: RetentionSection = RetentionSection()
    database: DatabaseSection = DatabaseSection()

    @property
    def identifier_mode(self) -> IdentifierMode:
        """Return the mode in which label codes are composed."""
        return IdentifierMode(self.identifiers.mode.value)

    @property
    def spore_policy(self) -> SporePolicy:
        """Return how the practice judges spore tests."""
        return self.sterilisation.as_spore_policy(self.zone)

    @property
    def zone(self) -> ZoneInfo:
        """Return the practice's time zone."""
        return ZoneInfo(self.practice.time_zone)


def load_settings(file: Path) -> Settings:
    """Read a practice's settings.

    Raises:
        SettingsError: the file is missing, is no TOML, or holds an unknown key or a wrong value.
    """
    try:
        text = file.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as problem:
        raise SettingsError(
            given=f"{file}: {getattr(problem, 'strerror', None) or 'not UTF-8 text'}",
            expected="a practice's settings file",
            remedy="make a practice with 'tracelabels new DIR', or name its folder with --practice DIR",
        ) from problem
    return parse_settings(text, name=file.name)


def parse_settings(text: str, *, name: str = FILE_NAME) -> Settings:
    """Turn the text of a settings file into settings; see :func:`load_settings`."""
    try:
        settings = msgspec.convert(tomllib.loads(text), Settings)
    except tomllib.TOMLDecodeError as problem:
        raise SettingsError(
            given=f"{name}: {problem}", expected="TOML (key = value)", remedy="mend that line"
        ) from problem
    except msgspec.ValidationError as problem:
        raise _as_settings_error(name, str(problem)) from problem
    _require_consistent(settings, name)
    return settings


def _require_consistent(settings: Settings, name: str) -> None:
    if settings.identifiers.mode is IdentifierWish.GS1 and not settings.identifiers.company_prefix:
        raise SettingsError(
            given=f"{name}: identifiers.mode = 'gs1' without identifiers.company_prefix",
            expected="the GS1 company prefix that the practice itself owns",
            remedy="enter it, or set identifiers.mode = 'in_house', which claims nothing",
        )
    for item, gtin in settings.identifiers.gtins.items():
        if not has_valid_check_digit(gtin) or not gtin[1:].startswith(settings.identifiers.company_prefix):
            raise SettingsError(
                given=f"{name}: identifiers.gtins: {item} = {gtin!r}",
                expected=f"14 digits with a right check digit and the company prefix "
                f"{settings.identifiers.company_prefix!r} after the first",
                remedy="look it up where the practice allots its GTINs; a bottle's own GTIN is its maker's",
            )
    try:
        settings.policy.as_policy()
    except InputError as problem:
        raise SettingsError(
            given=f"{name}: policy: {problem.given}", expected=problem.expected, remedy=problem.remedy
        ) from problem
    try:
        ZoneInfo(settings.practice.time_zone)
    except (ZoneInfoNotFoundError, ValueError, OSError) as problem:
        raise SettingsError(
            given=f"{name}: practice.time_zone = {settings.practice.time_zone!r}",
            expected="an IANA time zone such as 'Europe/Vienna'",
            remedy="correct the name",
        ) from problem


def _as_settings_error(name: str, problem: str) -> SettingsError:
    what, _, path = problem.partition(" - at `$")
    key = path.strip("`.") or "top level"
    unknown = re.search(r"unknown field `([^`]*)`", what)
    if not unknown:
        return SettingsError(
            given=f"{name}: {key}: {what[0].lower()}{what[1:]}",
            expected="a value as the comment beside the key says",
            remedy="correct the value",
        )
    known = _section_at(key).__struct_fields__
    near = difflib.get_close_matches(unknown[1], known, n=1)
    return SettingsError(
        given=f"{name}: {key}: unknown key {unknown[1]!r}",
        expected=f"one of {', '.join(known)}",
        remedy=f"did you mean {near[0]!r}?" if near else "remove it",
    )


def _section_at(key: str) -> type[msgspec.Struct]:
    """Return the section that a key lies in; below a section there are only spans and rules."""
    first, _, below = key.partition(".")
    if below:
        return RetentionRuleSection if first == "retention" else SpanSection
    return Settings if key == "top level" else type(getattr(Settings(), key))
