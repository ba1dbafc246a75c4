"""Correcting the codewords of one block: Reed-Solomon over GF(256), done by the library reedsolo.

Fields: Data Matrix 0x12D with first root 1 (ISO/IEC 16022), QR 0x11D with first root 0 (ISO/IEC 18004).
"""

from dataclasses import dataclass
from functools import cache
from threading import Lock
from typing import TYPE_CHECKING, Final

from reedsolo import ReedSolomonError, RSCodec

if TYPE_CHECKING:
    from collections.abc import Sequence

_ONE_AT_A_TIME: Final = Lock()
"""The library keeps the tables of the field in use in its own module."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReedSolomon:
    """A code: its field and where its roots begin."""

    polynomial: int
    """The field's polynomial, its bits as a number."""
    first_root: int
    """Power of 2 that is the generator's first root."""

    def find_corrected(
        self, words: "Sequence[int]", check: int, *, erased: "Sequence[int]" = ()
    ) -> tuple[int, ...] | None:
        """Find the valid codewords nearest to those given; None if errors take two check words each and erasures one.

        Args:
            words: data, then check words, 0 to 255 each, at most 255.
            check: number of check words.
            erased: places of words that nobody saw, from 0; each given once. With as many as there are check words
                every reading is valid, so the caller must cap them.
        """
        codec = _codec(self.polynomial, self.first_root, check)
        try:
            with _ONE_AT_A_TIME:
                _, whole, places = codec.decode(bytes(words), erase_pos=list(erased))
        except ReedSolomonError:
            return None
        # A place outside the block means that what was found is no codeword near the one given.
        wrong = len(set(places) - set(erased))
        return tuple(whole) if 2 * wrong + len(erased) <= check and len(whole) == len(words) else None


@cache
def _codec(polynomial: int, first_root: int, check: int) -> RSCodec:
    return RSCodec(check, nsize=255, fcr=first_root, prim=polynomial)
