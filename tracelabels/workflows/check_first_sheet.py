"""The first printed sheet, photographed or scanned on a flatbed: grade each code, and compare it with its run.

Grades are indicative, not a verifier's. What cannot be graded gets a reason in place of a grade, never a guess.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import nullcontext
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Final

from tracelabels.custody import PrintedLabel
from tracelabels.errors import IdentifierError
from tracelabels.identifiers import LabelIdentity, identify
from tracelabels.legibility.findings import Finding, Legibility, worst
from tracelabels.legibility.grades import INDICATIVE, GradeMethod, NotGraded, SymbolGrade, grade_picture
from tracelabels.legibility.grades.scale import BEST
from tracelabels.records import Reading
from tracelabels.scanning import Picture, load_pictures
from tracelabels.workflows.practice import Practice

MINIMUM: Final = 1.5
"""GS1 symbol specification table 6 (R26.0): minimum print quality 1.5/08/660 for GS1 DataMatrix."""
WISHED: Final = 2.5
"""One letter above the minimum: room for the steriliser and the shelf (common practice, no source)."""
_SOURCE: Final = (
    "GS1 symbol specification table 6 (R26.0), minimum 1.5; measured in a picture: indicative, not a verifier"
)
_RECORD: Final = "the record of its print run"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GradedLabel:
    """One code in the picture."""

    label: str
    """Its serial, or its place in the picture."""
    grade: SymbolGrade | NotGraded
    """The grade, or why there is none."""
    findings: tuple[Finding, ...]
    """About its grade and its record."""

    @property
    def verdict(self) -> Legibility:
        """Return how it stands: the worst finding decides."""
        return worst(self.findings)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CheckedSheet:
    """A picture of a first sheet, checked."""

    picture: Picture
    """The picture."""
    labels: tuple[GradedLabel, ...]
    """Every code in it."""
    findings: tuple[Finding, ...]
    """About the picture as a whole."""

    @property
    def basis(self) -> str:
        """Return what the grades are and are not."""
        return INDICATIVE

    @property
    def verdict(self) -> Legibility:
        """Return how the sheet stands."""
        return worst([*self.findings, *(finding for label in self.labels for finding in label.findings)])

    @property
    def verdict_of_picture(self) -> Legibility:
        """Return how the picture as a whole stands, its labels left out."""
        return worst(self.findings)

    @property
    def weakest(self) -> GradedLabel | None:
        """Return the label with the lowest grade, or one that could not be graded; None if there is no label."""
        return min(self.labels, key=_grade_of, default=None)

    @property
    def alike(self) -> tuple[tuple[GradedLabel, ...], ...]:
        """Return the labels in groups of which all that is found is the same, in the order of the picture."""
        groups: dict[tuple[tuple[str, Legibility, str], ...], list[GradedLabel]] = {}
        for label in self.labels:
            stands = tuple((finding.rule, finding.verdict, finding.measured) for finding in label.findings)
            groups.setdefault(stands, []).append(label)
        return tuple(tuple(group) for group in groups.values())


def _grade_of(label: GradedLabel) -> float:
    return label.grade.grade if isinstance(label.grade, SymbolGrade) else -1.0


def check_first_sheet(
    source: Path | bytes,
    *,
    today: date,
    practice: Practice | None = None,
    method: GradeMethod = GradeMethod.WHOLE_2011,
    name: str | None = None,
) -> Iterator[CheckedSheet]:
    """Grade every code in a picture and compare it with its run; yield one answer for each page of the file.

    Args:
        source: a photograph or a flatbed scan.
        today: decides the century of two-digit years.
        practice: whose ledger knows the run; None grades only.
        method: whole or continuous grades.
        name: what to call the bytes in sentences.

    Raises:
        PictureError: the file is broken, too large, or no picture.
    """
    for picture in load_pictures(source, name=name):
        found = grade_picture(picture.grey, method=method)
        grades = [(grade, grade.text) for grade in found if grade.text is not None]
        identities = [_identity(text, today) for _, text in grades]
        with practice.ledger.read() if practice else nullcontext() as ledger:
            records = [_record(ledger, identity) for identity in identities]
            run = _run_of(records)
            whole = _whole(ledger, run, identities)
        labels = tuple(
            GradedLabel(
                label=identity.serial if identity and identity.serial else f"code {number}",
                grade=grade,
                findings=(_graded(grade), *(_compared(identity, record, run) if practice and identity else ())),
            )
            for number, ((grade, _), identity, record) in enumerate(zip(grades, identities, records, strict=True), 1)
        )
        yield CheckedSheet(picture=picture, labels=labels, findings=whole)


def _identity(text: str, today: date) -> LabelIdentity | None:
    try:
        return identify(text, today=today).identity
    except IdentifierError:
        return None


def _record(ledger: Reading | None, identity: LabelIdentity | None) -> tuple[PrintedLabel, ...]:
    if ledger is None or identity is None or identity.serial is None:
        return ()
    return tuple(one.value for one in ledger.labels_with_serial(identity.serial))


def _run_of(records: Sequence[tuple[PrintedLabel, ...]]) -> str | None:
    """Return the print run that most of the labels belong to."""
    counted = Counter(label.run for labels in records for label in labels if label.run is not None)
    return max(counted, key=lambda run: (counted[run], run), default=None)


def _graded(grade: SymbolGrade | NotGraded) -> Finding:
    if isinstance(grade, NotGraded):
        return Finding(
            rule="print_quality",
            verdict=Legibility.FAIL,
            measured="no grade",
            required=f"{MINIMUM:g} or better",
            source=_SOURCE,
            fix=grade.reason,
        )
    verdict = Legibility.PASS if grade.grade >= WISHED else Legibility.WARN
    best = grade.weakest.grade is not None and grade.weakest.grade >= BEST
    weak = "every parameter at its best" if best else f"weakest: {grade.weakest.name.value}"
    return Finding(
        rule="print_quality",
        verdict=verdict if grade.grade >= MINIMUM else Legibility.FAIL,
        measured=f"{grade.overall}, {grade.letter}; {weak}",
        required=f"{MINIMUM:g} or better, {WISHED:g} wished",
        source=_SOURCE,
        fix=""
        if verdict is Legibility.PASS
        else f"mend the print ({weak}), or take the picture nearer and in even light",
    )


def _compared(identity: LabelIdentity, record: tuple[PrintedLabel, ...], run: str | None) -> Iterator[Finding]:
    said = (identity.lot, identity.use_by, identity.prepared)
    of_run = next((label for label in record if label.run == run), None)
    if of_run is None:
        where = ", ".join(sorted({str(label.run) for label in record})) or "no print run"
        yield _record_finding(Legibility.FAIL, f"serial {identity.serial}: {where}", f"a label of print run {run}")
    elif said != (of_run.lot, of_run.use_by, of_run.prepared):
        yield _record_finding(Legibility.FAIL, _words(*said), _words(of_run.lot, of_run.use_by, of_run.prepared))
    else:
        yield _record_finding(Legibility.PASS, _words(*said), f"as print run {run} recorded")


def _words(lot: str | None, use_by: date | None, prepared: date | None) -> str:
    said = {"batch": lot, "use-by": use_by, "prepared": prepared}
    return ", ".join(f"{name} {value}" for name, value in said.items() if value is not None) or "no batch and no date"


def _record_finding(verdict: Legibility, measured: str, required: str) -> Finding:
    mixed = "destroy the label and look for the sheet that it came from"
    return Finding(
        rule="content",
        verdict=verdict,
        measured=measured,
        required=required,
        source=_RECORD,
        fix="" if verdict is Legibility.PASS else mixed,
    )


def _whole(
    ledger: Reading | None,
    run: str | None,
    identities: Sequence[LabelIdentity | None],
) -> tuple[Finding, ...]:
    """Say whether the picture shows codes at all, one identity or None each, and every label of the run."""
    if not identities:
        return (
            Finding(
                rule="picture",
                verdict=Legibility.FAIL,
                measured="no code is read in the picture",
                required="a sharp picture of printed labels",
                source="common practice, no source",
                fix="scan the sheet on a flatbed at 600 dpi, or photograph it nearer and in even light",
            ),
        )
    if ledger is None or run is None:
        return ()
    expected = {one.value.serial for one in ledger.labels_of_run(run)}
    seen = {identity.serial for identity in identities if identity is not None}
    missing = sorted(expected - seen)
    if not missing:
        return ()
    named = missing[0] if len(missing) == 1 else f"{missing[0]} and {len(missing) - 1} more"
    return (
        Finding(
            rule="whole_sheet",
            verdict=Legibility.WARN,
            measured=f"{len(expected) - len(missing)} of {len(expected)} labels of print run {run}; missing: {named}",
            required="every label of the run",
            source=_RECORD,
            fix="take the whole sheet, or one picture for each part of it",
        ),
    )
