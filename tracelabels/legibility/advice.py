"""What to print instead: the best layout for a label, and the smallest change that turns a fail into a pass.

A plain search over layouts, symbol shapes, resolutions and lengths of the batch, always in the same order, so that the
same question gets the same answer. The rules judge every try; a caller may add a judge of its own, such as the
simulated camera, which is asked only about what the rules do not refuse.
"""

from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from tracelabels.custody import LabelKind
from tracelabels.errors import TracelabelsError
from tracelabels.labels import ContentField, LabelContent, Layout, Sheet, fits, smallest_legible
from tracelabels.labels.composing import fit_field
from tracelabels.labels.content import find_text
from tracelabels.legibility.findings import SEVEREST_FIRST, Finding, Legibility, worst, worst_verdict
from tracelabels.legibility.reshaping import reshape
from tracelabels.legibility.rules import Stock, check_rules
from tracelabels.legibility.rules.extent import in_dots
from tracelabels.legibility.subject import Subject
from tracelabels.legibility.subjects import subject_of_layout
from tracelabels.lengths import Mm
from tracelabels.symbols import ShapeFamily, Symbology, shapes_of

Judge = Callable[[Subject], Legibility]
"""Says how a label stands beyond the rules."""

NEAR_DIAMETER: Final = Mm(1.0)
"""A layout serves a tube whose diameter differs from its own by no more (common practice, no source)."""

SHORTEST_LOT: Final = 4
"""A batch is not shortened further: fewer characters tell too few batches apart (own bound)."""

_NOT_OF_THE_LAYOUT: Final = frozenset({"steam", "contrast", "colour"})
_FACTS: Final = (
    ContentField.PRODUCT,
    ContentField.ITEM_NUMBER,
    ContentField.LOT,
    ContentField.PREPARED,
    ContentField.USE_BY,
)
_ROUNDING: Final = 1e-6


class ChangeKind(StrEnum):
    """What may be changed, the smallest change first."""

    LARGER_X = "larger_x"
    """Another layout for the same place, with more room for the code."""
    SHAPE = "shape"
    """A square instead of a rectangle, or the other way round, in the same place."""
    CAP = "cap"
    """The code on the cap, which is flat."""
    DPI = "dpi"
    """A printer with a finer resolution."""
    SHORTER_LOT = "shorter_lot"
    """Fewer characters in the batch."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """A label as it would be printed."""

    content: LabelContent
    """What it says."""
    layout: Layout
    """What goes where."""
    sheet: Sheet
    """What it is printed on."""
    dpi: int
    """The printer's resolution."""
    tube_diameter: Mm | None = None
    """Outer diameter of the tube at hand; None takes the layout's."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tried:
    """A setting with how it stands."""

    setting: Setting
    """What was tried."""
    subject: Subject
    """The label under check."""
    findings: tuple[Finding, ...]
    """What the rules say, those on stock and ink left out: no layout mends them."""
    verdict: Legibility
    """The worst of the rules and of the judge."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Change:
    """A change that mends a label."""

    kind: ChangeKind
    """What is changed."""
    sentence: str
    """What to do, with numbers."""
    after: Tried
    """The label after the change."""


