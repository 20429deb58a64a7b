"""Writing a backup: one snapshot of every table, audited in the same moment, in one file that is there whole or not at all."""

from __future__ import annotations

import hashlib
import json
import os
import zipfile
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

from api.backup.tables import ABOUT, FORM, backed_up, columns, entry, rows
from inventory.models import Act
from inventory.queries.audit import audit
from inventory.queries.snapshot import snapshot


def write_backup(path: Path, at: datetime, say: Callable[[str], None]) -> dict[str, Any]:
    """Write the shop into a new file, while it is served; what the file says about itself is returned.

    Nobody waits for it: it reads one moment. The file is a zip of JSON lines, a table each, which any program can open. It
    holds logins, tokens and owners' data, so only its owner may read it. `findings` says what the audit found in that very moment.
    Raises FileExistsError where a file of that name is, OSError where it cannot be written.
    """
    if path.exists():
        raise FileExistsError(path)
    half = path.with_name(path.name + ".part")
    try:
        with open(os.open(half, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
            with snapshot(), zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
                about = _about(at)
                for model in backed_up():
                    about["tables"][model._meta.db_table] = _table(packed, model)
                    say(f"{about['tables'][model._meta.db_table]['rows']:>9} rows of {model._meta.db_table}")
                about["findings"] = [str(finding) for finding in audit()]
                packed.writestr(ABOUT, json.dumps(about, indent=1))
            file.flush()
            os.fsync(file.fileno())
        os.link(half, path)  # fails where somebody else made the file meanwhile
    finally:
        half.unlink(missing_ok=True)
    _settle(path.parent)
    return about


def _about(at: datetime) -> dict[str, Any]:
    newest = Act.objects.order_by("-recorded_at", "-pk").values_list("recorded_at", flat=True).first()
    return {
        "form": FORM,
        "made_at": at.isoformat(),
        "acts": Act.objects.count(),
        "newest_act": newest.isoformat() if newest else None,
        "tables": {},
        "findings": [],
    }


def _table(packed: zipfile.ZipFile, model: Any) -> dict[str, Any]:
    digest, number = hashlib.sha256(), 0
    with packed.open(entry(model), "w", force_zip64=True) as file:
        for number, line in enumerate(rows(model), 1):  # noqa: B007 - the last number is how many there are
            data = line.encode("utf-8", "surrogatepass") + b"\n"
            digest.update(data)
            file.write(data)
    return {"rows": number, "columns": columns(model), "sha256": digest.hexdigest()}


def _settle(folder: Path) -> None:
    """The folder's entry is on the disk too before anybody relies on it."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
