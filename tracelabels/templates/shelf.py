"""The files of one kind at hand: those that are shipped, and a practice's own beside them.

A practice keeps its own in a folder of the kind's name within its folder of templates; such a file replaces a shipped
one of the same name.
"""

import difflib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Generic, TypeVar

from tracelabels.assets import templates_folder
from tracelabels.errors import TemplateError

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf(Generic[T]):
    """All files of one kind."""

    kind: str
    """What one of them is called: ``sheet``; its folder has an s behind."""
    load: Callable[[Path], T]
    """Reads one of them; raises TemplateError if it is wrong."""

    def all(self, own: Path | None = None) -> tuple[T, ...]:
        """Return all, sorted by name.

        Args:
            own: A practice's folder of templates, or None for the shipped ones only.

        Raises:
            TemplateError: If a file is wrong.
        """
        return tuple(self.load(path) for path in self._files(own).values())

    def survey(self, own: Path | None = None) -> tuple[tuple[T, ...], tuple[TemplateError, ...]]:
        """Return those that are right, and what is wrong with the others; a bad file never hides the rest."""
        good: list[T] = []
        problems: list[TemplateError] = []
        for path in self._files(own).values():
            try:
                good.append(self.load(path))
            except TemplateError as problem:
                problems.append(problem)
        return tuple(good), tuple(problems)

    def require(self, name: str, own: Path | None = None) -> T:
        """Return the one of a name, or of a file if the name ends with ".toml".

        Raises:
            TemplateError: If there is none of that name, or its file is wrong.
        """
        return self.load(Path(name) if name.endswith(".toml") else self._require_file(name, own))

    def find_file(self, name: str, own: Path | None = None) -> Path | None:
        """Return the file of a name; None if there is none."""
        return self._files(own).get(name)

    def _files(self, own: Path | None) -> dict[str, Path]:
        part = f"{self.kind}s"
        folders = [templates_folder() / part] + ([own / part] if own is not None else [])
        found = {path.name.removesuffix(".toml"): path for folder in folders for path in _toml_files(folder)}
        return dict(sorted(found.items()))

    def _require_file(self, name: str, own: Path | None) -> Path:
        files = self._files(own)
        if name not in files:
            near = difflib.get_close_matches(name, files, n=1, cutoff=0.4)
            raise TemplateError(
                given=f"{self.kind} '{name}'",
                expected=f"one of {', '.join(files)}",
                remedy=f"did you mean '{near[0]}'?" if near else "choose one of these names",
            )
        return files[name]


def _toml_files(folder: Path) -> Iterable[Path]:
    return sorted(folder.glob("*.toml")) if folder.is_dir() else ()
