"""An invented day at an invented practice, through the very workflows that the commands use.

It goes from bottles to labels, to simulated photographs of the printed files, to what the chair says about them.
Everything is invented: the practice, the pigments, their makers, the batches. Every step returns what happened; no
outcome is written down beforehand.
"""

from collections.abc import Generator, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Final

from tracelabels.custody import Carrier, Expiry, Load, Product, SporeTest, Variant, parse_period
from tracelabels.errors import InputError
from tracelabels.words import in_words
from tracelabels.workflows import demonstration_chair as chair
from tracelabels.workflows import demonstration_processing as steriliser
from tracelabels.workflows import demonstration_recalls as recalls
from tracelabels.workflows.correct_record import correct_record
from tracelabels.workflows.demonstration_chair import Pouched
from tracelabels.workflows.demonstration_days import BENCH, Days
from tracelabels.workflows.demonstration_photographs import POUCH_SHEET, TUBE_LAYOUT, TUBE_SHEET, photograph_all
from tracelabels.workflows.demonstration_step import Step
from tracelabels.workflows.enter_product import enter_product
from tracelabels.workflows.new_practice import make_practice
from tracelabels.workflows.pack_pouches import Pouching, one_each, pack_pouches
from tracelabels.workflows.practice import Practice
from tracelabels.workflows.prepare_tubes import Part, PreparationOrder, Prepared, prepare_tubes
from tracelabels.workflows.print_run import PrintDone, PrintOrder, print_run
from tracelabels.workflows.receive_bottle import Arrival, open_bottle, receive_bottles
from tracelabels.workflows.templates import label_job

NAME: Final = "Tidewater Restorative"
TUBES: Final = 65
_LIQUID_CYCLE: Final = "validation folder, sheet 4 (invented)"

