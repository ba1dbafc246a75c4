"""Know that labels will read, before the run, on the first printed sheet, and after the steriliser.

Labels of one design (the same symbol size, module size and surface) stand or fall together in the simulated run, so
each design is judged once; rules and grades look at every label. What is predicted is simulated; what is measured in a
photograph is indicative, not a verifier's grade.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from tracelabels.errors import InputError
from tracelabels.identifiers import IdentifierMode
from tracelabels.labels import Printer, list_layouts, list_sheets, require_layout, require_sheet
from tracelabels.legibility.advice import Adviser, Setting
from tracelabels.legibility.envelope import Envelope, Span
from tracelabels.legibility.findings import Finding, Legibility, worst
from tracelabels.legibility.judgement import Judgement, Progress, judge
from tracelabels.legibility.rules import PrintMethod, Stock, check_rules
from tracelabels.legibility.rules.steam import UNKNOWN as UNKNOWN_STOCK
from tracelabels.legibility.run_rules import design_of
from tracelabels.legibility.samples import sample_content
from tracelabels.legibility.subject import Subject
from tracelabels.legibility.subjects import subject_of_layout, subjects_of_pdf
from tracelabels.lengths import Mm
from tracelabels.settings import EnvelopeSection, Settings, StockSection
from tracelabels.workflows.templates import own_templates, settings_here

__all__ = [
    "UNKNOWN_STOCK",
    "Advice",
    "CheckedLabel",
    "Checking",
    "Trials",
    "advise",
    "checking_here",
    "is_stock_unknown",
    "stock_here",
    "stock_of",
    "trials_for",
]

SEED: Final = 2026
"""The same seed gives the same judgement; a change of seed is a second opinion."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trials:
    """How labels are tried."""

    envelope: Envelope
    """Within what they shall read."""
    stock: Stock
    """What they are printed on."""
    quick: bool = False
    """Fewer factors and trials."""
    seed: int = SEED
    """For the trials."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CheckedLabel:
    """One label, checked."""

    subject: Subject
    """The label."""
    findings: tuple[Finding, ...]
    """Every rule and what the trials found."""
    judgement: Judgement
    """What the trials of its design found."""

    @property
    def verdict(self) -> Legibility:
        """Return how it stands: the worst finding decides."""
        return worst(self.findings)


def trials_for(envelope: EnvelopeSection, stock: StockSection, *, quick: bool = False) -> Trials:
    """Return the trials that a practice's settings ask for.

    Raises:
        InputError: an envelope's value is outside its factor's range.
    """
    usual = Envelope()
    spans = {
        name: Span(nominal=span.nominal, limit=span.limit)
        for name in envelope.__struct_fields__
        if (span := getattr(envelope, name)) is not None
    }
    return Trials(
        envelope=replace(usual, **spans),
        stock=stock_of(stock),
        quick=quick,
    )


def stock_of(section: StockSection) -> Stock:
    """Return the practice's label stock as the rules take it."""
    return Stock(name=section.name, method=PrintMethod(section.method), withstands_steam=section.withstands_steam)


def is_stock_unknown(stock: Stock) -> bool:
    """Say whether nobody entered if the stock goes through a steriliser; people are told, no rule is broken."""
    return stock.withstands_steam is None and stock.method is not PrintMethod.DIRECT_THERMAL


