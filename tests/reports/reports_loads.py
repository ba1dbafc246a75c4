"""Loads for the tests of pages: a good one, and nasty ones."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from reports_cycles import findings, readings

from tracelabels.custody import (
    CycleKind,
    Decision,
    Goods,
    Hold,
    HoldCause,
    IndicatorPlace,
    IndicatorReading,
    IndicatorResult,
    Kind,
    Load,
    LoadEnd,
    LoadReadings,
    Name,
    Outcome,
    PouchState,
    ProbePlace,
    ReadingsSource,
    ReadingsVerdict,
    Release,
    SporeReading,
    SporeResult,
    SporeTest,
    Stage,
    Steriliser,
)
from tracelabels.cycles import Readings
from tracelabels.cycles.log import Basis, Guess, Oddity, OddityKind
from tracelabels.reports.curve_chart import CurveChart
from tracelabels.reports.load_report import DecisionShown, LoadReport, PouchShown, ReadingsShown, SporeTestShown
from tracelabels.sterilization import Evidence, EvidenceState

ZONE = ZoneInfo("Europe/Vienna")
START = datetime(2026, 3, 2, 13, 3, tzinfo=UTC)
STERILISER = Steriliser(
    code="S1", name="Steriliser, room 2", serial_number="77-0042", cycle_kinds=(CycleKind.AIR_REMOVAL,)
)
DIGEST = "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08"
LONG = "Driftwood with a very long name indeed, Oat Milk, Rosehip and further pigments mixed for one client"


def serial(number: int) -> str:
    return f"01{number:06d}7"


def load(pouches: int) -> Load:
    return Load(
        number="L01-0004",
        steriliser=STERILISER.as_name,
        cycle_kind=CycleKind.AIR_REMOVAL,
        programme="wrapped-134",
        temperature_c=Decimal("134.0"),
        hold_minutes=Decimal("3.5"),
        goods=Goods.WRAPPED,
        operator="ab",
        started_at=START,
        counted=pouches,
        pouches=tuple(Name(Kind.POUCH, serial(number)) for number in range(pouches)),
        drying_minutes=Decimal(20),
        cycle_number=1042,
    )


def recorded(verdict: ReadingsVerdict = ReadingsVerdict.MET, **facts: object) -> LoadReadings:
    return LoadReadings(
        load=Name(Kind.LOAD, "L01-0004"),
        source=ReadingsSource.LOGGER,
        probe=ProbePlace.CHAMBER,
        verdict=verdict,
        evidence=DIGEST,
        **facts,
    )


GUESSES = (
    Guess(what="separator", value=";", basis=Basis.GUESSED, because="the same number in every line"),
    Guess(what="decimal_mark", value=",", basis=Basis.STATED),
    Guess(what="temperature_unit", value="C", basis=Basis.STATED),
    Guess(
        what="pressure_reference",
        value="absolute",
        basis=Basis.CORRECTED,
        because="the header says gauge, the cold start at 101 kPa and saturation at the plateau say absolute",
    ),
)
ODDITIES = (
    Oddity(kind=OddityKind.SPIKE, line=612, sentence="line 612: a single reading of 0.0 °C between 134.9 and 135.0"),
)


def shown(of: Readings | None = None, **facts: object) -> ReadingsShown:
    of = readings() if of is None else of
    found = findings(of, **facts)
    started = datetime(2026, 3, 2, 14, 3, 10)  # noqa: DTZ001  a logger's clock has no zone
    return ReadingsShown(
        recorded=recorded(found.verdict, reasons=found.reasons),
        fact="1/212",
        chart=CurveChart(readings=of, findings=found, started_at=started),
        guesses=GUESSES,
        oddities=ODDITIES,
    )


def indicator(
    pouch: int | None, result: IndicatorResult = IndicatorResult.TURNED, *, kind: int = 5
) -> IndicatorReading:
    return IndicatorReading(
        load=Name(Kind.LOAD, "L01-0004"),
        pouch=None if pouch is None else Name(Kind.POUCH, serial(pouch)),
        place=IndicatorPlace.IN_LOAD if pouch is None else IndicatorPlace.INSIDE,
        result=result,
        stage=Stage.UNLOADING,
        at=START + timedelta(hours=1),
        type_number=kind,
        lot=f"CI-{kind}07",
    )


def spore_test(result: SporeResult | None) -> SporeTestShown:
    test = SporeTest(
        number="B01-0003",
        steriliser=STERILISER.as_name,
        cycle_kind=CycleKind.AIR_REMOVAL,
        load=Name(Kind.LOAD, "L01-0004"),
        lot="SP-88",
        placement="lowest tray, by the drain",
        at=START,
        due_at=START + timedelta(days=1),
        lot_expiry=date(2027, 1, 31),
    )
    if result is None:
        return SporeTestShown(test=test, reading=None)
    reading = SporeReading(test=test.as_name, result=result, at=START + timedelta(days=1, hours=2))
    return SporeTestShown(test=test, reading=reading)


def decision(what: Decision = Decision.RELEASED, **facts: object) -> DecisionShown:
    at = START + timedelta(days=1, hours=3)
    return DecisionShown(
        release=Release(load=Name(Kind.LOAD, "L01-0004"), decision=what, at=at, **facts), by="cd", fact="1/219"
    )


def pouch(
    number: int, state: PouchState | None = PouchState.SOUND, *, holds: tuple[str, ...] = (), note=None
) -> PouchShown:
    return PouchShown(
        serial=serial(number), holds=holds or (f"tube {serial(900 + number)}: Rosehip 5501",), state=state, note=note
    )


def report(pouches: int = 8) -> LoadReport:
    """Return a load with nothing against it."""
    return LoadReport(
        practice="Tidewater Restorative",
        zone=ZONE,
        printed_at=START + timedelta(days=2),
        steriliser=STERILISER,
        load=load(pouches),
        fact="1/198",
        end=LoadEnd(
            load=Name(Kind.LOAD, "L01-0004"), outcome=Outcome.COMPLETE, at=START + timedelta(minutes=41), note="OK"
        ),
        contents=[pouch(number) for number in range(pouches)],
        verdict=ReadingsVerdict.MET,
        readings=(shown(),),
        indicators=tuple(indicator(number) for number in range(pouches)),
        spores=Evidence(
            state=EvidenceState.PASSED, sentence="spore test B01-0003, which rode along, passed", rode_along=True
        ),
        rode_along=(spore_test(SporeResult.NO_GROWTH),),
        decisions=(decision(second="ef"),),
    )


def many_pouches() -> LoadReport:
    base = report(60)
    out = {7: PouchState.WET, 8: PouchState.TORN, 30: PouchState.NOT_TURNED, 31: PouchState.OTHER, 59: None}
    contents = [
        pouch(number, out.get(number, PouchState.SOUND), note="a fold in the seal" if number == 31 else None)
        for number in range(60)
    ]
    kept = tuple(Name(Kind.POUCH, serial(number)) for number in (7, 8, 30, 31, 40, 59))
    return replace(base, contents=contents, decisions=(decision(excepted=kept, second="ef"),))


def long_names() -> LoadReport:
    base = report(12)
    unbroken = "Unbrokenlongword" * 6
    contents = [
        pouch(number, holds=(f"tube {serial(300 + number)}: {LONG}", f"tube {serial(400 + number)}: {unbroken}"))
        for number in range(12)
    ]
    return replace(
        base,
        practice=f"{LONG} and Partners",
        steriliser=replace(STERILISER, name=f"{LONG} in the back room", serial_number=unbroken),
        load=replace(base.load, programme="a programme of many words " * 3, operator="operator-with-long-code" * 2),
        contents=contents,
    )


def aborted() -> LoadReport:
    base = report(6)
    return replace(
        base,
        end=LoadEnd(
            load=base.load.as_name, outcome=Outcome.ABORTED, at=START + timedelta(minutes=30), note="E 42, door"
        ),
        contents=[pouch(number, PouchState.WET) for number in range(6)],
        verdict=ReadingsVerdict.NOT_MET,
        readings=(shown(readings(set_c=110.0)),),
        indicators=tuple(indicator(number, IndicatorResult.NOT_TURNED) for number in range(6)),
        spores=Evidence(state=EvidenceState.MISSING, sentence="spore test B01-0001, 12 days earlier; 7 are allowed"),
        rode_along=(),
        decisions=(decision(Decision.REJECTED, reasons=("aborted at the first steam pulse",)),),
    )


def without_readings() -> LoadReport:
    return replace(
        report(3), readings=(), indicators=(), decisions=(), end=None, verdict=ReadingsVerdict.CANNOT_TELL,
        spores=None, rode_along=(), contents=[pouch(number, None) for number in range(3)],
    )  # fmt: skip


def printout_only() -> LoadReport:
    typed = LoadReadings(
        load=Name(Kind.LOAD, "L01-0004"),
        source=ReadingsSource.PRINTOUT,
        probe=ProbePlace.UNKNOWN,
        verdict=ReadingsVerdict.MET,
        reasons=("judged by ab from the printout",),
        evidence=DIGEST,
    )
    return replace(report(3), readings=(ReadingsShown(recorded=typed, fact="1/205"),))


def without_pressure() -> LoadReport:
    return replace(report(), readings=(shown(readings(with_pressure=False)),))


def grown() -> LoadReport:
    hold = Hold(
        number="H01-0001",
        cause=HoldCause.SPORE_GROWTH,
        at=START + timedelta(days=1, hours=4),
        items=(Name(Kind.LOAD, "L01-0004"),),
        reason="spore test B01-0003 grew; everything since load L01-0001 is kept back",
    )
    sentence = (
        "spore test B01-0003 in load L01-0004 grew; affected: after load L01-0001, whose spore test B01-0001 passed "
        "(itself not affected), until now (not returned to service)"
    )
    return replace(
        report(),
        spores=Evidence(state=EvidenceState.FAILED, sentence=sentence, rode_along=True),
        rode_along=(spore_test(SporeResult.GROWTH),),
        decisions=(decision(is_early=True), decision(Decision.QUARANTINE, reasons=("growth", "recall under way"))),
        holds=(hold, replace(hold, number="H01-0002", cause=HoldCause.RECALL)),
    )


def early() -> LoadReport:
    return replace(
        report(),
        spores=Evidence(state=EvidenceState.INCUBATING, sentence="spore test B01-0003 is still incubating"),
        rode_along=(spore_test(None),),
        decisions=(decision(is_early=True, second="ef", reasons=("theatre list of tomorrow",)),),
    )


def many_indicators() -> LoadReport:
    results = list(IndicatorResult)
    read = tuple(indicator(None if n % 4 == 0 else n, results[n % 3], kind=n % 6 + 1) for n in range(12))
    return replace(report(), indicators=read)


def much_odd() -> LoadReport:
    odd = tuple(
        Oddity(
            kind=OddityKind.GAP,
            line=n * 17,
            sentence=f"line {n * 17}: nothing for {n} s; the hold counts only what was seen",
        )
        for n in range(1, 41)
    )
    one = replace(shown(notes=tuple(f"note {n}: {LONG}" for n in range(6))), oddities=odd)
    return replace(report(30), readings=(one, replace(printout_only().readings[0]), replace(one, chart=None)))


NASTY = {
    "good": report,
    "60 pouches": many_pouches,
    "200 pouches": lambda: report(200),
    "long names": long_names,
    "aborted": aborted,
    "no readings": without_readings,
    "a printout": printout_only,
    "no pressure": without_pressure,
    "growth": grown,
    "early release": early,
    "12 indicators": many_indicators,
    "much odd": much_odd,
}
