"""What a certificate's file may be, and whether a certificate speaks of a lot. Pure."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable

from inventory.domain.errors import DomainError

#: A scan of a few pages; in the base64 of RFC 4648 it still fits into a request.
MOST_BYTES = 1_500_000
#: Content type → the bytes that such a file begins with. Sources: ISO 32000-1, 7.5.2 (PDF); ISO/IEC 15948, 5.2 (PNG);
#: ISO/IEC 10918-1, annex B, SOI and the marker after it (JPEG).
BEGINS = {"application/pdf": b"%PDF-", "image/png": b"\x89PNG\r\n\x1a\n", "image/jpeg": b"\xff\xd8\xff"}
MOST_NAME = 120


def checksum(content: bytes) -> str:
    """SHA-256 of FIPS 180-4, in lower-case hexadecimal."""
    return hashlib.sha256(content).hexdigest()


def check_file(filename: str, content_type: str, content: bytes) -> str:
    """The checksum of a usable file; DomainError "file-unusable" for one that is empty, too large, of another type than it says, or
    with a name that is no plain name."""
    begins = BEGINS.get(content_type)
    if begins is None:
        raise _unusable(f"{content_type} is none of {', '.join(BEGINS)}.", filename)
    if not content.startswith(begins):
        raise _unusable(f"{filename} is no {content_type} by its first bytes.", filename)
    if len(content) > MOST_BYTES:
        raise _unusable(f"{filename} has {len(content)} bytes; at most {MOST_BYTES} are kept.", filename)
    plain = filename.strip() == filename and 0 < len(filename) <= MOST_NAME and filename.isprintable()
    if not plain or set(filename) & set('/\\"') or filename.startswith("."):
        raise _unusable("A file's name is 1 to 120 characters without quotes and slashes.", filename)
    return checksum(content)


def _unusable(why: str, filename: str) -> DomainError:
    return DomainError("file-unusable", why, filename=filename[:MOST_NAME])


def speaks_of(printed: Iterable[str], lot: str) -> bool:
    """True where one of the printed codes is the lot's, apart from case and from what is neither letter nor digit."""
    return _key(lot) in {_key(code) for code in printed}


def _key(code: str) -> str:
    kept = "".join(letter for letter in code.casefold() if letter.isalnum())
    return kept or code
