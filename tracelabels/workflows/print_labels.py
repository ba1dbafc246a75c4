"""Set labels, prove them, and only then leave a file: the one place that writes label files.

The file appears whole or not at all: it is written beside its place under another name and moved there at the end.
"""

import glob
import hashlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from pathlib import Path

from tracelabels.errors import HeldError, InputError, ProofError
from tracelabels.labels import (
    LabelContent,
    Layout,
    Printer,
    Sheet,
    Typeset,
    alignment_page,
    typeset,
    typeset_pictures,
)
from tracelabels.legibility.findings import Finding
from tracelabels.legibility.proof import Progress, ProofFailure, prove
from tracelabels.legibility.rules import Stock
from tracelabels.legibility.run_rules import rule_failures
from tracelabels.words import in_words
from tracelabels.workflows.leave_file import FileKind, leave_file, require_place, whole_files


@dataclass(frozen=True, slots=True, kw_only=True)
class Override:
    """Somebody lets a run through although its check failed."""

    by: str
    """Opaque staff id."""
    reason: str
    """Why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelJob:
    """What to print, where on the sheet, on which printer."""

    layout: Layout
    """What goes where on a label."""
    sheet: Sheet
    """Where the labels lie on the page."""
    printer: Printer
    """Resolution and corrections."""
    skip: int = 0
    """Places at the start of the first sheet that are used up."""
    copies: int = 1
    """How many labels each serial gets; from two on they say which copy they are."""
    outlines: bool = False
    """Draw the labels' edges, for a test on plain paper."""
    title: str = "labels"
    """Title of the document."""
    stock: Stock | None = None
    """What it is printed on, as far as known."""
    override: Override | None = None
    """Who lets it through if a rule of legibility is failed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ProvedLabels:
    """Labels that have been set and read back."""

    typeset: Typeset
    """The document, and where each label stands in it."""
    overridden: tuple[Finding, ...] = ()
    """The rules that it fails, let through by somebody."""

    @property
    def pdf(self) -> bytes:
        """Return the document."""
        return self.typeset.pdf

    @property
    def labels(self) -> int:
        """Return how many labels stand in it."""
        return len(self.typeset.placed)

    @property
    def pages(self) -> int:
        """Return how many pages it has."""
        return self.typeset.pages

    @property
    def warnings(self) -> tuple[str, ...]:
        """Return what a careful person wants to know about them."""
        return self.typeset.warnings

    @property
    def digest(self) -> str:
        """Return the SHA-256 of the document in hexadecimal."""
        return hashlib.sha256(self.pdf).hexdigest()


def prove_labels(contents: Iterable[LabelContent], job: LabelJob, *, progress: Progress | None = None) -> ProvedLabels:
    """Set labels and read every one back from the rasterised document.

    Raises:
        LabelError: a label cannot be set whole and legibly.
        ProofError: a label does not read back as it should.
        HeldError: a rule of legibility is failed, and nobody lets the run through.
    """
    done = set_labels(contents, job)
    failures = prove(done.pdf, done.placed, dpi=job.printer.dpi, progress=progress)
    if failures:
        raise _as_proof_error(failures, len(done.placed))
    held = rule_failures(done, layout=job.layout, sheet=job.sheet, printer=job.printer, stock=job.stock)
    if held and job.override is None:
        raise _as_held_error(held)
    return ProvedLabels(typeset=done, overridden=held)


def _as_held_error(held: tuple[Finding, ...]) -> HeldError:
    first = held[0]
    more = f" (and {len(held) - 1} more)" if len(held) > 1 else ""
    return HeldError(
        given=f"labels that fail the rule {in_words(first.rule)}{more}: {first.measured}",
        expected=first.required,
        remedy=f"{first.fix}; no file was left. Whoever answers for it may let it through with --override REASON",
    )


def set_labels(contents: Iterable[LabelContent], job: LabelJob) -> Typeset:
    """Set labels without proof; whoever leaves a file calls :func:`prove_labels`."""
    return typeset(
        contents,
        layout=job.layout,
        sheet=job.sheet,
        printer=job.printer,
        skip=job.skip,
        copies=job.copies,
        outlines=job.outlines,
        title=job.title,
    )


def _as_proof_error(failures: tuple[ProofFailure, ...], labels: int) -> ProofError:
    first = failures[0]
    return ProofError(
        given=f"{len(failures)} of {labels} labels that do not read back; first on page {first.page}, row {first.row}, "
        f"column {first.column}: {first.found} where it should say {first.expected!r}",
        expected="every label to read back as it should",
        remedy="no file was left; choose another layout, sheet or resolution",
    )


def write_labels(
    contents: Iterable[LabelContent],
    job: LabelJob,
    out: Path,
    *,
    progress: Progress | None = None,
    before_it_appears: Callable[[ProvedLabels], None] | None = None,
) -> ProvedLabels:
    """Set and prove labels, then leave the file.

    Args:
        contents: the labels, in order.
        job: layout, sheet, printer.
        out: the file; replaced if it is there.
        progress: told while the proof runs.
        before_it_appears: called when the document is proved and safely on the disk, before it gets its name;
            if it raises, no file is left.

    Raises:
        LabelError, ProofError: see :func:`prove_labels`; no file is left.
        InputError: no file may be left there.
    """
    require_place(out, FileKind.PDF)
    proved = prove_labels(contents, job, progress=progress)
    with whole_files([(out, proved.pdf)]):
        if before_it_appears is not None:
            before_it_appears(proved)
    return proved


def write_pictures(
    contents: Iterable[LabelContent], job: LabelJob, out: Path, *, progress: Progress | None = None
) -> tuple[Path, ...]:
    """Set and prove labels, then leave one PNG for each, for label printers that take pictures.

    A dot of the printer is a pixel. The printer's offset and scale are left to the printer. With several labels the
    files are numbered: ``name-0001.png`` and so on.

    Raises:
        LabelError, ProofError: see :func:`prove_labels`; no file is left.
        InputError: no file may be left there.
    """
    earlier = sorted(out.parent.glob(f"{glob.escape(out.stem)}-[0-9][0-9][0-9][0-9]{glob.escape(out.suffix)}"))
    if earlier:
        raise InputError(
            given=f"{out}, beside {earlier[0].name} and others of an earlier run",
            expected="a name that no pictures bear yet",
            remedy="choose another name, or delete the earlier pictures",
        )
    require_place(out, FileKind.PNG)
    plain = replace(job, printer=Printer(dpi=job.printer.dpi))
    proved = prove_labels(contents, plain, progress=progress)
    pictures = typeset_pictures(proved.typeset, sheet=job.sheet)
    numbered = proved.labels > 1
    files = [
        (out.with_name(f"{out.stem}-{number:04d}{out.suffix}") if numbered else out, picture)
        for number, picture in enumerate(pictures, 1)
    ]
    with whole_files(files):
        pass
    return tuple(file for file, _ in files)


def write_alignment_page(sheet: Sheet, printer: Printer, out: Path) -> None:
    """Leave a page on which to measure how far a printer is off.

    Raises:
        InputError: no file may be left there.
    """
    require_place(out, FileKind.PDF)
    leave_file(out, alignment_page(sheet, printer))
