"""Reading a layout file: every key, then whether the parts go together."""

import re
from pathlib import Path
from typing import Final

from tracelabels.custody import LabelKind
from tracelabels.labels.boxes import Box, extent_of_field, extent_of_rule, extent_of_text, usual_caption_rise
from tracelabels.labels.content import SERIAL_FIELDS, ContentField
from tracelabels.labels.layouts import (
    Align,
    FieldPlace,
    FixedText,
    Layout,
    Rule,
    Shorten,
    SymbolPlace,
    Tube,
    Weight,
)
from tracelabels.labels.legible import SIZE_STEP, smallest_legible
from tracelabels.lengths import Mm, Points
from tracelabels.paper import Face, cap_height, missing_characters, text_width
from tracelabels.symbols import Symbology, TubeAxis
from tracelabels.templates import Table, read_table

_CLAIM: Final = re.compile(r"\bsterile\b", re.IGNORECASE)
_LIMIT: Final = 300.0
_TYPE_LIMITS: Final = (3.0, 72.0)
_ROUNDING: Final = 0.01
_KEYS: Final = ("title", "purpose", "set", "surface", "label", "tube", "symbol", "field", "text", "rule")
_LABEL_KEYS: Final = ("width", "height", "widest", "highest", "round", "diameter", "largest_diameter")
_SYMBOL_KEYS: Final = ("at", "width", "height", "kinds", "smallest_x", "largest_x")
_FIELD_KEYS: Final = (
    "show",
    "at",
    "width",
    "height",
    "sizes",
    "weight",
    "align",
    "turned",
    "caption",
    "caption_for_preparation",
    "caption_size",
    "caption_width",
    "caption_rise",
    "essential",
    "required",
    "write_in",
    "shorten",
)
_TEXT_KEYS: Final = ("text", "at", "size", "weight", "align", "turned")
_RULE_KEYS: Final = ("from", "to", "thickness")


def load_layout(path: Path) -> Layout:
    """Read and check a layout file.

    Raises:
        TemplateError: If the file is wrong, parts leave the label or lie over each other, or an essential fact might be
            cut or set too small.
    """
    return as_layout(read_table(path), name=path.name.removesuffix(".toml"))


def as_layout(table: Table, *, name: str) -> Layout:
    """Turn the table of a layout file into a checked layout.

    Raises:
        TemplateError: See :func:`load_layout`.
    """
    table.allow(_KEYS)
    width, height, widest, highest, is_round = _size(table.table("label"))
    layout = Layout(
        name=name,
        title=table.text("title"),
        purpose=table.text("purpose"),
        label_set=table.text("set"),
        surface=table.choice("surface", LabelKind),
        width=width,
        height=height,
        widest=widest,
        highest=highest,
        is_round=is_round,
        tube=_tube(table.table("tube")) if "tube" in table else None,
        symbol=_symbol(table.table("symbol")),
        fields=tuple(_field(part) for part in table.tables("field")),
        texts=tuple(_text(part) for part in table.tables("text")),
        rules=tuple(_rule(part) for part in table.tables("rule")),
    )
    _require_each_once(table, layout)
    _require_inside(table, layout)
    _require_apart(table, layout)
    _require_honest(table, layout)
    return layout


def _size(label: Table) -> tuple[Mm, Mm, Mm, Mm, bool]:
    label.allow(_LABEL_KEYS)
    if label.flag("round", default=False):
        diameter = Mm(label.number("diameter", least=3, greatest=_LIMIT))
        largest = Mm(label.number("largest_diameter", least=diameter, greatest=_LIMIT, default=_LIMIT))
        return diameter, diameter, largest, largest, True
    width = Mm(label.number("width", least=3, greatest=_LIMIT))
    height = Mm(label.number("height", least=3, greatest=_LIMIT))
    widest = Mm(label.number("widest", least=width, greatest=_LIMIT, default=_LIMIT))
    highest = Mm(label.number("highest", least=height, greatest=_LIMIT, default=_LIMIT))
    return width, height, widest, highest, False


def _tube(tube: Table) -> Tube:
    tube.allow(("diameter", "axis"))
    return Tube(diameter=Mm(tube.number("diameter", least=2, greatest=100)), axis=tube.choice("axis", TubeAxis))


