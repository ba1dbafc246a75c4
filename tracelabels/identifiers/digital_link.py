"""GS1 Digital Link URIs: elements in the path and query of a web address.

Source: GS1 Digital Link Standard, URI Syntax 1.4 to 1.7. Where its releases differ on a repeated identifier, it is
refused here, as GS1's own reference parser does (URI Syntax 1.7, clause 3 is reported to let the last one win).
"""

import re
from collections.abc import Iterable, Sequence
from typing import Final, NoReturn

from tracelabels.errors import IdentifierError
from tracelabels.identifiers.application_identifiers import (
    ApplicationIdentifier,
    application_identifiers,
    require_application_identifier,
)
from tracelabels.identifiers.associations import require_compatible
from tracelabels.identifiers.character_sets import DIGITS, LOWER, UPPER, name_character
from tracelabels.identifiers.element_string import require_few
from tracelabels.identifiers.elements import Element
from tracelabels.identifiers.values import check_value

CANONICAL_STEM: Final = "https://id.gs1.org"
SCHEMES: Final = ("https://", "http://", "HTTPS://", "HTTP://")
# RFC 3986, 2.3: these stand for themselves; every other character of a value is percent-encoded.
_UNRESERVED: Final = frozenset(UPPER + LOWER + DIGITS + "-._~")
_NOT_IN_URI: Final = re.compile(r"[^A-Za-z0-9\-._~:/?#\[\]@!$&'()*+,;=%]")
_NOT_IN_DOMAIN: Final = re.compile(r"[_~@!$&'()*+,;=%]")
_ESCAPED: Final = re.compile("%([0-9A-Fa-f]{2})?")


def is_web_address(text: str) -> bool:
    """Tell whether a text opens as a web address does, in whatever case."""
    return text[: len("https://")].lower().startswith(("https://", "http://"))


def parse_digital_link(uri: str) -> tuple[Element, ...]:
    """Read a GS1 Digital Link URI whole: path, query, formats, characters, check digits and dates.

    The fragment and query keys that are no number are ignored. The elements come in the order of the text.

    Raises:
        IdentifierError: If any part of it breaks a rule.

    >>> parse_digital_link("https://id.gs1.org/01/09520123456788/10/ABC1?17=180426")[1]
    Element(ai='10', value='ABC1')
    """
    path, query = _split(uri)
    in_path = _parse_path(path)
    in_query = _parse_query(query)
    elements = (*in_path, *in_query)
    require_few(elements)
    _check_path_order(in_path)
    _check_query(in_path, in_query)
    for element in elements:
        check_value(require_application_identifier(element.ai), element.value)
    require_compatible(elements)
    return elements


def build_digital_link(elements: Iterable[Element], *, stem: str = CANONICAL_STEM) -> str:
    """Write elements as a GS1 Digital Link URI: key and qualifiers in the path, the rest sorted in the query.

    The first element that may be a primary key becomes it.

    Args:
        elements: What to write; each identifier at most once.
        stem: Scheme, domain and what else stands before the key, such as "https://example.com/a".

    Raises:
        IdentifierError: If no element may be the key, a value breaks its format, or an element has no place in the URI.

    >>> build_digital_link([Element(ai="10", value="ABC+1"), Element(ai="01", value="12312312312333")])
    'https://id.gs1.org/01/12312312312333/10/ABC%2B1'
    """
    listed = tuple(elements)
    entries = {element.ai: require_application_identifier(element.ai) for element in listed}
    for element in listed:
        check_value(entries[element.ai], element.value)
    require_compatible(listed)
    values = {element.ai: element.value for element in listed}
    key = next((entry for entry in entries.values() if entry.link_key), None)
    if key is None:
        raise IdentifierError(
            given="elements without a primary key",
            expected="one that identifies, such as (01) or (8004)",
            remedy="add the GTIN, or use another form of code",
        )
    in_path = [key.ai, *_longest_sequence(key, values)]
    path = "".join(f"/{ai}/{_escape(values[ai])}" for ai in in_path)
    in_query = [Element(ai=ai, value=values[ai]) for ai in sorted(values) if ai not in in_path]
    _check_query([Element(ai=ai, value=values[ai]) for ai in in_path], in_query)
    query = "&".join(f"{element.ai}={_escape(element.value)}" for element in in_query)
    uri = _checked_stem(stem) + path + ("?" + query if query else "")
    parse_digital_link(uri)
    return uri


