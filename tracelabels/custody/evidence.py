"""Evidence: files that stand behind facts, kept by their digest."""

from dataclasses import dataclass

from tracelabels.custody.names import Name


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """A file that was kept: a photograph, a logger's file, a printed document."""

    digest: str
    """SHA-256 (hexadecimal) of the file as it is stored; of the sealed bytes where it is about a client."""
    media_type: str
    """Its kind, such as ``image/jpeg`` or ``text/csv``."""
    size: int
    """Bytes as stored."""
    about: Name | None = None
    """What it is evidence for."""
    client: Name | None = None
    """Whose personal data it may show; then it is stored sealed with that client's key."""
