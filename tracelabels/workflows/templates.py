"""Sheets and layouts at hand: shipped, and a practice's own; described in millimetres for people and programs."""

from pathlib import Path

from tracelabels.labels import (
    Layout,
    Printer,
    Sheet,
    fits,
    list_layouts,
    list_sheets,
    require_layout,
    require_sheet,
    survey_layouts,
    survey_sheets,
)
from tracelabels.lengths import Mm
from tracelabels.settings import FILE_NAME, PrintingSection, Settings, load_settings
from tracelabels.workflows.label_contents import POUCH_SET
from tracelabels.workflows.practice import OWN_TEMPLATES, Practice, is_named, practice_folder
from tracelabels.workflows.print_labels import LabelJob

__all__ = [
    "label_job",
    "list_layouts",
    "list_sheets",
    "own_templates",
    "printer_of",
    "printing_here",
    "require_layout",
    "require_sheet",
    "settings_here",
    "sheet_for",
    "sheets_for",
    "survey_layouts",
    "survey_sheets",
]


def own_templates(named: Path | None) -> Path | None:
    """Return a practice's own templates folder, or None where no practice lives.

    Raises:
        SettingsError: a folder was named in which no practice lives.
    """
    folder = practice_folder(named)
    if is_named(named):
        load_settings(folder / FILE_NAME)
    return folder / OWN_TEMPLATES if (folder / OWN_TEMPLATES).is_dir() else None


def sheets_for(layout: Layout, sheets: tuple[Sheet, ...]) -> tuple[str, ...]:
    """Return the names of the sheets that a layout goes on."""
    return tuple(sheet.name for sheet in sheets if fits(layout, sheet))


def printer_of(printing: PrintingSection, *, dpi: int | None = None) -> Printer:
    """Return the practice's printer, at another resolution if one is given."""
    return Printer(
        dpi=printing.dpi if dpi is None else dpi,
        offset_x=Mm(printing.offset_x_mm),
        offset_y=Mm(printing.offset_y_mm),
        scale_x=printing.scale_x,
        scale_y=printing.scale_y,
    )


def settings_here(named: Path | None) -> Settings | None:
    """Return the settings of the practice that lives here, or None where none does.

    Raises:
        SettingsError: a practice's settings are wrong, or a folder was named in which none lives.
    """
    file = practice_folder(named) / FILE_NAME
    return load_settings(file) if is_named(named) or file.exists() else None


def printing_here(named: Path | None) -> PrintingSection:
    """Return the printer's settings of the practice that lives here, or the usual ones; see :func:`settings_here`."""
    settings = settings_here(named)
    return settings.printing if settings else PrintingSection()


def sheet_for(layout: Layout, printing: PrintingSection) -> str:
    """Return the name of the practice's usual sheet for a layout's labels."""
    return printing.pouch_sheet if layout.label_set == POUCH_SET else printing.tube_sheet


def label_job(practice: Practice, *, layout: str, sheet: str | None = None, dpi: int | None = None) -> LabelJob:
    """Return a job on the practice's printer; without a sheet's name on its usual sheet for such labels.

    Raises:
        TemplateError: there is no layout or sheet of that name, or its file is wrong.
    """
    own, printing = own_templates(practice.folder), practice.settings.printing
    wanted = require_layout(layout, own)
    return LabelJob(
        layout=wanted,
        sheet=require_sheet(sheet or sheet_for(wanted, printing), own),
        printer=printer_of(printing, dpi=dpi),
        title=f"{practice.settings.practice.name}: {layout}",
    )