_PIGMENTS: Final = (
    Product(
        name="Rosehip",
        item_number="R-12",
        maker="Saltmarsh Colour",
        carrier=Carrier.WATER_BASED,
        swatch="#b3574a",
        resterilising_statement="maker's letter, file 3 (invented)",
    ),
    Product(
        name="Oat Milk", item_number="O-04", maker="Saltmarsh Colour", carrier=Carrier.WATER_BASED, swatch="#d9c3a5"
    ),
    Product(
        name="Driftwood",
        item_number="D-31",
        maker="Lantern Pigment",
        carrier=Carrier.OIL_OR_ANHYDROUS,
        swatch="#7d6a58",
    ),
    Product(
        name="Clay", item_number="C-08", maker="Lantern Pigment", carrier=Carrier.ALCOHOL_BEARING, swatch="#a06a4f"
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Packed:
    """The pouches of the demonstration."""

    filled: Pouched
    """Tubes filled before processing."""
    empty: Pouched
    """Empty tubes."""
    mixed: Pouched
    """Tubes of the mix."""


def demonstrate(folder: Path, *, today: date) -> Iterator[Step]:
    """Play the day and yield each step when it is done.

    Args:
        folder: made if it is not there; refused if a practice lives in it.
        today: the date of the day.

    Raises:
        InputError: the folder holds a practice already.
    """
    settings = make_practice(folder, name=NAME, site=1, today=today)
    _change(settings, 'validated_liquid_cycle = ""', f'validated_liquid_cycle = "{_LIQUID_CYCLE}"')
    yield Step(heading=f"A practice: {NAME}, invented like everything here", outcome=(), files=(settings,))
    days = Days(folder=folder, first=today)
    with days.day(0) as practice:
        bottles = yield from _receive(practice)
        empty = yield from _prepare_empty(practice)
        filled = yield from _prepare_filled(practice, bottles)
        mixed = yield from _prepare_mix(practice, bottles)
        runs, packed = yield from _print(practice, empty, filled, mixed)
    _change(settings, 'limit_after_preparation = "180 days"', 'limit_after_preparation = "90 days"')
    with days.day(0) as practice:
        runs["reprint"] = yield from _print_again(practice, filled, runs)
        yield from photograph_all(practice, runs)
    yield from _days_that_follow(days, packed)


def _days_that_follow(days: Days, packed: Packed) -> Iterator[Step]:
    """From the steriliser to the recall, day by day."""
    with days.day(0) as practice:
        yield steriliser.enter(practice)
    with days.day(1) as practice:
        loads = yield from _two_loads(practice, packed)
    with days.day(2) as practice:
        yield from _released(practice, loads)
        yield chair.register(practice)
        yield from chair.first_use(practice, packed.filled, packed.mixed)
        yield chair.in_haste(practice, packed.empty.serials[2])
    with days.day(5) as practice:
        yield _third_load(practice, packed)
    with days.day(6) as practice:
        done = chair.use(practice, packed.filled.serials[20], chair.THIRD)
        yield chair.used(f"One of its pouches is used on {chair.THIRD}", done)
    with days.day(7) as practice:
        yield _short_load(practice)
    with days.day(8) as practice:
        last = steriliser.run(practice, steriliser.LIQUID, (), hour=8, is_tested=True)
    with days.day(9) as practice:
        yield from recalls.grown(practice, _spore_test_of(practice, last))
        yield from recalls.batch(practice, _PIGMENTS[0].maker, "5501")
        yield recalls.chain_of(practice, chair.PROTECTED)
    with days.day(100) as practice:
        yield chair.later(practice, packed.filled)
        yield _verified(practice)


def _two_loads(practice: Practice, packed: Packed) -> Generator[Step, None, tuple[Load, Load]]:
    steriliser.passed(practice, *(test.number for test in _spore_tests(practice)))
    steriliser.test_air_removal(practice)
    wrapped = steriliser.run(practice, steriliser.WRAPPED, packed.empty.serials, hour=8, is_tested=True)
    inside = (*packed.filled.serials[:12], *packed.mixed.serials)
    liquid = steriliser.run(practice, steriliser.LIQUID, inside, hour=9, is_tested=True)
    failed = packed.empty.serials[2]
    steriliser.take_out(practice, wrapped, steriliser.WRAPPED, hour=10, not_turned=(failed,))
    steriliser.take_out(practice, liquid, steriliser.LIQUID, hour=11)
    lines: list[str] = []
    for load in (wrapped, liquid):
        lines += steriliser.decided_lines(load, steriliser.release(practice, load))
        steriliser.keep_back(practice, load, "its spore test incubates")
    yield Step(
        heading=f"Both spore tests passed; two loads run, {len(wrapped.pouches)} pouches of empty tubes and "
        f"{len(liquid.pouches)} of filled ones; one indicator has not turned",
        outcome=(f"rejected at unloading: pouch {failed}", *lines, "both are kept in quarantine"),
    )
    yield chair.photograph(practice, packed.filled, 4, "not-released", "a pouch before its load is released", None)
    return wrapped, liquid


def _released(practice: Practice, loads: tuple[Load, Load]) -> Iterator[Step]:
    waiting = [test.number for test in _spore_tests(practice) if test.load in {load.as_name for load in loads}]
    steriliser.passed(practice, *waiting)
    lines = [line for load in loads for line in steriliser.decided_lines(load, steriliser.release(practice, load))]
    files = tuple(steriliser.leave_report(practice, load) for load in loads)
    heading = "The spore tests that rode along have passed; the loads are released, each with its page for the folder"
    yield Step(heading=heading, outcome=tuple(lines), files=files)


def _third_load(practice: Practice, packed: Packed) -> Step:
    load = steriliser.run(practice, steriliser.LIQUID, packed.filled.serials[12:], hour=8)
    steriliser.take_out(practice, load, steriliser.LIQUID, hour=10)
    decided = steriliser.release(practice, load)
    return Step(
        heading="A third load, without a spore test of its own: the last one is three days old",
        outcome=tuple(steriliser.decided_lines(load, decided)),
    )


def _short_load(practice: Practice) -> Step:
    """Somebody opens the door too early; the logger has seen it."""
    pouches = pack_pouches(practice, [Pouching(instruments=("fine forceps",))], material_lot="PM-204", by=BENCH)
    steriliser.test_air_removal(practice)
    load = steriliser.run(practice, steriliser.WRAPPED, [pouch.serial for pouch in pouches], hour=8)
    judged = steriliser.take_out(practice, load, steriliser.WRAPPED, hour=10, held=1.5)
    lines = (*judged.readings.reasons[:1], *steriliser.decided_lines(load, steriliser.release(practice, load)))
    heading = "A load with forceps: its indicators have turned, but the logger saw the hold end too early"
    return Step(heading=heading, outcome=lines, files=(steriliser.leave_report(practice, load),))


def _spore_tests(practice: Practice) -> tuple[SporeTest, ...]:
    with practice.ledger.read() as ledger:
        return tuple(one.value for one in ledger.every(SporeTest))


def _spore_test_of(practice: Practice, load: Load) -> str:
    return next(test.number for test in _spore_tests(practice) if test.load == load.as_name)


def _change(settings: Path, old: str, new: str) -> None:
    """Edit the settings as a person would, in the file."""
    text = settings.read_text(encoding="utf-8")
    if old not in text:
        raise InputError(
            given=f"{settings} without {old}",
            expected="that line, as a new practice has it",
            remedy="make the demonstration in a new folder",
        )
    settings.write_text(text.replace(old, new), encoding="utf-8")


def _verified(practice: Practice) -> Step:
    problems = practice.ledger.verify()
    if problems:
        raise InputError(
            given=f"a broken ledger: {problems[0].sentence}",
            expected="a whole chain of facts",
            remedy="see which fact it is with 'tracelabels verify'",
        )
    return Step(heading="The ledger is verified", outcome=("Every fact is in its place and unchanged.",))


def _receive(practice: Practice) -> Generator[Step, None, dict[str, str]]:
    for pigment in _PIGMENTS:
        enter_product(practice, pigment, by=BENCH)
    rosehip, oat_milk, driftwood, clay = _PIGMENTS
    year = practice.today.year + 1
    arrivals = (
        Arrival(
            product=rosehip,
            batch="5501",
            expiry=Expiry.in_month(year, 11),
            period_after_opening=parse_period("12 months"),
            volume_ml=Decimal(60),
        ),
        Arrival(product=oat_milk, batch="OM-7712", expiry=Expiry.on_day(date(year, 6, 15)), volume_ml=Decimal(15)),
        Arrival(product=driftwood, batch="D310", expiry=Expiry.in_month(year + 1, 3), volume_ml=Decimal(15)),
        Arrival(product=clay, batch="C081", volume_ml=Decimal(15)),
    )
    bottles = {one.product.name: receive_bottles(practice, one, by=BENCH)[0] for one in arrivals}
    opened = open_bottle(practice, bottles["Rosehip"].serial, by=BENCH)
    yield Step(
        heading="Four bottles arrive, one is opened",
        outcome=(
            *(f"{bottle.serial}: {bottle.name}" for bottle in bottles.values()),
            f"opened today: {opened.name}, keeps {opened.period_after_opening} from now",
        ),
    )
    return {name: bottle.serial for name, bottle in bottles.items()}


def _prepare_empty(practice: Practice) -> Generator[Step, None, Prepared]:
    """The default: empty tubes are processed, and filled at the chair."""
    order = PreparationOrder(variant=Variant.EMPTY_TUBES, tubes=20, size_ml=Decimal("0.5"))
    done = prepare_tubes(practice, order, by=BENCH)
    yield Step(heading="Twenty empty 0.5 mL tubes, to be filled at the chair", outcome=_told(done))
    return done


def _prepare_filled(practice: Practice, bottles: dict[str, str]) -> Generator[Step, None, Prepared]:
    """The other variant, which most pigments may not take."""
    for name in ("Driftwood", "Clay", "Oat Milk"):
        refused = prepare_tubes(practice, _filled(bottles[name], tubes=10), by=BENCH)
        yield Step(heading=f"Filling {name} before processing is asked for", outcome=_told(refused))
    done = prepare_tubes(practice, _filled(bottles["Rosehip"], tubes=TUBES), by=BENCH)
    yield Step(heading=f"Filling {TUBES} tubes of Rosehip before processing is asked for", outcome=_told(done))
    return done


def _prepare_mix(practice: Practice, bottles: dict[str, str]) -> Generator[Step, None, Prepared]:
    """The maker's letter about the second pigment arrives; then both may be mixed."""
    name = _PIGMENTS[1].as_name.text
    statement = {"resterilising_statement": "maker's letter, file 4 (invented)"}
    corrected = correct_record(
        practice, "product", name, statement, by=BENCH, reason="the maker's letter arrived today"
    )
    open_bottle(practice, bottles["Oat Milk"], by=BENCH)
    order = PreparationOrder(
        variant=Variant.FILLED_BEFORE,
        tubes=4,
        parts=(
            Part(bottle=bottles["Rosehip"], amount_ml=Decimal(2)),
            Part(bottle=bottles["Oat Milk"], amount_ml=Decimal(2)),
        ),
        size_ml=Decimal("1.5"),
        fill_ml=Decimal("0.8"),
    )
    done = prepare_tubes(practice, order, by=BENCH)
    yield Step(
        heading="The maker's letter about Oat Milk arrives, the record is corrected; a mix of two pigments is made",
        outcome=(
            *(f"{one.field}: {one.before or 'nothing'} -> {one.after}" for one in corrected.changes),
            *_told(done),
        ),
    )
    return done


def _filled(bottle: str, *, tubes: int) -> PreparationOrder:
    fill = Decimal("0.8")
    return PreparationOrder(
        variant=Variant.FILLED_BEFORE,
        tubes=tubes,
        parts=(Part(bottle=bottle, amount_ml=fill * tubes),),
        size_ml=Decimal("1.5"),
        fill_ml=fill,
    )


def _told(done: Prepared) -> tuple[str, ...]:
    if done.preparation is None:
        return tuple(f"refused: {reason.sentence}" for reason in done.refused)
    use_by = done.dating.use_by if done.dating else None
    dated = f"use by {use_by.date.isoformat()}, because of the {in_words(use_by.cause.kind)}" if use_by else ""
    first, last = done.tubes[0].serial, done.tubes[-1].serial
    return (f"{done.preparation.number}: {len(done.tubes)} tubes, {first} to {last}; {dated}",)


def _print(
    practice: Practice, empty: Prepared, filled: Prepared, mixed: Prepared
) -> Generator[Step, None, tuple[dict[str, PrintDone], Packed]]:
    """Print every label set; the pouches are packed in between."""
    tubes = tuple(tube.serial for tube in filled.tubes)
    runs = {
        "tubes": _run(practice, tubes, layout=TUBE_LAYOUT, sheet=TUBE_SHEET),
        "caps": _run(practice, tubes, layout="cap-11", sheet="a4-round-13x18-11"),
    }
    yield _printed("The tubes' labels: a side label and a cap disc each", runs["tubes"], runs["caps"])
    serials = tuple(tube.serial for tube in empty.tubes)
    runs["empty"] = _run(practice, serials, layout="tube-empty", sheet="roll-28x13")
    yield _printed("The empty tubes' labels, on a roll", runs["empty"])
    packed = Packed(
        filled=_pouched(practice, tubes[:48]),
        empty=_pouched(practice, serials[:10], layout="pouch-empty"),
        mixed=_pouched(practice, tuple(tube.serial for tube in mixed.tubes)),
    )
    runs["pouches"] = packed.filled.run
    every = (packed.filled, packed.empty, packed.mixed)
    count = sum(len(one.serials) for one in every)
    yield _printed(f"{count} pouches of two tubes, with their labels", *(one.run for one in every))
    return runs, packed


def _pouched(practice: Practice, tubes: tuple[str, ...], *, layout: str = "pouch-90") -> Pouched:
    pouches = pack_pouches(practice, one_each(tubes, in_one=2), material_lot="PM-204", by=BENCH)
    serials = tuple(pouch.serial for pouch in pouches)
    return Pouched(serials=serials, run=_run(practice, serials, layout=layout, sheet=POUCH_SHEET))


def _print_again(practice: Practice, filled: Prepared, first: dict[str, PrintDone]) -> Generator[Step, None, PrintDone]:
    """A stricter limit gives the tubes an earlier use-by; what was printed before is void for those printed again."""
    serials = tuple(tube.serial for tube in filled.tubes[:5])
    sides, caps = (
        _run(practice, serials, layout=run.run.layout, sheet=run.run.sheet, reprint_of=run.run.number)
        for run in (first["tubes"], first["caps"])
    )
    yield _printed(
        "The practice shortens its limit to 90 days; five tubes are labelled anew, the first labels void", sides, caps
    )
    return sides


def _run(
    practice: Practice, serials: tuple[str, ...], *, layout: str, sheet: str, reprint_of: str | None = None
) -> PrintDone:
    job = label_job(practice, layout=layout, sheet=sheet)
    order = PrintOrder(serials=serials, job=job, stock_lot="LS-88", stock_withstands_steam=True, reprint_of=reprint_of)
    return print_run(practice, order, by=BENCH)


def _printed(heading: str, *runs: PrintDone) -> Step:
    return Step(
        heading=heading,
        outcome=tuple(
            f"{one.run.number}: {one.proved.labels} labels, {one.proved.pages} pages, every code read back"
            for one in runs
        ),
        files=tuple(one.file for one in runs),
    )
