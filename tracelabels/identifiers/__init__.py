"""What a code says: application identifiers, element strings, dates, check digits, serials, GS1 Digital Link. Pure.

Modules, from the ground up:

- ``elements``: element, payload, mode
- ``character_sets``, ``check_digits``, ``dates``, ``code_lists``, ``coupons``, ``faults``: what the checks are made of
- ``linters``: the checks of content by the names of GS1's syntax dictionary
- ``application_identifiers``: the table of identifiers (``application_identifiers.tsv``)
- ``values``: one value against its format
- ``associations``: what must, and must not, stand together
- ``element_string``, ``human_readable``, ``digital_link``: the three ways of writing elements
- ``serial``: our serials, distinct across sites
- ``lost_separator``: a separator that a scanner dropped
- ``label_identity``: what our labels' codes say, and writing it
- ``identify``: any text explained
"""

from tracelabels.identifiers.associations import find_unmet, require_compatible
from tracelabels.identifiers.check_digits import as_gtin_14, has_valid_check_digit, mod10_check_digit
from tracelabels.identifiers.dates import find_iso_day
from tracelabels.identifiers.digital_link import build_digital_link, parse_digital_link
from tracelabels.identifiers.element_string import encode, parse_element_string
from tracelabels.identifiers.elements import GS, Element, IdentifierMode, Payload
from tracelabels.identifiers.human_readable import as_human_readable, parse_human_readable
from tracelabels.identifiers.identify import Identification, identify
from tracelabels.identifiers.label_identity import LabelIdentity, as_elements, compose_label, require_readable
from tracelabels.identifiers.serial import Serial, format_serial, is_serial, parse_serial

__all__ = [
    "GS",
    "Element",
    "Identification",
    "IdentifierMode",
    "LabelIdentity",
    "Payload",
    "Serial",
    "as_elements",
    "as_gtin_14",
    "as_human_readable",
    "build_digital_link",
    "compose_label",
    "encode",
    "find_iso_day",
    "find_unmet",
    "format_serial",
    "has_valid_check_digit",
    "identify",
    "is_serial",
    "mod10_check_digit",
    "parse_digital_link",
    "parse_element_string",
    "parse_human_readable",
    "parse_serial",
    "require_compatible",
    "require_readable",
]
