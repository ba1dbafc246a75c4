"""The sheets and layouts at hand: those that are shipped, and a practice's own beside them.

A practice keeps its own files in ``sheets/`` and ``layouts/`` of its folder; such a file replaces a shipped one
of the same name.
"""

import difflib
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TypeVar

from tracelabels.assets import templates_folder
from tracelabels.errors import TemplateError
from tracelabels.labels.layout_file import load_layout
from tracelabels.labels.layouts import Layout
from tracelabels.labels.sheets import Sheet, load_sheet

T = TypeVar("T")


def list_sheets(own: Path | None = None) -> tuple[Sheet, ...]:
    """Return all sheets, sorted by name.

    Args:
        own: Folder of the practice, or None for the shipped ones only.

    Raises:
        TemplateError: If a file is wrong.
    """
    return tuple(load_sheet(path) for path in _files("sheets", own).values())


def list_layouts(own: Path | None = None) -> tuple[Layout, ...]:
    """Return all layouts, sorted by name.

    Args:
        own: Folder of the practice, or None for the shipped ones only.

    Raises:
        TemplateError: If a file is wrong.
    """
    return tuple(load_layout(path) for path in _files("layouts", own).values())


def survey_sheets(own: Path | None = None) -> tuple[tuple[Sheet, ...], tuple[TemplateError, ...]]:
    """Return the sheets that are right, and what is wrong with the others; a bad file never hides the rest."""
    return _survey(_files("sheets", own), load_sheet)


def survey_layouts(own: Path | None = None) -> tuple[tuple[Layout, ...], tuple[TemplateError, ...]]:
    """Return the layouts that are right, and what is wrong with the others."""
    return _survey(_files("layouts", own), load_layout)


def _survey(files: dict[str, Path], load: Callable[[Path], T]) -> tuple[tuple[T, ...], tuple[TemplateError, ...]]:
    good: list[T] = []
    problems: list[TemplateError] = []
    for path in files.values():
        try:
            good.append(load(path))
        except TemplateError as problem:
            problems.append(problem)
    return tuple(good), tuple(problems)


def require_sheet(name: str, own: Path | None = None) -> Sheet:
    """Return the sheet of a name, or of a file if the name ends with ".toml".

    Raises:
        TemplateError: If there is none of that name, or its file is wrong.
    """
    return load_sheet(Path(name) if name.endswith(".toml") else _require_file("sheet", name, own))


def require_layout(name: str, own: Path | None = None) -> Layout:
    """Return the layout of a name, or of a file if the name ends with ".toml".

    Raises:
        TemplateError: If there is none of that name, or its file is wrong.
    """
    return load_layout(Path(name) if name.endswith(".toml") else _require_file("layout", name, own))


def _files(kind: str, own: Path | None) -> dict[str, Path]:
    folders = [templates_folder() / kind] + ([own / kind] if own is not None else [])
    found = {path.name.removesuffix(".toml"): path for folder in folders for path in _toml_files(folder)}
    return dict(sorted(found.items()))


def _toml_files(folder: Path) -> Iterable[Path]:
    return sorted(folder.glob("*.toml")) if folder.is_dir() else ()


def _require_file(kind: str, name: str, own: Path | None) -> Path:
    files = _files(f"{kind}s", own)
    if name not in files:
        near = difflib.get_close_matches(name, files, n=1, cutoff=0.4)
        raise TemplateError(
            given=f"{kind} '{name}'",
            expected=f"one of {', '.join(files)}",
            remedy=f"did you mean '{near[0]}'?" if near else "choose one of these names",
        )
    return files[name]
