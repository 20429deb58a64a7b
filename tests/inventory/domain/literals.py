"""The texts that stand in the program, for tests of tables whose every key must be used."""

import ast
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]
TABLES = {ROOT / "inventory" / "domain" / name for name in ("codes_of_rebuilds.py", "codes_of_stores.py")}
CODE_FILES = sorted(
    path
    for top in ("inventory", "kits", "api")
    for path in (ROOT / top).rglob("*.py")
    if "migrations" not in path.parts
)


def literals(*tops: str) -> set[str]:
    """Every text that stands in the program, or in these parts of it, outside the tables themselves."""
    found: set[str] = set()
    for path in CODE_FILES:
        if path not in TABLES and (not tops or path.relative_to(ROOT).parts[0] in tops):
            nodes = ast.walk(ast.parse(path.read_text()))
            found |= {node.value for node in nodes if isinstance(node, ast.Constant) and isinstance(node.value, str)}
    return found
