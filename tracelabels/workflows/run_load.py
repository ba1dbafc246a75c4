"""A steriliser load: counted and scanned, started, ended."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from tracelabels.custody import (
    CycleKind,
    Destruction,
    Goods,
    Kind,
    Load,
    LoadEnd,
    Name,
    Outcome,
    PastLoad,
    Pouch,
    PouchAtStart,
    PouchOpening,
    Preparation,
    Reason,
    SporeTest,
    Steriliser,
    Use,
    Variant,
    daily_test_failed,
    daily_test_reasons,
    load_reasons,
    service_reasons,
    stock_warnings,
)
from tracelabels.errors import InputError, LedgerError
from tracelabels.records import Reading, Series, Writing
from tracelabels.settings import DailyTestRule
from tracelabels.words import local_minute
from tracelabels.workflows.enter_steriliser import service_record
from tracelabels.workflows.load_programme import (
    PlannedCycle,
    keep_programme,
    plan_cycle,
    programme_reasons,
    programme_warnings,
)
from tracelabels.workflows.practice import Practice, require_own_serial
from tracelabels.workflows.processing_record import ProcessingReader
from tracelabels.workflows.record_spore_test import (
    SporeOrder,
    is_ordered,
    lot_reasons,
    lot_warnings,
    new_spore_test,
)
from tracelabels.workflows.request_keys import answered

_LEAST_C, _GREATEST_C = 100, 150
"""As in a programme's file: beyond lies a slip, or degrees Fahrenheit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadOrder:
    """What is to be run."""

    steriliser: str
    """Code of the steriliser."""
    cycle_kind: CycleKind
    """Kind of cycle."""
    programme: str
    """Name of the programme, on file or not."""
    counted: int
    """Pouches counted by hand."""
    pouches: tuple[str, ...]
    """Serials of the pouches scanned in; one scanned twice counts once."""
    temperature_c: Decimal | None = None
    """Set temperature in degrees Celsius; None: as the programme's file says."""
    hold_minutes: Decimal | None = None
    """Set holding time in minutes; None: as the programme's file says."""
    goods: Goods | None = None
    """What the programme is for; None: as its file says, else wrapped goods."""
    drying_minutes: Decimal | None = None
    """Set drying time in minutes."""
    cycle_number: int | None = None
    """What the steriliser's own counter says."""
    spore_test: SporeOrder | None = None
    """A spore test that rides along; it makes the load a test load."""
    at: datetime | None = None
    """When it starts; None for now."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Started:
    """A load that started, or the reasons why it did not."""

    load: Load | None
    """As recorded; None if it was refused."""
    test: SporeTest | None
    """The spore test that rides along, as recorded; None if there is none."""
    refused: tuple[Reason, ...]
    """Every reason against it; nothing was recorded if there is one."""
    warnings: tuple[Reason, ...]
    """What is to be looked at although it starts."""


def start_load(practice: Practice, order: LoadOrder, *, by: str, request_key: str | None = None) -> Started:
    """Check steriliser, programme and every pouch, then record the load; its contents are closed from then on.

    Args:
        practice: whose.
        order: what is to be run.
        by: opaque staff id of the operator.
        request_key: names the request; asked again, it gives the same answer and writes nothing.

    Raises:
        InputError: nothing is in it, or a serial is none of ours.
        LedgerError: the steriliser is not on record.
    """
    planned = _planned(practice, order)
    _require_sound(order, planned)
    moment = practice.when(order.at)
    serials = tuple(dict.fromkeys(map(require_own_serial, order.pouches)))
    with practice.write(by=by, at=moment) as ledger:
        before = _answered(ledger, request_key, order, serials)
        if before is not None:
            return before
        steriliser = ledger.require(Steriliser, order.steriliser).value
        refused, warnings = _against_start(practice, ledger, order, planned, steriliser, serials, moment)
        if refused:
            return Started(load=None, test=None, refused=refused, warnings=warnings)
        kept = keep_programme(practice, ledger, planned)
        load = _new_load(ledger, order, planned, serials, by=by, at=moment, programme_file=kept)
        ledger.record(load, request_key=request_key)
        test = None
        if order.spore_test is not None:
            test = new_spore_test(practice, ledger, load, order.spore_test)
            ledger.record(test, request_key=_key_of_test(request_key))
    return Started(load=load, test=test, refused=(), warnings=warnings)


def _planned(practice: Practice, order: LoadOrder) -> PlannedCycle:
    return plan_cycle(
        practice,
        programme=order.programme,
        cycle_kind=order.cycle_kind,
        goods=order.goods,
        temperature_c=order.temperature_c,
        hold_minutes=order.hold_minutes,
    )


def _require_sound(order: LoadOrder, planned: PlannedCycle) -> None:
    is_empty = order.counted == 0 and not order.pouches and order.spore_test is None
    if order.counted < 0 or (is_empty and planned.goods is not Goods.UNWRAPPED):
        raise InputError(
            given=f"a load of {order.counted} pouches",
            expected="the number of pouches counted by hand, or a spore test in an empty load",
            remedy="count them, and give the number with --count",
        )
    if not _LEAST_C <= planned.temperature_c <= _GREATEST_C or planned.hold_minutes <= 0:
        raise InputError(
            given=f"{planned.temperature_c} degrees Celsius for {planned.hold_minutes} minutes",
            expected=f"a set temperature of steam ({_LEAST_C} to {_GREATEST_C}) and then its holding time",
            remedy="read them from the steriliser's manual",
        )


def _answered(ledger: Reading, request_key: str | None, order: LoadOrder, serials: tuple[str, ...]) -> Started | None:
    """Return the load that was started under a key, with the test that rode along then; others may have since."""

    def is_same(load: Load) -> bool:
        typed = ((order.temperature_c, load.temperature_c), (order.hold_minutes, load.hold_minutes))
        is_typed = all(one in {None, other} for one, other in (*typed, (order.goods, load.goods)))
        said = (load.steriliser.text, load.cycle_kind, load.programme, tuple(one.text for one in load.pouches))
        asked = (order.steriliser, order.cycle_kind, order.programme, serials)
        return is_typed and said == asked and is_same_test()

    def is_same_test() -> bool:
        at = ledger.find_answered(_key_of_test(request_key) or "")
        test = None if at is None else ledger.value_of(SporeTest, at)
        if test is None or order.spore_test is None:
            return test is None and order.spore_test is None
        return is_ordered(test.value, order.spore_test)

    load = answered(ledger, Load, request_key, is_same=is_same)
    if load is None:
        return None
    test = answered(ledger, SporeTest, _key_of_test(request_key), is_same=lambda _: True)
    return Started(load=load, test=test, refused=(), warnings=())


def _key_of_test(request_key: str | None) -> str | None:
    """Return the key of the test that is recorded with a load, so that it is told from tests that came later."""
    return None if request_key is None else f"{request_key} (spore test)"


def _against_start(
    practice: Practice,
    ledger: Reading,
    order: LoadOrder,
    planned: PlannedCycle,
    steriliser: Steriliser,
    serials: tuple[str, ...],
    at: datetime,
) -> tuple[tuple[Reason, ...], tuple[Reason, ...]]:
    """Return every reason against starting, and what is to be looked at although it starts."""
    reader = ProcessingReader(ledger, practice.settings.spore_policy)
    pouches = [pouch_at_start(ledger, reader, serial) for serial in serials]
    record = service_record(ledger, steriliser, order.cycle_kind)
    refused = [
        *service_reasons(record, at, is_test=order.spore_test is not None, has_pouches=bool(serials)),
        *load_reasons(
            pouches,
            counted=order.counted,
            cycle_kind=order.cycle_kind,
            goods=planned.goods,
            policy=practice.settings.policy.as_policy(),
        ),
        *programme_reasons(planned),
    ]
    warnings = [*stock_warnings(pouches), *programme_warnings(planned)]
    of_the_day = daily_test_reasons(record, at, practice.settings.zone)
    is_lenient = practice.settings.sterilisation.air_removal_test is DailyTestRule.WARN
    (warnings if is_lenient and not daily_test_failed(record, at) else refused).extend(of_the_day)
    if order.spore_test is not None:
        refused += lot_reasons(practice, ledger, order.spore_test, at)
        warnings += lot_warnings(ledger, order.spore_test)
    return tuple(refused), tuple(warnings)


def pouch_at_start(ledger: Reading, reader: ProcessingReader, serial: str) -> PouchAtStart:
    """Collect what is known of a pouch before it goes into a load."""
    found = ledger.find_pouch(serial)
    if found is None:
        return PouchAtStart(serial=serial, pouch=None)
    pouch, name = found.value, Name(Kind.POUCH, serial)
    origins = tuple(reader.origins_of(pouch))
    insides = (name, *(Name(Kind.TUBE, tube) for tube in pouch.tubes))
    runs = [reader.find_print_run(one.text) for one in origins if one.kind is Kind.PRINT_RUN]
    return PouchAtStart(
        serial=serial,
        pouch=pouch,
        filled=_filled(ledger, reader, pouch),
        loads=tuple(_past(reader, load) for load in reader.loads_of(name)),
        is_opened=bool(ledger.about(PouchOpening, "pouch", name)) or _is_in(ledger, Use, "items", insides),
        is_destroyed=_is_in(ledger, Destruction, "item", insides),
        holds=reader.holds_on(*origins),
        runs=tuple(dict.fromkeys(run for run in runs if run is not None)),
    )


def _is_in(ledger: Reading, kind: type[Use] | type[Destruction], field: str, names: tuple[Name, ...]) -> bool:
    return any(ledger.about(kind, field, name) for name in names)


def _past(reader: ProcessingReader, load: Load) -> PastLoad:
    end = reader.end_of(load)
    return PastLoad(number=load.number, outcome=end.outcome if end else None)


def _filled(ledger: Reading, reader: ProcessingReader, pouch: Pouch) -> tuple[Preparation, ...]:
    """Return what the tubes of a pouch were filled with before processing."""
    tubes = [ledger.find_tube(serial) for serial in pouch.tubes]
    numbers = {tube.value.preparation for tube in tubes if tube is not None and tube.value.preparation is not None}
    found = [reader.find_preparation(number) for number in sorted(numbers)]
    return tuple(one for one in found if one is not None and one.variant is not Variant.EMPTY_TUBES)


def _new_load(
    ledger: Writing,
    order: LoadOrder,
    planned: PlannedCycle,
    serials: tuple[str, ...],
    *,
    by: str,
    at: datetime,
    programme_file: str | None,
) -> Load:
    return Load(
        number=ledger.next_numbered(Series.LOAD),
        steriliser=Name(Kind.STERILISER, order.steriliser),
        cycle_kind=planned.cycle_kind,
        programme=planned.programme,
        temperature_c=planned.temperature_c,
        hold_minutes=planned.hold_minutes,
        goods=planned.goods,
        operator=by,
        started_at=at,
        counted=order.counted,
        pouches=tuple(Name(Kind.POUCH, serial) for serial in serials),
        drying_minutes=order.drying_minutes,
        cycle_number=order.cycle_number,
        programme_file=programme_file,
    )


def end_load(
    practice: Practice,
    number: str,
    outcome: Outcome,
    *,
    by: str,
    at: datetime | None = None,
    note: str | None = None,
) -> LoadEnd:
    """Record how a load ended.

    Raises:
        InputError: it would end before it started.
        LedgerError: there is no such load, or its end is on record.
    """
    moment = practice.when(at)
    with practice.write(by=by, at=moment) as ledger:
        load = ledger.require(Load, number).value
        before = ledger.about(LoadEnd, "load", load.as_name)
        if before:
            raise LedgerError(
                given=f"load {number}, which ended ({before[0].value.outcome.value}) before",
                expected="a load whose end nobody entered",
                remedy="correct that end, with the reason, if it was wrong",
            )
        if moment < load.started_at:
            raise InputError(
                given=f"the end of load {number} before its start "
                f"({local_minute(load.started_at, practice.settings.zone)})",
                expected="an end after the start",
                remedy="correct the time",
            )
        end = LoadEnd(load=load.as_name, outcome=outcome, at=moment, note=note)
        ledger.record(end)
    return end
