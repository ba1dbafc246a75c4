"""A key for each client: what is sealed about a client can be read only as long as that key is there.

AES-256-GCM (NIST SP 800-38D): twelve random bytes, then the sealed content with its tag; the fact's name is bound in,
so that content put under another fact does not open. Keys lie in a table of their own, which no backup of the ledger
holds; an erased client's key is deleted.
"""

from typing import TYPE_CHECKING, Final

from sqlalchemy import Connection, exists, insert, select

from tracelabels.records.fact_reading import erased, key_of, pair_is, wrote
from tracelabels.records.facts import FactId, FactKind
from tracelabels.records.schema import client_key, fact

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

KEY_BYTES: Final = 32
NONCE_BYTES: Final = 12


def find_client_key(connection: Connection, client: FactId) -> bytes | None:
    """Return a client's key; None for one who was erased, or was never on record."""
    query = select(client_key.c.key).where(pair_is(key_of(client_key), client))
    key: bytes | None = connection.execute(query).scalar_one_or_none()
    return key


def make_client_key(connection: Connection, client: FactId, random_bytes: "Callable[[int], bytes]") -> bytes:
    """Make the key of a new client."""
    key = random_bytes(KEY_BYTES)
    connection.execute(insert(client_key), {"site": client.site, "sequence": client.sequence, "key": key})
    return key


def seal(key: bytes, content: bytes, *, bound_to: str, nonce: bytes) -> bytes:
    """Seal content with a client's key.

    Args:
        key: 32 bytes.
        content: what is personal.
        bound_to: the name of the fact or file that it belongs to.
        nonce: 12 random bytes, never used before with this key.
    """
    from cryptography.hazmat.primitives.ciphers.aead import AESGCM  # noqa: PLC0415  heavy, and needed for clients only

    return nonce + AESGCM(key).encrypt(nonce, content, bound_to.encode())


def unseal(key: bytes, sealed: bytes, *, bound_to: str) -> bytes | None:
    """Open sealed content; None if it was changed, or sealed with another key or for another place."""
    from cryptography.exceptions import InvalidTag  # noqa: PLC0415  as above
    from cryptography.hazmat.primitives.ciphers.aead import AESGCM  # noqa: PLC0415  as above

    try:
        return AESGCM(key).decrypt(sealed[:NONCE_BYTES], sealed[NONCE_BYTES:], bound_to.encode())
    except (InvalidTag, ValueError):
        return None


def bound_to_purpose(purpose: str, client: FactId) -> str:
    """Return what content is bound to that lies outside the ledger; no fact bears such a name."""
    return f"{purpose} of client {client}"


def clients_without_key(connection: Connection) -> "Iterator[FactId]":
    """Give the clients whose key is gone although no erasure is recorded."""
    query = select(*key_of(fact)).where(fact.c.kind == FactKind.CLIENT.value, fact.c.version == 1)
    query = query.where(~exists().where(wrote(client_key)), ~erased(key_of(fact))).order_by(*key_of(fact))
    for site, sequence in connection.execute(query):
        yield FactId(site=site, sequence=sequence)


def clients_with_key_again(connection: Connection) -> "Iterator[FactId]":
    """Give the clients who were erased and whose key is here again."""
    for site, sequence in connection.execute(select(*key_of(client_key)).where(erased(key_of(client_key)))):
        yield FactId(site=site, sequence=sequence)
