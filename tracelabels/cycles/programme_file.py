"""Programmes of a steriliser as TOML files, each with the source of its numbers.

A file is named by what it is for and by its numbers: ``wrapped-134c-3min``. A practice adds its own in ``programmes/``
of its folder of templates; such a file replaces a shipped one of the same name.
"""

from pathlib import Path
from typing import Final

from tracelabels.custody import CycleKind, Goods
from tracelabels.cycles.programme import Band, Programme
from tracelabels.errors import TemplateError
from tracelabels.templates import Shelf, Table, parse_table, read_table

_TOP_KEYS: Final = (
    "title", "goods", "cycle_kinds", "source", "band", "hold", "saturation_k", "least_f0", "drying_minutes", "cautions",
)  # fmt: skip
_BAND_KEYS: Final = ("set_c", "above_k")
_HOLD_KEYS: Final = ("minutes", "equilibration_s", "fluctuation_k")
_LEAST_C: Final = 100.0
_GREATEST_C: Final = 150.0  # no small steriliser goes higher; a value beyond is a slip or degrees Fahrenheit


def load_programme(path: Path) -> Programme:
    """Read and check a programme file.

    Raises:
        TemplateError: If the file is wrong.
    """
    return as_programme(read_table(path), name=path.name.removesuffix(".toml"))


def parse_programme(data: bytes, *, name: str) -> Programme:
    """Turn the bytes of a programme file into a programme, as they were kept.

    Raises:
        TemplateError: If they are wrong.
    """
    return as_programme(parse_table(data, file=f"{name}.toml"), name=name)


def as_programme(table: Table, *, name: str) -> Programme:
    """Turn the table of a programme file into a programme.

    Raises:
        TemplateError: If a key is unknown or missing, or a value is wrong; it names file, key and value.
    """
    table.allow(_TOP_KEYS)
    band, hold = table.table("band"), table.table("hold")
    band.allow(_BAND_KEYS)
    hold.allow(_HOLD_KEYS)
    programme = Programme(
        name=name,
        title=table.text("title"),
        goods=table.choice("goods", Goods),
        cycle_kinds=_cycle_kinds(table),
        band=Band(
            set_c=band.number("set_c", least=_LEAST_C, greatest=_GREATEST_C),
            above_k=_find_number(band, "above_k", least=0.1, greatest=20),
        ),
        hold_minutes=hold.number("minutes", least=0.1, greatest=1440),
        source=table.text("source"),
        equilibration_s=_find_number(hold, "equilibration_s", least=0, greatest=3600),
        fluctuation_k=_find_number(hold, "fluctuation_k", least=0.1, greatest=20),
        saturation_k=table.number("saturation_k", least=0.1, greatest=10, default=2.0),
        least_f0=_find_number(table, "least_f0", least=0.1, greatest=10_000),
        drying_minutes=_find_number(table, "drying_minutes", least=0, greatest=1440),
        cautions=table.texts("cautions"),
    )
    _require_goods_to_suit(table, programme)
    return programme


def list_programmes(own: Path | None = None) -> tuple[Programme, ...]:
    """Return all programmes, sorted by name.

    Args:
        own: A practice's folder of templates, or None for the shipped ones only.

    Raises:
        TemplateError: If a file is wrong.
    """
    return _PROGRAMMES.all(own)


def survey_programmes(own: Path | None = None) -> tuple[tuple[Programme, ...], tuple[TemplateError, ...]]:
    """Return the programmes that are right, and what is wrong with the others; a bad file never hides the rest."""
    return _PROGRAMMES.survey(own)


def require_programme(name: str, own: Path | None = None) -> Programme:
    """Return the programme of a name, or of a file if the name ends with ".toml".

    Raises:
        TemplateError: If there is none of that name, or its file is wrong.
    """
    return _PROGRAMMES.require(name, own)


def find_programme_file(name: str, own: Path | None = None) -> Path | None:
    """Return the file of a programme, the practice's own before a shipped one; None if there is none of that name."""
    return _PROGRAMMES.find_file(name, own)


def _cycle_kinds(table: Table) -> tuple[CycleKind, ...]:
    if "cycle_kinds" not in table:
        table.refuse_whole(
            "key 'cycle_kinds' is missing",
            expected=f"a list with at least one of {', '.join(CycleKind)}",
            remedy="add the key",
        )
    return table.choices("cycle_kinds", CycleKind, default=())


def _find_number(table: Table, key: str, *, least: float, greatest: float) -> float | None:
    return table.number(key, least=least, greatest=greatest) if key in table else None


def _require_goods_to_suit(table: Table, programme: Programme) -> None:
    """Hold the goods to the kinds of cycle that a load may be started with; see ``custody.load_rules``."""
    for kind in programme.cycle_kinds:
        if (kind is CycleKind.LIQUID) != (programme.goods is Goods.LIQUID):
            table.refuse_whole(
                f"goods '{programme.goods}' and cycle kind '{kind}'",
                expected="liquids in a liquid cycle, and nothing else in one",
                remedy="correct goods or cycle_kinds",
            )
        if kind is CycleKind.TYPE_N and programme.goods is not Goods.UNWRAPPED:
            table.refuse_whole(
                f"goods '{programme.goods}' and cycle kind '{kind}'",
                expected="unwrapped goods in a cycle without air removal",
                remedy="correct goods or cycle_kinds",
            )


_PROGRAMMES: Final = Shelf(kind="programme", load=load_programme)
