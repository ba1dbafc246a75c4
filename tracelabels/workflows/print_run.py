"""Print labels of recorded tubes or pouches, and record exactly what each printed label says.

A reprint prints the same serials again as a run of its own; each new label voids its predecessor, so that of two
labels with one serial only one is ever valid.
"""

from dataclasses import dataclass, replace
from pathlib import Path

from tracelabels.custody import LabelKind, PrintedLabel, PrintRun
from tracelabels.errors import LedgerError
from tracelabels.labels import LabelContent
from tracelabels.legibility.proof import Progress
from tracelabels.records import Reading, Series
from tracelabels.workflows.label_contents import content_of, surface_of
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
    order = replace(order, serials=tuple(map(require_own_serial, order.serials)))
    with practice.ledger.read() as ledger:
        contents = tuple(content_of(practice, ledger, serial) for serial in order.serials)
        if order.reprint_of is None:
            _require_first_labels(ledger, order)
    with practice.ledger.write(by=by) as ledger:
        number = f"R{practice.settings.practice.site:02d}-{ledger.next_numbers(Series.PRINT_RUN)[0]:04d}"
    file = out or practice.folder / PRINTED / f"{number}.pdf"
    run = _run(practice, order, number)

    def record(proved: ProvedLabels) -> None:
        with practice.ledger.write(by=by) as ledger:
            labels = (_as_printed(content, surface_of(order.job.layout)) for content in contents)
            ledger.add_print_run(replace(run, proof_digest=proved.digest), labels)

    proved = write_labels(contents, order.job, file, progress=progress, before_it_appears=record)
    return PrintDone(run=replace(run, proof_digest=proved.digest), file=file, proved=proved)


def serials_of_run(practice: Practice, number: str) -> tuple[str, ...]:
    """Return the serials of a print run in the order printed.

    Raises:
        LedgerError: there is no such run.
    """
    with practice.ledger.read() as ledger:
        if ledger.find_print_run(number) is None:
            raise LedgerError(
                given=f"print run {number}",
                expected="a run that is on record",
                remedy="look it up with 'tracelabels look'",
            )
        return tuple(dict.fromkeys(one.value.serial for one in ledger.labels_of_run(number)))


def serials_of_preparation(practice: Practice, number: str) -> tuple[str, ...]:
    """Return the serials of a preparation's tubes.

    Raises:
        LedgerError: there is no such preparation.
    """
    with practice.ledger.read() as ledger:
        if ledger.find_preparation(number) is None:
            raise LedgerError(
                given=f"preparation {number}",
                expected="a preparation that is on record",
                remedy="look it up with 'tracelabels look'",
            )
        return tuple(one.value.serial for one in ledger.tubes_of(number))


def _require_first_labels(ledger: Reading, order: PrintOrder) -> None:
    """Refuse a second valid label of the same kind: only a reprint, which voids the first, may follow."""
    kind = surface_of(order.job.layout)
    for serial in order.serials:
        valid = next(
            (
                one.value
                for one in ledger.labels_with_serial(serial)
                if one.value.kind is kind and one.value.voided_by is None
            ),
            None,
        )
        if valid is not None:
            raise LedgerError(
                given=f"a {kind.value} label for {serial}, which has one from print run {valid.run}",
                expected="one valid label of a kind for each serial",
                remedy=f"print it again with --reprint {valid.run}, which voids the first",
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
