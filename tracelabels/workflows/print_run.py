"""Print labels of recorded tubes or pouches, and record exactly what each printed label says.

A reprint prints the same serials again as a run of its own; each new label voids its predecessor, so that of two
labels with one serial only one is ever valid.
"""

from dataclasses import dataclass, replace
from pathlib import Path

from tracelabels.custody import LabelKind, PrintedLabel, PrintRun
from tracelabels.errors import InputError, LedgerError
from tracelabels.labels import LabelContent
from tracelabels.legibility.proof import Progress
from tracelabels.records import Reading, Series
from tracelabels.workflows.check_legibility import stock_of
from tracelabels.workflows.label_contents import ContentWriter
from tracelabels.workflows.leave_file import FileKind, require_place
from tracelabels.workflows.practice import PRINTED, Practice, require_own_serial
from tracelabels.workflows.print_labels import LabelJob, ProvedLabels, write_labels


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintOrder:
    """What to print."""

    serials: tuple[str, ...]
    """Serials of tubes or pouches, in the order of printing."""
    job: LabelJob
    """Layout, sheet, printer."""
    stock_lot: str | None = None
    """Lot of the label stock, if known."""
    stock_withstands_steam: bool | None = None
    """Whether the label stock goes through a steam steriliser unharmed, if known."""
    reprint_of: str | None = None
    """Number of the run that this one replaces."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintDone:
    """A run that was printed and recorded."""

    run: PrintRun
    """As recorded."""
    file: Path
    """Where the document lies."""
    proved: ProvedLabels
    """The document and its proof."""


def print_run(
    practice: Practice, order: PrintOrder, *, by: str, out: Path | None = None, progress: Progress | None = None
) -> PrintDone:
    """Set, prove and record labels; the file appears last.

    Args:
        practice: whose ledger is asked and written.
        order: what to print.
        by: opaque staff id.
        out: the file; None for ``printed/`` in the practice's folder, named after the run.
        progress: told while the proof runs.

    Raises:
        LedgerError: a serial is not on record, has a valid label of this kind already, or the run to replace is not.
        InputError: the practice's identifier mode needs a GTIN that settings do not name, or a tube has no use-by.
        LabelError, ProofError: see :func:`tracelabels.workflows.print_labels.write_labels`.
    """
    order = _with_stock(practice, order)
    order = replace(order, serials=tuple(map(require_own_serial, order.serials)))
    _require_each_once(order.serials)
    if out is not None:
        require_place(out, FileKind.PDF)
    with practice.ledger.read() as ledger:
        contents = _contents(practice, ledger, order)
    with practice.write(by=by) as ledger:
        number = ledger.next_numbered(Series.PRINT_RUN)
    file = out or practice.folder / PRINTED / f"{number}.pdf"
    recorder = _Recorder(practice=practice, order=order, run=_run(practice, order, number), contents=contents, by=by)
    try:
        proved = write_labels(contents, order.job, file, progress=progress, before_it_appears=recorder.record)
    except OSError as problem:
        if recorder.recorded is None:
            raise
        raise _file_not_left(number, file, problem) from problem
    return PrintDone(run=recorder.recorded or recorder.run, file=file, proved=proved)


@dataclass(slots=True, kw_only=True)
class _Recorder:
    """Records a proved run in one unit, after asking every rule again."""

    practice: Practice
    order: PrintOrder
    run: PrintRun
    contents: tuple[LabelContent, ...]
    by: str
    recorded: PrintRun | None = None

    def record(self, proved: ProvedLabels) -> None:
        run = replace(self.run, proof_digest=proved.digest)
        override = self.order.job.override
        if proved.overridden and override is not None:
            rules = ", ".join(finding.rule for finding in proved.overridden)
            run = replace(run, override_by=override.by, override_reason=f"{override.reason} (fails {rules})")
        with self.practice.write(by=self.by) as ledger:
            if _contents(self.practice, ledger, self.order) != self.contents:
                raise _changed_meanwhile(run.number)
            kind = self.order.job.layout.surface
            ledger.add_print_run(run, (_as_printed(content, kind) for content in self.contents))
        self.recorded = run


def _with_stock(practice: Practice, order: PrintOrder) -> PrintOrder:
    """Complete the job with what is known of the label stock: what was said for this run, else the practice's."""
    usual = stock_of(practice.settings.stock)
    said = order.stock_withstands_steam
    stock = usual if said is None else replace(usual, withstands_steam=said)
    return replace(
        order, job=replace(order.job, stock=order.job.stock or stock), stock_withstands_steam=stock.withstands_steam
    )


