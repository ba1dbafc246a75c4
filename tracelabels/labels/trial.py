"""Try whether a label can be set, without drawing it: every bad row of a list is named before any is printed."""

from tracelabels.identifiers import compose_label
from tracelabels.labels.composing import Composer
from tracelabels.labels.content import LabelContent
from tracelabels.labels.layouts import Layout
from tracelabels.labels.matching import require_fit
from tracelabels.labels.printers import Printer
from tracelabels.labels.sheets import Sheet
from tracelabels.labels.symbol_choice import SymbolChooser


class Trial:
    """Tries labels of one layout on one sheet and printer."""

    def __init__(self, *, layout: Layout, sheet: Sheet, printer: Printer) -> None:
        """Prepare what is the same for all labels.

        Raises:
            LabelError: If layout and sheet do not go together.
        """
        self._composer = Composer(layout)
        self._chooser = SymbolChooser(layout, dpi=printer.dpi, quarter_turns=require_fit(layout, sheet))

    def require(self, content: LabelContent) -> None:
        """See that a label can be set.

        Raises:
            LabelError: If it cannot be set whole and legibly.
            NoRoomError: If its code does not fit; what would is named.
            IdentifierError: If its code's facts break a rule.
        """
        self._chooser.write(compose_label(content.identity, content.mode))
        self._composer.compose(content, copy=1, copies=1)
