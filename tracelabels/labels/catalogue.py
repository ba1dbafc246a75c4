"""The sheets and layouts at hand: those that are shipped, and a practice's own beside them.

A practice keeps its own files in ``sheets/`` and ``layouts/`` of its folder; such a file replaces a shipped one
of the same name.
"""

from pathlib import Path
from typing import Final

from tracelabels.errors import TemplateError
from tracelabels.labels.layout_file import load_layout
from tracelabels.labels.layouts import Layout
from tracelabels.labels.sheets import Sheet, load_sheet
from tracelabels.templates import Shelf

_SHEETS: Final = Shelf(kind="sheet", load=load_sheet)
_LAYOUTS: Final = Shelf(kind="layout", load=load_layout)


def list_sheets(own: Path | None = None) -> tuple[Sheet, ...]:
    """Return all sheets, sorted by name.

    Args:
        own: Folder of the practice, or None for the shipped ones only.

    Raises:
        TemplateError: If a file is wrong.
    """
    return _SHEETS.all(own)


def list_layouts(own: Path | None = None) -> tuple[Layout, ...]:
    """Return all layouts, sorted by name.

    Args:
        own: Folder of the practice, or None for the shipped ones only.

    Raises:
        TemplateError: If a file is wrong.
    """
    return _LAYOUTS.all(own)


def survey_sheets(own: Path | None = None) -> tuple[tuple[Sheet, ...], tuple[TemplateError, ...]]:
    """Return the sheets that are right, and what is wrong with the others; a bad file never hides the rest."""
    return _SHEETS.survey(own)


def survey_layouts(own: Path | None = None) -> tuple[tuple[Layout, ...], tuple[TemplateError, ...]]:
    """Return the layouts that are right, and what is wrong with the others."""
    return _LAYOUTS.survey(own)


def require_sheet(name: str, own: Path | None = None) -> Sheet:
    """Return the sheet of a name, or of a file if the name ends with ".toml".

    Raises:
        TemplateError: If there is none of that name, or its file is wrong.
    """
    return _SHEETS.require(name, own)


def require_layout(name: str, own: Path | None = None) -> Layout:
    """Return the layout of a name, or of a file if the name ends with ".toml".

    Raises:
        TemplateError: If there is none of that name, or its file is wrong.
    """
    return _LAYOUTS.require(name, own)