class Adviser:
    """Searches among layouts and sheets."""

    __slots__ = ("_judge", "_known", "_layouts", "_sheets", "_stock")

    def __init__(
        self,
        *,
        layouts: Sequence[Layout],
        sheets: Sequence[Sheet],
        judge: Judge | None = None,
        stock: Stock | None = None,
    ) -> None:
        """Search among these.

        Args:
            layouts: The shipped layouts and a practice's own.
            sheets: The sheets at hand.
            judge: Asked about every try that the rules do not refuse; None lets the rules decide alone.
            stock: The label stock, as far as known.
        """
        self._layouts = tuple(sorted(layouts, key=lambda layout: layout.name))
        self._sheets = tuple(sheets)
        self._judge = judge
        self._stock = stock
        self._known: dict[Setting, Tried] = {}

    def rank_layouts(
        self, content: LabelContent, *, dpi: int, tube_diameter: Mm | None = None, sheet: Sheet | None = None
    ) -> tuple[tuple[Tried, ...], tuple[str, ...]]:
        """Try every layout that shows the whole content on a tube or, without a diameter, on a pouch.

        The verdict counts first, then the larger module, then the ease of the smallest text, then the name.

        Args:
            content: What the label says.
            dpi: The printer's resolution.
            tube_diameter: Outer diameter of the tube; None for a pouch.
            sheet: The sheet that is wished, taken wherever the layout goes on it.

        Returns:
            (What can be printed, best first; one sentence for each layout that cannot take the content.)
        """
        tried: list[Tried] = []
        refused: list[str] = []
        for layout in self._layouts:
            on = self._find_sheet(layout, sheet)
            if on is not None and _serves(layout, content, tube_diameter, self._layouts):
                setting = Setting(content=content, layout=layout, sheet=on, dpi=dpi, tube_diameter=tube_diameter)
                try:
                    tried.append(self._judged(setting, _subject_of(setting)))
                except TracelabelsError as problem:
                    refused.append(f"{layout.name}: {problem}")
        if not tried and not refused:
            place = "a pouch" if tube_diameter is None else f"a tube of {tube_diameter:.1f} mm"
            refused.append(f"no layout at hand is for {place} and shows all that this label says")
        return tuple(sorted(tried, key=_rank)), tuple(refused)

    def find_change(self, setting: Setting, *, dpis: Sequence[int] = (300, 600)) -> Change | None:
        """Find the smallest change after which a label passes.

        Changes are tried in the order of :class:`ChangeKind`, within a kind the smaller first.

        Args:
            setting: The label that does not pass.
            dpis: Resolutions that could be had.

        Returns:
            The first change that passes; if none does, the first that turns a fail into a warning; else None.
        """
        before = self.try_setting(setting)
        second: Change | None = None
        for change in self._changes(setting, before, sorted(dpis)):
            if change.after.verdict is Legibility.PASS:
                return change
            failed = before is None or before.verdict is Legibility.FAIL
            if second is None and failed and change.after.verdict is Legibility.WARN:
                second = change
        return second

    def try_setting(self, setting: Setting) -> Tried | None:
        """Judge a setting; None if it cannot be printed at all (no room for the code or a text)."""
        try:
            subject = _subject_of(setting)
        except TracelabelsError:
            return None
        return self._judged(setting, subject)

    def _judged(self, setting: Setting, subject: Subject) -> Tried:
        """Judge the label of a setting, once however often it is asked for."""
        if setting not in self._known:
            self._known[setting] = self._tried(setting, subject)
        return self._known[setting]

    def _tried(self, setting: Setting, subject: Subject) -> Tried:
        findings = tuple(
            finding for finding in check_rules(subject, stock=self._stock) if finding.rule not in _NOT_OF_THE_LAYOUT
        )
        verdict = worst(findings)
        if self._judge is not None and verdict is not Legibility.FAIL:
            verdict = worst_verdict((verdict, self._judge(subject)))
        return Tried(setting=setting, subject=subject, findings=findings, verdict=verdict)

    def _set_on_sheet(
        self, setting: Setting, layout: Layout, tube_diameter: Mm | None
    ) -> Iterator[tuple[Setting, Subject]]:
        """Set a label in another layout, on the sheet at hand that is likest; nothing where it cannot be printed."""
        sheet = self._find_sheet(layout, setting.sheet)
        if sheet is not None:
            other = replace(setting, layout=layout, sheet=sheet, tube_diameter=tube_diameter)
            with suppress(TracelabelsError):
                yield other, _subject_of(other)

    def _find_sheet(self, layout: Layout, wished: Sheet | None) -> Sheet | None:
        """Return the wished sheet where the layout goes on it, else the first of its kind, else the first at all."""
        going = [sheet for sheet in self._sheets if fits(layout, sheet)]
        if wished is not None:
            if fits(layout, wished):
                return wished
            going.sort(key=lambda sheet: sheet.is_roll != wished.is_roll)
        return going[0] if going else None

    def _changes(self, setting: Setting, before: Tried | None, dpis: Sequence[int]) -> Iterator[Change]:
        yield from self._larger_x(setting, before)
        yield from self._other_shape(setting, before)
        yield from self._on_the_cap(setting, before)
        yield from self._finer(setting, before, dpis)
        yield from self._shorter_lot(setting, before)

    def _larger_x(self, setting: Setting, before: Tried | None) -> Iterator[Change]:
        least = 0.0 if before is None else before.subject.x_dimension
        diameter = setting.tube_diameter or (setting.layout.tube.diameter if setting.layout.tube else None)
        larger = [
            (other, subject)
            for layout in self._layouts
            if layout != setting.layout and _replaces(layout, setting, diameter, self._layouts)
            for other, subject in self._set_on_sheet(setting, layout, setting.tube_diameter)
            if subject.x_dimension > least + _ROUNDING
        ]
        for other, subject in sorted(larger, key=lambda one: (one[1].x_dimension, one[0].layout.name)):
            name = f"layout {other.layout.name} on {other.sheet.name}"
            yield _change(ChangeKind.LARGER_X, name, before, self._judged(other, subject))

    def _other_shape(self, setting: Setting, before: Tried | None) -> Iterator[Change]:
        if before is None or before.subject.code.symbology is not Symbology.DATA_MATRIX:
            return
        rows, columns = before.subject.code.modules.shape
        family = ShapeFamily.RECTANGLE if rows == columns else ShapeFamily.SQUARE
        turns = fits(setting.layout, setting.sheet).quarter_turns or 0
        subject = reshape(before.subject, setting.layout, quarter_turns=turns, shapes=shapes_of(family))
        if subject is not None:
            word = f"a {family} of {subject.code.version} modules instead of {before.subject.code.version}"
            yield _change(ChangeKind.SHAPE, word, before, self._tried(setting, subject))

    def _on_the_cap(self, setting: Setting, before: Tried | None) -> Iterator[Change]:
        if setting.layout.surface is not LabelKind.TUBE:
            return
        for layout in self._layouts:
            if layout.surface is LabelKind.CAP and layout.label_set == setting.layout.label_set:
                for other, subject in self._set_on_sheet(setting, layout, None):
                    name = f"the code on the cap: layout {layout.name} on {other.sheet.name}"
                    yield _change(ChangeKind.CAP, name, before, self._judged(other, subject))

    def _finer(self, setting: Setting, before: Tried | None, dpis: Sequence[int]) -> Iterator[Change]:
        for dpi in dpis:
            tried = self.try_setting(replace(setting, dpi=dpi)) if dpi > setting.dpi else None
            if tried is not None:
                yield _change(ChangeKind.DPI, f"a printer of {dpi} dpi", before, tried)

    def _shorter_lot(self, setting: Setting, before: Tried | None) -> Iterator[Change]:
        """Cut the batch letter by letter; only what changes the code is judged."""
        lot = setting.content.identity.lot or ""
        seen = None if before is None else _size(before.subject)
        for length in range(len(lot) - 1, SHORTEST_LOT - 1, -1):
            identity = replace(setting.content.identity, lot=lot[:length])
            shorter = replace(setting, content=replace(setting.content, identity=identity))
            try:
                subject = _subject_of(shorter)
            except TracelabelsError:
                continue
            if _size(subject) != seen:
                seen = _size(subject)
                name = f"a batch of {length} characters instead of {len(lot)}"
                yield _change(ChangeKind.SHORTER_LOT, name, before, self._judged(shorter, subject))