def _symbol(symbol: Table) -> SymbolPlace:
    symbol.allow(_SYMBOL_KEYS)
    left, top = symbol.numbers("at", names=("left", "top"), least=0, greatest=_LIMIT)
    smallest = symbol.number("smallest_x", least=0.1, greatest=2)
    return SymbolPlace(
        left=Mm(left),
        top=Mm(top),
        width=Mm(symbol.number("width", least=2, greatest=_LIMIT)),
        height=Mm(symbol.number("height", least=2, greatest=_LIMIT)),
        symbologies=symbol.choices("kinds", Symbology, default=(Symbology.DATA_MATRIX,)),
        smallest_x=Mm(smallest),
        largest_x=Mm(symbol.number("largest_x", least=smallest, greatest=2)),
    )


def _field(part: Table) -> FieldPlace:
    content = part.choice("show", ContentField)
    part = part.renamed(f"field '{content}'")
    part.allow(_FIELD_KEYS)
    left, baseline = part.numbers("at", names=("left", "baseline"), least=0, greatest=_LIMIT)
    least, most = _TYPE_LIMITS
    smallest, largest = part.numbers("sizes", names=("smallest", "largest"), least=least, greatest=most)
    field = FieldPlace(
        content=content,
        left=Mm(left),
        baseline=Mm(baseline),
        width=Mm(part.number("width", least=1, greatest=_LIMIT)),
        height=Mm(part.number("height", least=0, greatest=_LIMIT, default=0.0)),
        largest=Points(largest),
        smallest=Points(smallest),
        weight=part.choice("weight", Weight, default=Weight.REGULAR),
        align=part.choice("align", Align, default=Align.LEFT),
        turned=part.flag("turned", default=False),
        caption=part.text("caption", default=""),
        caption_for_preparation=part.text("caption_for_preparation", default=""),
        caption_size=Points(part.number("caption_size", least=least, greatest=most, default=4.0)),
        caption_width=Mm(part.number("caption_width", least=0, greatest=_LIMIT, default=0.0)),
        caption_rise=Mm(part.number("caption_rise", least=1, greatest=20, default=usual_caption_rise(Points(largest)))),
        essential=part.flag("essential", default=False),
        required=part.flag("required", default=False),
        write_in=part.flag("write_in", default=False),
        shorten=part.choice("shorten", Shorten, default=Shorten.NEVER),
    )
    _require_sizes(part, field)
    _require_whole(part, field)
    return field


def _require_sizes(part: Table, field: FieldPlace) -> None:
    sizes = [field.smallest, field.largest]
    if field.smallest > field.largest:
        part.refuse("sizes", sizes, expected="[smallest, largest] in this order", remedy="swap the two")
    if any(size % SIZE_STEP for size in sizes):
        part.refuse("sizes", sizes, expected=f"sizes in steps of {SIZE_STEP:g} pt", remedy="round them")
    legible = smallest_legible(field.content)
    if field.essential and field.smallest < legible:
        part.refuse(
            "sizes",
            sizes,
            expected=f"at least {legible:g} pt for this fact, which is essential",
            remedy="make room for a larger size",
        )
    if 0 < field.height < cap_height(field.largest):
        part.refuse(
            "height",
            field.height,
            expected=f"at least the {cap_height(field.largest):.2f} mm of one line at the largest size",
            remedy="make it higher, or leave it out for a single line",
        )
    if field.caption_width > field.width - 1:
        part.refuse("caption_width", field.caption_width, expected=f"less than the place's {field.width:g} mm")


def _require_whole(part: Table, field: FieldPlace) -> None:
    if field.essential and field.shorten is Shorten.ABBREVIATE:
        part.refuse("shorten", field.shorten, expected="'never' for a fact that is essential", remedy="write 'never'")
    if field.turned and field.height:
        part.refuse(
            "height", field.height, expected="no height, as a text that reads upwards has one line", remedy="remove it"
        )
    for key, caption in (("caption", field.caption), ("caption_for_preparation", field.caption_for_preparation)):
        _require_characters(part, caption)
        width, room = text_width(caption, Face.REGULAR, field.caption_size), field.caption_width or field.width
        if width > room + _ROUNDING:
            part.refuse(
                key,
                caption,
                expected=f"words of at most {room:g} mm (these take {width:.2f})",
                remedy="choose shorter words",
            )