def _contents(practice: Practice, ledger: Reading, order: PrintOrder) -> tuple[LabelContent, ...]:
    """Return what the labels say, as the ledger stands; every rule about printing them is checked here.

    It is asked twice: before setting, and again in the unit that records the run, where nobody can come between.
    """
    for serial in order.serials:
        _require_turn(ledger, order, serial)
    writer = ContentWriter(practice, ledger)
    for serial in order.serials:
        writer.require_surface(serial, order.job.layout)
    is_second = order.job.layout.surface is LabelKind.SECOND
    return tuple(writer.content_of(serial, is_second=is_second) for serial in order.serials)


def _require_each_once(serials: tuple[str, ...]) -> None:
    seen: set[str] = set()
    for serial in serials:
        if serial in seen:
            raise InputError(
                given=f"serial {serial} twice",
                expected="each serial once",
                remedy="name it once; for two labels of one tube use --copies",
            )
        seen.add(serial)
    if not seen:
        raise InputError(given="no serial", expected="at least one", remedy="name serials, --preparation or --reprint")


def _require_turn(ledger: Reading, order: PrintOrder, serial: str) -> None:
    """Of two labels of one kind for one serial only one may ever be valid.

    A first label may be printed where there is none; a reprint only of the run that holds the valid one.
    """
    kind = order.job.layout.surface
    found = [one.value for one in ledger.labels_with_serial(serial)]
    valid = next((one for one in found if one.kind is kind and one.voided_by is None), None)
    if order.reprint_of is None and valid is not None:
        raise LedgerError(
            given=f"a {kind.value} label for {serial}, which has one from print run {valid.run}",
            expected="one valid label of a kind for each serial",
            remedy=f"print it again with --reprint {valid.run}, which voids the first",
        )
    if order.reprint_of is not None and (valid is None or valid.run != order.reprint_of):
        raise LedgerError(
            given=f"a reprint of the {kind.value} label {serial} of print run {order.reprint_of}",
            expected=f"the run of its valid label{f', {valid.run}' if valid else '; it has none'}",
            remedy=f"print it again with --reprint {valid.run}" if valid else "print it as a first label",
        )


def _changed_meanwhile(number: str) -> LedgerError:
    return LedgerError(
        given=f"print run {number}, while whose labels were proved the record of its tubes or bottles changed",
        expected="labels that say what is on record",
        remedy="print them again; no file was left and no label was recorded",
    )


def _file_not_left(number: str, file: Path, problem: OSError) -> InputError:
    return InputError(
        given=f"{file}, which could not be put in its place ({problem.strerror}) after print run {number} was recorded",
        expected="a place where the file can be written",
        remedy=f"close the file if it is open, and print again with --reprint {number}",
    )


def serials_of_run(practice: Practice, number: str) -> tuple[str, ...]:
    """Return the serials of a print run in the order printed.

    Raises:
        LedgerError: there is no such run.
    """
    with practice.ledger.read() as ledger:
        if ledger.find_print_run(number) is None:
            raise _not_on_record(what="print run", number=number)
        return tuple(dict.fromkeys(one.value.serial for one in ledger.labels_of_run(number)))


def serials_of_preparation(practice: Practice, number: str) -> tuple[str, ...]:
    """Return the serials of a preparation's tubes.

    Raises:
        LedgerError: there is no such preparation.
    """
    with practice.ledger.read() as ledger:
        if ledger.find_preparation(number) is None:
            raise _not_on_record(what="preparation", number=number)
        return tuple(one.value.serial for one in ledger.tubes_of(number))


def _not_on_record(*, what: str, number: str) -> LedgerError:
    return LedgerError(
        given=f"{what} {number}", expected=f"a {what} that is on record", remedy="look it up with 'tracelabels look'"
    )


def _run(practice: Practice, order: PrintOrder, number: str) -> PrintRun:
    return PrintRun(
        number=number,
        printed_on=practice.today,
        layout=order.job.layout.name,
        sheet=order.job.sheet.name,
        dpi=order.job.printer.dpi,
        stock_lot=order.stock_lot,
        stock_withstands_steam=order.stock_withstands_steam,
        reprint_of=order.reprint_of,
    )


def _as_printed(content: LabelContent, kind: LabelKind) -> PrintedLabel:
    identity = content.identity
    return PrintedLabel(
        serial=identity.serial or "",
        kind=kind,
        lot=identity.lot,
        use_by=identity.use_by,
        prepared=identity.prepared,
        item_number=content.item_number,
    )