def _checked_stem(stem: str) -> str:
    if not stem.startswith(SCHEMES) or _NOT_IN_URI.search(stem) or "?" in stem or "#" in stem:
        raise IdentifierError(
            given=f"stem {stem[:60]!r}",
            expected="https:// or http:// and a domain, perhaps with a path",
            remedy="correct the web address",
        )
    return stem.removesuffix("/")


def _split(uri: str) -> tuple[list[str], str]:
    """Return the segments of the path and the query."""
    stray = _NOT_IN_URI.search(uri)
    if stray is not None:
        _refuse(f"a web address with {name_character(stray.group())}", "only the characters that RFC 3986 allows")
    scheme = next((scheme for scheme in SCHEMES if uri.startswith(scheme)), None)
    if scheme is None:
        _refuse(f"a web address that opens {uri[:8]!r}", "https:// or http://, all small or all capital letters")
    before_query, _, query = uri.partition("#")[0].removeprefix(scheme).partition("?")
    domain, *path = before_query.split("/")
    if not domain or _NOT_IN_DOMAIN.search(domain):
        _refuse(f"the domain {domain[:60]!r}", "a domain name or address")
    return path, query


def _parse_path(path: list[str]) -> list[Element]:
    """Return the elements of a path, from the rightmost primary key on."""
    table = application_identifiers()
    found: list[Element] = []
    at = len(path) - 2
    while at >= 0 and path[at] in table and not (found and table[found[0].ai].link_key):
        found.insert(0, Element(ai=path[at], value=_unescape(path[at + 1])))
        at -= 2
    if not found or not table[found[0].ai].link_key:
        shown = "/".join(path)[-60:]
        _refuse(f"a path that ends {shown!r}", "a GS1 key and its value at its end, as in /01/09520123456788")
    return found


def _parse_query(query: str) -> list[Element]:
    """Return the elements of a query; keys that are no number, and those without "=", are ignored."""
    found = []
    for pair in query.split("&"):
        key, equals, value = pair.partition("=")
        if equals and key and set(DIGITS).issuperset(key):
            require_application_identifier(key)
            found.append(Element(ai=key, value=_unescape(value.replace("+", " "))))
    return found


def _check_path_order(in_path: Sequence[Element]) -> None:
    key, *qualifiers = [element.ai for element in in_path]
    entry = require_application_identifier(key)
    if not _is_legal_sequence(entry, qualifiers):
        legal = " or ".join("/".join(sequence) for sequence in entry.qualifiers) or "none"
        _refuse(f"/{'/'.join(qualifiers)} behind the key {key}", f"qualifiers in this order and no others: {legal}")


def _check_query(in_path: Sequence[Element], in_query: Sequence[Element]) -> None:
    key, *qualifiers = [element.ai for element in in_path]
    entry = require_application_identifier(key)
    seen = {element.ai for element in in_path}
    for element in in_query:
        if element.ai in seen:
            _refuse(f"({element.ai}) twice", "each application identifier once in a GS1 Digital Link")
        seen.add(element.ai)
        if not require_application_identifier(element.ai).link_attribute:
            _refuse(f"({element.ai}) in the query", f"no ({element.ai}) there, which GS1 Digital Link does not allow")
        if any(
            _is_legal_sequence(entry, [*qualifiers[:n], element.ai, *qualifiers[n:]])
            for n in range(len(qualifiers) + 1)
        ):
            _refuse(f"({element.ai}) in the query", f"/{element.ai}/ in the path, behind the key {key}")


def _is_legal_sequence(key: ApplicationIdentifier, qualifiers: Sequence[str]) -> bool:
    """Tell whether qualifiers are part of one of the key's sequences, in its order."""
    return not qualifiers or any(
        [ai for ai in sequence if ai in qualifiers] == list(qualifiers) for sequence in key.qualifiers
    )


def _longest_sequence(key: ApplicationIdentifier, values: dict[str, str]) -> list[str]:
    candidates = [[ai for ai in sequence if ai in values] for sequence in key.qualifiers]
    return max(candidates, key=len, default=[])


def _escape(value: str) -> str:
    return "".join(character if character in _UNRESERVED else f"%{ord(character):02X}" for character in value)


def _unescape(text: str) -> str:
    return _ESCAPED.sub(_decode, text)


def _decode(match: re.Match[str]) -> str:
    if match[1] is None:
        _refuse("a % without two hexadecimal digits behind it", "percent-encoding as RFC 3986, 2.1 has it")
    return chr(int(match[1], 16))


def _refuse(given: str, expected: str) -> NoReturn:
    raise IdentifierError(
        given=given, expected=expected, remedy="scan the code again, or correct the address where it was made"
    )