def _text(part: Table) -> FixedText:
    part.allow(_TEXT_KEYS)
    left, baseline = part.numbers("at", names=("left", "baseline"), least=0, greatest=_LIMIT)
    least, most = _TYPE_LIMITS
    text = part.text("text")
    _require_characters(part, text)
    return FixedText(
        text=text,
        left=Mm(left),
        baseline=Mm(baseline),
        size=Points(part.number("size", least=least, greatest=most)),
        weight=part.choice("weight", Weight, default=Weight.REGULAR),
        align=part.choice("align", Align, default=Align.LEFT),
        turned=part.flag("turned", default=False),
    )


def _rule(part: Table) -> Rule:
    part.allow(_RULE_KEYS)
    names = ("left", "top")
    start = part.numbers("from", names=names, least=0, greatest=_LIMIT)
    end = part.numbers("to", names=names, least=0, greatest=_LIMIT)
    return Rule(
        start=(Mm(start[0]), Mm(start[1])),
        end=(Mm(end[0]), Mm(end[1])),
        thickness=Mm(part.number("thickness", least=0.02, greatest=2, default=0.1)),
    )


def _require_characters(part: Table, text: str) -> None:
    missing = missing_characters(text)
    if missing:
        part.refuse_whole(
            f"the face lacks {missing[0]!r} of '{text}'", expected="characters of the face", remedy="use other words"
        )


def _require_each_once(table: Table, layout: Layout) -> None:
    shown = [field.content for field in layout.fields]
    for content in shown:
        if shown.count(content) > 1:
            table.refuse_whole(
                f"field '{content}' stands twice", expected="each fact once", remedy="remove one of them"
            )
    if (ContentField.SERIAL_START in shown) != (ContentField.SERIAL_END in shown):
        table.refuse_whole(
            "one piece of the serial stands without the other",
            expected="both 'serial_start' and 'serial_end', or 'serial'",
            remedy="add the other piece",
        )


def _require_honest(table: Table, layout: Layout) -> None:
    """A label always shows which thing it is on, and never declares it sterile."""
    if not any(field.content in SERIAL_FIELDS for field in layout.fields):
        table.refuse_whole(
            "no field shows the serial",
            expected="a field with show = 'serial' (or its two pieces)",
            remedy="add one: without it a damaged code leaves nothing to look up",
        )
    words = [text.text for text in layout.texts] + [field.caption for field in layout.fields]
    claim = next((one for one in words if _CLAIM.search(one)), None)
    if claim is not None:
        table.refuse_whole(
            f"the words '{claim}'",
            expected="no word that declares the content sterile",
            remedy="leave it out: a label says what was done, not what came of it",
        )


def _parts(layout: Layout) -> list[tuple[str, Box]]:
    symbol = layout.symbol
    code = Box(left=symbol.left, top=symbol.top, right=symbol.left + symbol.width, bottom=symbol.top + symbol.height)
    parts = [("the code's space", code)]
    parts += [(f"field '{field.content}'", extent_of_field(field)) for field in layout.fields]
    parts += [(f"text '{text.text}'", extent_of_text(text)) for text in layout.texts]
    return parts


def _rules(layout: Layout) -> list[tuple[str, Box]]:
    return [(f"rule {number}", extent_of_rule(rule)) for number, rule in enumerate(layout.rules, start=1)]


def _require_inside(table: Table, layout: Layout) -> None:
    for what, box in _parts(layout) + _rules(layout):
        if layout.is_round:
            reach, room = box.reach_from(layout.width / 2, layout.height / 2), layout.width / 2
            if reach > room + _ROUNDING:
                table.refuse_whole(
                    f"{what} reaches {reach:.2f} mm from the centre of a disc with radius {room:g} mm",
                    expected="parts that lie within the disc",
                    remedy="move it or make it smaller",
                )
        elif not box.lies_within(layout.width + _ROUNDING, layout.height + _ROUNDING):
            table.refuse_whole(
                f"{what} takes {box} mm of a label of {layout.width:g} x {layout.height:g} mm",
                expected="parts that lie within the label",
                remedy="move it or make it smaller",
            )


def _require_apart(table: Table, layout: Layout) -> None:
    parts = _parts(layout)
    for index, (what, box) in enumerate(parts):
        # Lines may touch words (a place to write on), but not the code.
        rules = _rules(layout) if index == 0 else []
        for other, other_box in parts[index + 1 :] + rules:
            if box.overlaps(other_box):
                table.refuse_whole(
                    f"{what} ({box} mm) lies over {other} ({other_box} mm)",
                    expected="parts that lie beside each other",
                    remedy="move one of them or make it smaller",
                )
