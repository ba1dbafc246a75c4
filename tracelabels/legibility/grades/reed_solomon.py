"""Correcting the codewords of one block: Reed-Solomon over GF(256), errors only.

Syndromes, the shortest register that makes them (Berlekamp and Massey), its roots by trial (Chien), and the size of
each error from the register's derivative (Forney): the textbook chain, whose result is checked by its syndromes.

Fields: Data Matrix 0x12D with first root 1 (ISO/IEC 16022), QR 0x11D with first root 0 (ISO/IEC 18004).
"""

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Sequence

_ORDER: Final = 255
"""Elements of the field other than 0."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReedSolomon:
    """A code: its field and where its roots begin."""

    polynomial: int
    """The field's polynomial, its bits as a number."""
    first_root: int
    """Power of 2 that is the generator's first root."""

    def find_corrected(self, words: "Sequence[int]", check: int) -> tuple[int, ...] | None:
        """Find the valid codewords nearest to those given; None if more than half of the check words are wrong.

        Args:
            words: data, then check words, 0 to 255 each, at most 255.
            check: number of check words.
        """
        syndromes = self._syndromes(words, check)
        if not any(syndromes):
            return tuple(words)
        register = self._register(syndromes)
        places = [place for place in range(len(words)) if self._value(register, -place) == 0]
        errors = len(register) - 1
        if len(places) != errors or 2 * errors > check:
            return None
        corrected = list(words)
        for place in places:
            corrected[len(words) - 1 - place] ^= self._size(syndromes, register, place)
        return None if any(self._syndromes(corrected, check)) else tuple(corrected)

    def _times(self, a: int, b: int) -> int:
        powers, logarithms = _tables(self.polynomial)
        return powers[(logarithms[a] + logarithms[b]) % _ORDER] if a and b else 0

    def _power(self, exponent: int) -> int:
        return _tables(self.polynomial)[0][exponent % _ORDER]

    def _over(self, a: int, b: int) -> int:
        return self._times(a, self._power(-_tables(self.polynomial)[1][b]))

    def _value(self, terms: "Sequence[int]", exponent: int) -> int:
        """Return the value of a polynomial, lowest term first, at a power of 2."""
        total = 0
        for degree, term in enumerate(terms):
            total ^= self._times(term, self._power(degree * exponent))
        return total

    def _syndromes(self, words: "Sequence[int]", check: int) -> list[int]:
        return [self._value(words[::-1], self.first_root + number) for number in range(check)]

    def _register(self, syndromes: "Sequence[int]") -> list[int]:
        """Return the error locator, lowest term (1) first."""
        register, earlier, length, gap, earlier_off = [1], [1], 0, 1, 1
        for number, syndrome in enumerate(syndromes):
            off = syndrome
            for back in range(1, min(length, len(register) - 1) + 1):
                off ^= self._times(register[back], syndromes[number - back])
            if off == 0:
                gap += 1
                continue
            share = self._over(off, earlier_off)
            shifted = [0] * gap + [self._times(share, term) for term in earlier]
            size = max(len(register), len(shifted))
            longer = [a ^ b for a, b in zip(_padded(register, size), _padded(shifted, size), strict=True)]
            if 2 * length <= number:
                earlier, earlier_off, length, gap = register, off, number + 1 - length, 1
            else:
                gap += 1
            register = longer
        while register[-1] == 0:
            register.pop()
        return register

    def _size(self, syndromes: "Sequence[int]", register: "Sequence[int]", place: int) -> int:
        """Return by what the word at a place, counted from the last one, is off."""
        evaluator = [0] * len(syndromes)
        for number in range(len(syndromes)):
            for degree in range(min(number, len(register) - 1) + 1):
                evaluator[number] ^= self._times(register[degree], syndromes[number - degree])
        slope = [term if degree % 2 else 0 for degree, term in enumerate(register)][1:]
        size = self._over(self._value(evaluator, -place), self._value(slope, -place))
        return self._times(size, self._power(place * (1 - self.first_root)))


def _padded(terms: list[int], size: int) -> list[int]:
    return terms + [0] * (size - len(terms))


@cache
def _tables(polynomial: int) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Return the powers of 2, and for each element which power it is."""
    powers, logarithms, value = [], [0] * (_ORDER + 1), 1
    for exponent in range(_ORDER):
        powers.append(value)
        logarithms[value] = exponent
        value <<= 1
        if value > _ORDER:
            value ^= polynomial
    return tuple(powers), tuple(logarithms)
