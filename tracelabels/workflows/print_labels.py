"""Set labels, prove them, and only then leave a file: the one place that writes label files.

The file appears whole or not at all: it is written beside its place under another name and moved there at the end.
"""

import hashlib
import os
import tempfile
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from tracelabels.errors import InputError, ProofError
from tracelabels.labels import LabelContent, Layout, Printer, Sheet, Typeset, typeset
from tracelabels.legibility.proof import Progress, ProofFailure, prove


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


@dataclass(frozen=True, slots=True, kw_only=True)
class ProvedLabels:
    """Labels that have been set and read back."""

    pdf: bytes
    """The document."""
    labels: int
    """How many labels stand in it."""
    pages: int
    """How many sheets it needs."""
    warnings: tuple[str, ...]
    """What a careful person wants to know about them."""

    @property
    def digest(self) -> str:
        """Return the SHA-256 of the document in hexadecimal."""
        return hashlib.sha256(self.pdf).hexdigest()


def prove_labels(contents: Iterable[LabelContent], job: LabelJob, *, progress: Progress | None = None) -> ProvedLabels:
    """Set labels and read every one back from the rasterised document.

    Raises:
        LabelError: a label cannot be set whole and legibly.
        ProofError: a label does not read back as it should.
    """
    done = set_labels(contents, job)
    failures = prove(done.pdf, done.placed, dpi=job.printer.dpi, progress=progress)
    if failures:
        raise _as_proof_error(failures, len(done.placed))
    return ProvedLabels(pdf=done.pdf, labels=len(done.placed), pages=done.pages, warnings=done.warnings)


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
        InputError: the folder of the file is not there.
    """
    if not out.parent.is_dir():
        raise InputError(
            given=f"{out}", expected="a file in a folder that is there", remedy=f"make the folder {out.parent}"
        )
    proved = prove_labels(contents, job, progress=progress)
    with _whole_file(out, proved.pdf):
        if before_it_appears is not None:
            before_it_appears(proved)
    return proved


@contextmanager
def _whole_file(out: Path, content: bytes) -> Iterator[None]:
    """Write beside the file's place, yield, then give it its name; if anything fails, nothing is left."""
    handle, name = tempfile.mkstemp(dir=out.parent, prefix=".", suffix=".part")
    umask = os.umask(0)
    os.umask(umask)
    Path(name).chmod(0o666 & ~umask)  # as an ordinary new file; the temporary one is for its owner only
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        yield
        Path(name).replace(out)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
