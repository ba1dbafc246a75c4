"""The words beside the code: large enough to be read, and whole. Only labels of our own layouts are judged."""

from functools import lru_cache

from tracelabels.errors import LabelError
from tracelabels.labels import ContentField, LabelContent, Layout, smallest_legible
from tracelabels.labels.composing import fit_field
from tracelabels.labels.content import find_text
from tracelabels.labels.fitting import ELLIPSIS, FittedText
from tracelabels.labels.layouts import FieldPlace
from tracelabels.legibility.findings import Finding, Legibility
from tracelabels.legibility.subject import Subject

SIZE_RULE = "type_size"
WHOLE_RULE = "text_whole"
SIZE_SOURCE = (
    "Regulation (EU) No 1169/2011, Article 13(3), small packs: an x-height of 0.9 mm (from memory, taken as a measure)"
)
WHOLE_SOURCE = "own rule: nothing essential is ever cut"

_Set = tuple[tuple[FieldPlace, FittedText], ...]


def check(subject: Subject) -> tuple[Finding, ...]:
    """Judge type size and wholeness; nothing is said of a page that is not ours."""
    if subject.layout is None or subject.content is None:
        return ()
    texts = tuple((field, find_text(subject.content, field.content)) for field in subject.layout.fields)
    placed, refused = [], []
    for field, text in texts:
        if text:
            fitted, problem = _fitted(field, text)
            if fitted is not None:
                placed.append((field, fitted))
            else:
                refused.append(problem)
    return (_size(tuple(placed)), _whole(subject.layout, subject.content, tuple(placed), refused))


@lru_cache(maxsize=4096)
def _fitted(field: FieldPlace, text: str) -> tuple[FittedText | None, str]:
    try:
        return fit_field(field, text), ""
    except LabelError as problem:
        return None, f"{problem.given}: {problem.remedy}"


def _size(placed: _Set) -> Finding:
    """Find the text that falls short most, or comes nearest to it."""
    if not placed:
        return _size_finding(Legibility.PASS, "no words", "")
    field, fitted = min(placed, key=lambda pair: _ease(*pair))
    least = smallest_legible(field.content)
    short = [pair for pair in placed if _ease(*pair) < 1]
    verdict = Legibility.PASS
    if short:
        verdict = Legibility.FAIL if any(one.essential for one, _ in short) else Legibility.WARN
    fix = f"give {field.content} more room, or a shorter text, so that {least:g} pt fits" if short else ""
    return _size_finding(verdict, f"{field.content} in {fitted.size:g} pt, where {least:g} pt are legible", fix)


def _ease(field: FieldPlace, fitted: FittedText) -> float:
    return fitted.size / smallest_legible(field.content)


def _size_finding(verdict: Legibility, measured: str, fix: str) -> Finding:
    digits = smallest_legible(ContentField.SERIAL)
    words = smallest_legible(ContentField.PRODUCT)
    return Finding(
        rule=SIZE_RULE,
        verdict=verdict,
        measured=measured,
        required=f"{words:g} pt for words, {digits:g} pt for dates and serials",
        source=SIZE_SOURCE,
        fix=fix,
    )


def _whole(layout: Layout, content: LabelContent, placed: _Set, refused: list[str]) -> Finding:
    cut = [field for field, fitted in placed if _is_cut(content, field, fitted)]
    missing = [field.content for field in layout.fields if field.required and not find_text(content, field.content)]
    verdict, fix = Legibility.PASS, ""
    essential = len([field for field, _ in placed if field.essential])
    measured = f"{essential} essential facts, all whole"
    if refused or missing or any(field.essential for field in cut):
        verdict = Legibility.FAIL
        measured = "; ".join([*refused, *(f"{name} is missing" for name in missing), *_names(cut)])
        fix = "a layout with more room, or a shorter text" if refused or cut else "add what is missing"
    elif cut:
        verdict = Legibility.WARN
        measured += "; " + "; ".join(_names(cut))
        fix = "a shorter text, or a layout with more room"
    return Finding(
        rule=WHOLE_RULE,
        verdict=verdict,
        measured=measured,
        required="every essential fact whole",
        source=WHOLE_SOURCE,
        fix=fix,
    )


def _is_cut(content: LabelContent, field: FieldPlace, fitted: FittedText) -> bool:
    return fitted.lines[-1].endswith(ELLIPSIS) and not (find_text(content, field.content) or "").endswith(ELLIPSIS)


def _names(cut: list[FieldPlace]) -> list[str]:
    return [f"{field.content} is abbreviated" for field in cut]
