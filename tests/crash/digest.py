"""What two processes compare: an answer, as a short text."""

from __future__ import annotations

import hashlib
import json
from typing import Any


def digest(body: Any) -> str:
    """SHA-256 over the canonical form of an answer."""
    return hashlib.sha256(json.dumps(body, sort_keys=True).encode()).hexdigest()