def stock_here(named: Path | None) -> Stock | None:
    """Return the label stock of the practice that lives here, or None where none does."""
    settings = settings_here(named)
    return stock_of(settings.stock) if settings else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Checking:
    """A check where a practice lives, or where none does."""

    own: Path | None
    """The practice's own templates, if it has any."""
    dpi: int
    """The printer's resolution."""
    tube_diameter: Mm | None
    """Outer diameter of the tubes; None takes the layout's."""
    mode: IdentifierMode
    """What the practice's codes claim."""
    trials: Trials
    """How labels are tried."""

    def check_layout(self, layout: str, sheet: str, *, progress: Progress | None = None) -> tuple[CheckedLabel, ...]:
        """Check a layout on a sheet, both by name, with an invented label that has the longest words it takes.

        Raises:
            LabelError: layout and sheet do not go together.
            NoRoomError: the code does not fit.
        """
        subject = subject_of_layout(
            require_layout(layout, self.own),
            require_sheet(sheet, self.own),
            dpi=self.dpi,
            mode=self.mode,
            tube_diameter=self.tube_diameter,
        )
        return self._check([subject], progress)

    def check_pdf(
        self, file: Path, *, sheet: str | None = None, progress: Progress | None = None
    ) -> tuple[tuple[CheckedLabel, ...], tuple[str, ...]]:
        """Check every label in a PDF, ours or not; return them and what could not be checked.

        Raises:
            InputError: the file cannot be read.
            RasterError: it is no readable PDF.
        """
        try:
            content = file.read_bytes()
        except OSError as problem:
            raise InputError(
                given=f"{file}: {problem.strerror}", expected="a PDF that can be read", remedy="check its name"
            ) from problem
        on = require_sheet(sheet, self.own) if sheet else None
        subjects, problems = subjects_of_pdf(content, dpi=self.dpi, tube_diameter=self.tube_diameter, sheet=on)
        return self._check(subjects, progress), problems

    def _check(self, subjects: Iterable[Subject], progress: Progress | None) -> tuple[CheckedLabel, ...]:
        """Check labels: every rule on each, the trials once for each design."""
        trials = self.trials
        judged: dict[tuple[object, ...], Judgement] = {}
        checked: list[CheckedLabel] = []
        for subject in subjects:
            design = design_of(subject)
            if design not in judged:
                judged[design] = judge(
                    subject, trials.envelope, seed=trials.seed, quick=trials.quick, progress=progress
                )
            judgement = judged[design]
            findings = (*check_rules(subject, stock=trials.stock), *judgement.findings)
            checked.append(CheckedLabel(subject=subject, findings=findings, judgement=judgement))
        return tuple(checked)


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """What to print instead."""

    change: str | None
    """The smallest change after which the label stands better, with numbers; None if none was found."""
    layouts: tuple[tuple[str, str, Legibility, Mm], ...]
    """Layouts that take the same label, best first: (layout, sheet, verdict, size of a module)."""
    refused: tuple[str, ...]
    """Layouts that cannot take it, each with its reason."""


def advise(checking: Checking, layout: str, sheet: str) -> Advice:
    """Search the layouts at hand for the same label, and for the smallest change that mends it.

    Raises:
        LabelError: layout and sheet do not go together, or the invented label cannot be set.
    """
    trials = checking.trials

    def judged(subject: Subject) -> Legibility:
        return judge(subject, trials.envelope, seed=trials.seed, quick=True).verdict

    layouts, sheets = list_layouts(checking.own), list_sheets(checking.own)
    adviser = Adviser(layouts=layouts, sheets=sheets, judge=judged, stock=trials.stock)
    wanted, on = require_layout(layout, checking.own), require_sheet(sheet, checking.own)
    content = sample_content(wanted, mode=checking.mode)
    diameter = checking.tube_diameter or (wanted.tube.diameter if wanted.tube else None)
    setting = Setting(content=content, layout=wanted, sheet=on, dpi=checking.dpi, tube_diameter=diameter)
    change = adviser.find_change(setting)
    ranked, refused = adviser.rank_layouts(content, dpi=checking.dpi, tube_diameter=diameter)
    return Advice(
        change=change.sentence if change else None,
        layouts=tuple(
            (one.setting.layout.name, one.setting.sheet.name, one.verdict, one.subject.x_dimension) for one in ranked
        ),
        refused=refused,
    )


def checking_here(
    named: Path | None, *, dpi: int | None = None, tube_diameter: float | None = None, quick: bool = False
) -> Checking:
    """Return a check with the settings of the practice that lives here, or the usual ones.

    Raises:
        SettingsError: the practice's settings are wrong, or a folder was named in which none lives.
        InputError: a resolution or a diameter is none.
    """
    settings = settings_here(named) or Settings()
    printer = Printer(dpi=settings.printing.dpi if dpi is None else dpi)
    if tube_diameter is not None and not 1.0 <= tube_diameter <= 100.0:  # noqa: PLR2004  lab tubes
        raise InputError(
            given=f"a tube of {tube_diameter:g} mm", expected="1 to 100 mm", remedy="measure its outer diameter"
        )
    return Checking(
        own=own_templates(named),
        dpi=printer.dpi,
        tube_diameter=None if tube_diameter is None else Mm(tube_diameter),
        mode=settings.identifier_mode,
        trials=trials_for(settings.envelope, settings.stock, quick=quick),
    )
