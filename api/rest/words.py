"""Names of headers and addresses, and the words that introduce the service. Free of frameworks: the settings read it."""

from __future__ import annotations

from inventory.domain.error_codes import CODES

MEDIA_TYPE = "application/problem+json"
CODES_PAGE = "/docs/errors"
KEY_HEADER = "Idempotency-Key"
REPLAYED_HEADER = "Idempotent-Replayed"


def code_table() -> str:
    """The published table of codes, for the description of the service."""
    rows = "\n".join(f"| {code} | {meaning.status} | {meaning.title} |" for code, meaning in CODES.items())
    return f"| code | status | meaning |\n| --- | --- | --- |\n{rows}"


DESCRIPTION = f"""The stores and rebuilds of an engine shop.

**Reading** needs a log-in: `Authorization: Token …` (from `POST /api/v1/tokens`) or a session. Lists come in pages: follow `next`
until it is null. A query parameter that an address does not know is refused.

**Every write** carries `{KEY_HEADER}`, a UUID that the caller makes once for one act. The same key with the same content is the
same act: it is done once and its first answer is given again, with `{REPLAYED_HEADER}: true`. The same key with other content is
refused. A refused attempt does not use up its key.

**Amounts** come in as text with a unit ("4 EA", "12 mL", "3.5 in") or as a whole number of base units, and go out as whole
number, base unit and a text in the unit asked for. Money is whole coins.

**A refusal** is a problem document (RFC 9457, `application/problem+json`) whose `code` stands in this table, which
[{CODES_PAGE}]({CODES_PAGE}) shows too:

{code_table()}
"""
