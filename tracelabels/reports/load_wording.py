"""A load's record in words: what was decided, read and counted, for its page."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import tzinfo
from typing import Final

from tracelabels.custody import (
    Decision,
    Hold,
    IndicatorReading,
    IndicatorResult,
    Load,
    Outcome,
    PouchState,
    ReadingsVerdict,
)
from tracelabels.cycles.log import Basis, Guess, Oddity
from tracelabels.reports.load_report import DecisionShown, LoadReport, PouchShown, ReadingsShown, SporeTestShown
from tracelabels.sterilization import SporeResult
from tracelabels.words import in_words, local_minute, some

CAUTIONS: Final = (
    "This page shows what was recorded and computed; it declares nothing sterile.",
    "Local codes, the makers' instructions and licensed practice come first.",
    "A probe in the chamber says nothing of the inside of a closed tube.",
    "A chemical indicator shows exposure, not sterility; indicator types are no ranking.",
    "A spore test (BI) speaks for its steriliser and cycle kind, and for no other.",
)
"""What must stand on every record of a load."""
MOST_ODDITIES: Final = 12
_RESULTS: Final = {
    SporeResult.NO_GROWTH: "no growth (passed)",
    SporeResult.GROWTH: "GROWTH",
    SporeResult.INVALID: "invalid: its control did not grow",
}


def programme_words(load: Load) -> str:
    """Say what the load was set to."""
    drying = "" if load.drying_minutes is None else f", drying {load.drying_minutes.normalize():f} min"
    held = f"{load.temperature_c.normalize():f} °C for {load.hold_minutes.normalize():f} min"
    return f"{load.programme}: {held}{drying}"


def end_words(report: LoadReport) -> str:
    """Say when and how the load ended."""
    end = report.end
    if end is None:
        return "no end on record"
    note = f": {end.note}" if end.note else ""
    return f"{local_minute(end.at, report.zone)}, {in_words(end.outcome)}{note}"


def outcome_word(report: LoadReport) -> str:
    """Say in a word how the load ended."""
    return "no end on record" if report.end is None else in_words(report.end.outcome)


def verdict_word(report: LoadReport) -> str:
    """Say in a few words whether the readings meet the programme."""
    is_told = report.verdict is not ReadingsVerdict.CANNOT_TELL
    return f"programme {in_words(report.verdict)}" if is_told else "cannot tell"


def is_complete(report: LoadReport) -> bool:
    """Say whether the load ran to its end."""
    return report.end is not None and report.end.outcome is Outcome.COMPLETE


def pouch_words(pouch: PouchShown, *, is_excepted: bool) -> str:
    """Say how a pouch came out; what is wrong stands in capitals."""
    if pouch.state is None:
        words = "NOT SCANNED OUT"
    elif pouch.state is PouchState.SOUND:
        words = "sound"
    else:
        words = f"REJECTED: {in_words(pouch.state)}"
    if is_excepted and not pouch.is_rejected:
        words = f"{words}; NOT RELEASED"
    return f"{words} ({pouch.note})" if pouch.note else words


def count_words(report: LoadReport) -> str:
    """Say how many pouches there are, and how many came out otherwise than sound."""
    missing = sum(one.state is None for one in report.contents)
    parts = [f"{len(report.contents)} scanned in, {report.load.counted} counted", f"{report.rejected} rejected"]
    if missing:
        parts.append(f"{missing} not scanned out")
    return ", ".join(parts)


def indicator_lines(indicators: tuple[IndicatorReading, ...]) -> Iterator[str]:
    """Give a line for each place, type and lot of indicators: how many turned, and which did not."""
    groups: dict[tuple[str, str, str], list[IndicatorReading]] = defaultdict(list)
    for one in indicators:
        kind = "type not entered" if one.type_number is None else f"type {one.type_number}"
        groups[one.place.value, kind, one.lot or "not entered"].append(one)
    for (place, kind, lot), group in sorted(groups.items()):
        results = [_counted(result, group) for result in IndicatorResult]
        yield f"{in_words(place)}, {kind}, lot {lot}: {', '.join(filter(None, results))}"


def doubtful_indicators(indicators: Iterable[IndicatorReading]) -> int:
    """Return how many indicators had not turned, or not clearly."""
    return sum(one.result is not IndicatorResult.TURNED for one in indicators)


def _counted(result: IndicatorResult, group: Iterable[IndicatorReading]) -> str:
    """Say how many showed a result, and which ones where they did not turn; nothing if none did."""
    owners = ["the load's" if one.pouch is None else one.pouch.text for one in group if one.result is result]
    which = "" if result is IndicatorResult.TURNED else f" ({some(owners)})"
    return f"{len(owners)} {in_words(result)}{which}" if owners else ""


def spore_line(shown: SporeTestShown, zone: tzinfo) -> str:
    """Say what a spore test was, where it sat and what it showed."""
    test, reading = shown.test, shown.reading
    expiry = "no expiry entered" if test.lot_expiry is None else f"expires {test.lot_expiry}"
    where = f"{test.placement}, inside a reference tube" if test.in_reference_tube else test.placement
    control = "with a control" if test.has_control else "WITHOUT A CONTROL"
    if reading is None:
        result = f"not read yet, due {local_minute(test.due_at, zone)}"
    else:
        result = f"{_RESULTS[reading.result]}, read {local_minute(reading.at, zone)}"
        result += f" ({reading.note})" if reading.note else ""
    by = ", by a laboratory" if test.by_laboratory else ""
    return f"{test.number}: lot {test.lot}, {expiry}; {where}; {control}{by}; {result}"


def decision_lines(report: LoadReport) -> Iterator[str]:
    """Give the decision that counts, and those before it."""
    if report.decided is None:
        yield "Not released: nobody has decided about this load."
        return
    yield _decision(report.decided, report.zone)
    for one in reversed(report.decisions[:-1]):
        yield f"Before that: {_decision(one, report.zone)}"


def decision_word(report: LoadReport) -> str:
    """Say in a word or two what was decided."""
    if report.decided is None:
        return "not released"
    release = report.decided.release
    return "released early" if report.is_released and release.is_early else in_words(release.decision)


def _decision(shown: DecisionShown, zone: tzinfo) -> str:
    release = shown.release
    word = in_words(release.decision).capitalize()
    if release.decision is Decision.RELEASED and release.is_early:
        word = "Released EARLY, while a spore test was incubating,"
    second = "no second person" if release.second is None else f"second person {release.second}"
    why = f"; {'; '.join(release.reasons)}" if release.reasons else ""
    kept = f"; not released: {', '.join(sorted(one.text for one in release.excepted))}" if release.excepted else ""
    return f"{word} on {local_minute(release.at, zone)} by {shown.by}, {second}{why}{kept}"


def hold_line(hold: Hold, zone: tzinfo) -> str:
    """Say what is kept back and why."""
    return f"{hold.number}, {in_words(hold.cause)}, since {local_minute(hold.at, zone)}: {hold.reason}"


def read_lines(shown: ReadingsShown) -> Iterator[str]:
    """Give what was taken for granted to read a file, what was odd in it, and its digest; nothing if there is none."""
    guesses, oddities = list(_guesses(shown.guesses)), list(_oddities(shown.oddities))
    if guesses:
        yield f"Taken for granted: {'; '.join(guesses)}."
    if oddities:
        yield f"Odd in the file: {'; '.join(oddities)}."
    if shown.recorded.evidence is not None:
        yield f"File among the evidence, SHA-256: {shown.recorded.evidence}"


def _guesses(guesses: tuple[Guess, ...]) -> Iterator[str]:
    """Give what had to be guessed or corrected one by one with the reason, and the rest by its basis."""
    for one in sorted(guesses, key=lambda one: one.basis is not Basis.CORRECTED):
        if one.basis in {Basis.GUESSED, Basis.CORRECTED}:
            because = f": {one.because}" if one.because else ""
            word = "CORRECTED" if one.basis is Basis.CORRECTED else in_words(one.basis)
            yield f"{in_words(one.what)} {_visible(one.value)} ({word}{because})"
    for basis, said in ((Basis.STATED, "stated by the file"), (Basis.GIVEN, "given by a person")):
        named = [f"{in_words(one.what)} {_visible(one.value)}" for one in guesses if one.basis is basis]
        if named:
            yield f"{said}: {', '.join(named)}"


def _oddities(oddities: tuple[Oddity, ...]) -> Iterator[str]:
    """Give what was odd; of very many the first. The sentences name the line themselves."""
    for one in oddities[:MOST_ODDITIES]:
        yield f"{in_words(one.kind)}, {one.sentence}"
    more = len(oddities) - MOST_ODDITIES
    if more > 0:
        yield f"and {more} more"


def _visible(value: str) -> str:
    """Return a value that can be seen among words."""
    named = {" ": "space", "\t": "tab"}.get(value, value)
    return named if any(map(str.isalnum, named)) else f"'{named}'"
