"""Everything that this package raises on purpose.

Wrong input raises; a finding about the world (an unreadable label, a failed indicator) is a value in a list.
"""


class TracelabelsError(Exception):
    """The root. Catch it and show ``str(error)``: one sentence that says what was given, what was expected, what to do.

    The tree, by room::

        TracelabelsError
        ├── IdentifierError          identifiers: a text or value breaks a rule of its application identifier
        ├── SymbolError              symbols: a text that no symbol of this kind can carry
        │   └── NoRoomError          symbols: nothing fits the free space
        ├── RasterError              paper: a document that cannot be rasterised
        ├── TemplateError            labels, cycles: a sheet, layout or programme file is wrong (file, key, value)
        ├── LabelError               labels: this content cannot be set whole and legibly
        ├── PictureError             scanning: a picture that is broken, huge or no picture
        ├── LogError                 cycles: a logger's file that cannot be read as readings
        ├── LedgerError              records: the ledger refuses
        ├── ProofError               legibility: a printed sheet does not read back as it should
        ├── HeldError                workflows: a check holds the run until somebody overrides it by name
        ├── SettingsError            settings: practice.toml is wrong (file, key, value)
        └── InputError               workflows and command line: a row, a date, an option is wrong
    """

    def __init__(self, *, given: str, expected: str, remedy: str) -> None:
        """Write the sentence from its three facts."""
        self.given = given
        self.expected = expected
        self.remedy = remedy
        super().__init__(f"{given}; expected {expected}; {remedy}")


class IdentifierError(TracelabelsError):
    """A text or a value breaks a rule of its application identifier."""


class SymbolError(TracelabelsError):
    """A text that no symbol of the asked kind can carry."""


class NoRoomError(SymbolError):
    """No symbol fits the free space at the printer's resolution."""


class RasterError(TracelabelsError):
    """A document that cannot be rasterised: no PDF, damaged, locked, or a page too large."""


class TemplateError(TracelabelsError):
    """A sheet, layout or programme file is wrong; the sentence names file, key and value."""


class LabelError(TracelabelsError):
    """This content cannot be set whole and legibly in this layout."""


class PictureError(TracelabelsError):
    """A file that is no picture, is broken, or is larger than the reader accepts."""


class LogError(TracelabelsError):
    """A logger's file that cannot be read as temperatures over time."""


class LedgerError(TracelabelsError):
    """The ledger refuses: a duplicate, an unknown thing, a fact that contradicts another."""


class ProofError(TracelabelsError):
    """A sheet, rasterised and read back, does not say what it should."""


class HeldError(TracelabelsError):
    """A check of a run failed; it is held until somebody lets it through by name, with a reason."""


class SettingsError(TracelabelsError):
    """The practice's settings file is wrong; the sentence names file, key and value."""


class InputError(TracelabelsError):
    """A row of a list, a date or an option is wrong."""