def _subject_of(setting: Setting) -> Subject:
    return subject_of_layout(
        setting.layout,
        setting.sheet,
        dpi=setting.dpi,
        content=setting.content,
        tube_diameter=setting.tube_diameter,
    )


def _size(subject: Subject) -> tuple[str, float]:
    return subject.code.version, subject.code.x


def _change(kind: ChangeKind, what: str, before: Tried | None, after: Tried) -> Change:
    code, dpi = after.subject.code, after.subject.dpi
    sentence = f"{what}: {code.version} modules, {in_dots(round(code.x), dpi)}"
    if before is not None:
        sentence += f" instead of {in_dots(round(before.subject.code.x), before.subject.dpi)}"
    return Change(kind=kind, sentence=sentence, after=after)


def _serves(layout: Layout, content: LabelContent, diameter: Mm | None, layouts: Sequence[Layout]) -> bool:
    """Say whether a layout is for that tube, or for a pouch, and shows all that the content says."""
    if not _shows(layout, content):
        return False
    if diameter is None:
        return layout.surface is LabelKind.POUCH
    sets = {one.label_set for one in layouts if one.tube and abs(one.tube.diameter - diameter) <= NEAR_DIAMETER}
    near = layout.tube is None or abs(layout.tube.diameter - diameter) <= NEAR_DIAMETER
    return layout.label_set in sets and near and layout.surface is LabelKind.TUBE


def _replaces(layout: Layout, setting: Setting, diameter: Mm | None, layouts: Sequence[Layout]) -> bool:
    """Say whether a layout can stand for another on the same surface."""
    if layout.surface is not setting.layout.surface:
        return False
    if layout.surface is LabelKind.TUBE and diameter is not None:
        return _serves(layout, setting.content, diameter, layouts)
    return layout.label_set == setting.layout.label_set and _shows(layout, setting.content)


def _shows(layout: Layout, content: LabelContent) -> bool:
    """Say whether a layout has a place for each fact of the content; a cap and a second label need none of them."""
    if layout.surface in {LabelKind.CAP, LabelKind.SECOND}:
        return True
    told = bool(content.lines) and layout.find_field(ContentField.LINES) is not None
    needed = (ContentField.PREPARED, ContentField.USE_BY) if told else _FACTS
    return all(layout.find_field(fact) is not None for fact in needed if find_text(content, fact))


def _rank(tried: Tried) -> tuple[int, float, float, str]:
    return (
        -SEVEREST_FIRST.index(tried.verdict),
        -round(tried.subject.x_dimension, 6),
        -_smallest_ease(tried),
        tried.setting.layout.name,
    )


def _smallest_ease(tried: Tried) -> float:
    """Return the least of all texts' sizes over what is legible."""
    eases = [
        fit_field(field, text).size / smallest_legible(field.content)
        for field in tried.setting.layout.fields
        if (text := find_text(tried.setting.content, field.content))
    ]
    return min(eases, default=0.0)
