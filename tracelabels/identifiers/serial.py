"""Serials that stay distinct when several sites put their records together.

Nine digits: two for the site, six for the running number, one check digit. The check digit is H. Michael Damm's
(Total anti-symmetrische Quasigruppen, dissertation, Philipps-Universitaet Marburg, 2004): it notices every single
wrong digit and every swap of two neighbours.
"""

from dataclasses import dataclass

from tracelabels.errors import IdentifierError

SITES = 100
NUMBERS = 1_000_000
SERIAL_LENGTH = 9

# The quasigroup of order 10 from Damm's dissertation; the row is the interim digit, the column the next digit.
_DAMM = (
    "0317598642",
    "7092154863",
    "4206871359",
    "1750983426",
    "6123045978",
    "3674209581",
    "5869720134",
    "8945362017",
    "9438617205",
    "2581436790",
)
_DAMM_ROWS = tuple(tuple(int(digit) for digit in row) for row in _DAMM)
_ASCII_DIGITS = frozenset("0123456789")


@dataclass(frozen=True, slots=True, kw_only=True)
class Serial:
    """What a serial says.

    Attributes:
        site: The site that issued it, 0 to 99.
        number: The site's running number, 0 to 999999.
    """

    site: int
    number: int


def damm_check_digit(digits: str) -> str:
    """Return the check digit of a text of digits.

    >>> damm_check_digit("572")  # the worked example that goes with the published table
    '4'
    """
    interim = 0
    for digit in digits:
        interim = _DAMM_ROWS[interim][int(digit)]
    return str(interim)


def format_serial(site: int, number: int) -> str:
    """Write a serial of nine digits.

    Args:
        site: The site that issues it, 0 to 99.
        number: The site's running number, 0 to 999999.

    Raises:
        IdentifierError: If either is outside its range.

    >>> format_serial(1, 17)
    '010000175'
    """
    if not 0 <= site < SITES:
        raise IdentifierError(
            given=f"site {site}",
            expected=f"a site number from 0 to {SITES - 1}",
            remedy="give each site its own number of at most two digits",
        )
    if not 0 <= number < NUMBERS:
        raise IdentifierError(
            given=f"running number {number}",
            expected=f"a running number from 0 to {NUMBERS - 1}",
            remedy="open a new site number when a site has used up its running numbers",
        )
    body = f"{site:02d}{number:06d}"
    return body + damm_check_digit(body)


def is_serial(text: str) -> bool:
    """Tell whether a text has the form of our own serials and a check digit that holds.

    >>> is_serial("010000175"), is_serial("010000178"), is_serial("A17")
    (True, False, False)
    """
    return len(text) == SERIAL_LENGTH and _ASCII_DIGITS.issuperset(text) and damm_check_digit(text) == "0"


def parse_serial(text: str) -> Serial:
    """Read a serial of nine digits.

    Raises:
        IdentifierError: If it is not nine digits, or its check digit does not hold.

    >>> parse_serial("010000175")
    Serial(site=1, number=17)
    """
    if len(text) != SERIAL_LENGTH or not _ASCII_DIGITS.issuperset(text):
        raise IdentifierError(
            given=f"serial {text[:40]!r}",
            expected="nine digits (two for the site, six for the running number, one check digit)",
            remedy="scan the code, or type the serial again from the label",
        )
    if damm_check_digit(text) != "0":
        raise IdentifierError(
            given=f"serial {text!r}",
            expected="a check digit that agrees with the other eight digits",
            remedy="type it again: a digit is wrong, or two neighbours are swapped",
        )
    return Serial(site=int(text[:2]), number=int(text[2:8]))
