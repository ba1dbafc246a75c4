"""Where the shipped templates and fonts lie, in an installed wheel or in a checkout; nobody else knows.

A wheel carries them inside the package (``_assets/``); a checkout has them at its top.
"""

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def _folder(name: str) -> Path:
    installed = _PACKAGE / "_assets" / name
    return installed if installed.is_dir() else _PACKAGE.parent / name


def templates_folder() -> Path:
    """Return the folder that holds ``sheets/``, ``layouts/`` and ``programmes/``."""
    return _folder("templates")


def fonts_folder() -> Path:
    """Return the folder that holds the text face and its licence."""
    return _folder("fonts")
