"""Files in TOML that a practice may edit: read key by key, shipped ones and a practice's own beside them.

What a sheet, a layout or a programme is, is known above; this room knows files, keys and mistakes.

Modules:
    table: a TOML file read key by key.
    shelf: the shipped files of a kind, and a practice's own.
"""

from tracelabels.templates.shelf import Shelf
from tracelabels.templates.table import MAX_BYTES, Table, parse_table, read_table, read_template

__all__ = ["MAX_BYTES", "Shelf", "Table", "parse_table", "read_table", "read_template"]
