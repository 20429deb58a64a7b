"""The one published table of codes: what each means, and the HTTP status it is answered with.

It is printed in the docs and in the OpenAPI document, and a test compares them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from inventory.domain.codes_of_rebuilds import OF_REBUILDS
from inventory.domain.codes_of_stores import OF_STORES


@dataclass(frozen=True, slots=True)
class Code:
    """What a code means: the HTTP status it is answered with and one plain sentence."""

    status: int
    title: str


#: code -> (HTTP status, sentence). Alphabetical. 400 malformed, 404 unknown, 409 lost race or same key with other content,
#: 412 stale version, 422 refused by a rule, 428 no If-Match where people edit.
CODES: Mapping[str, Code] = {
    code: Code(status, title) for code, (status, title) in sorted((*OF_STORES.items(), *OF_REBUILDS.items()))
}
