"""The import contracts hold in the tree, and each of them is broken by the import that it is there to refuse."""

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from tests.tidy.rules import ROOT

CONTRACTS = [
    contract["name"]
    for contract in tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["importlinter"]["contracts"]
]
LAYERS = ("domain", "models", "queries", "services")
#: contract -> (module, a line in it that the contract refuses)
REFUSED = {
    "the api knows the kits, the kits know the stores, never the other way": (
        "inventory.services.a",
        "import kits.domain.a",
    ),
    "services above queries above models above domain, in both": ("kits.queries.a", "import kits.services.a"),
    "domain code knows no framework, no database, no web": ("inventory.domain.a", "import django.db"),
    "kits' domain knows of the stores only their domain": ("kits.domain.a", "import inventory.models.a"),
    "kits' models know of the stores only models and domain": ("kits.models.a", "import inventory.queries.a"),
    "kits' queries know of the stores nothing that writes or locks": ("kits.queries.a", "import inventory.locks"),
    "nothing below the api knows the web framework": ("kits.services.a", "import rest_framework"),
    "pages and the machine interface do not know each other": ("api.pages.a", "import api.rest.a"),
    "the api reaches the tables through queries and services, and never locks": ("api.rest.a", "import kits.models.a"),
}
#: Every arrow of the house that is meant: all contracts are kept by a tree that has them.
MEANT = {
    "inventory.services.a": "import inventory.queries.a, inventory.models.a, inventory.domain.a, inventory.locks",
    "inventory.queries.a": "import inventory.models.a",
    "inventory.models.a": "import inventory.domain.a, django.db",
    "inventory.locks": "import inventory.models.a",
    "kits.services.a": "import kits.queries.a, inventory.services.a, inventory.locks",
    "kits.queries.a": "import kits.models.a, inventory.queries.a",
    "kits.models.a": "import kits.domain.a, inventory.models.a",
    "kits.domain.a": "import inventory.domain.a",
    "api.rest.a": "import kits.services.a, inventory.queries.a, kits.domain.a, rest_framework, api.labels.a",
    "api.pages.a": "import kits.services.a, inventory.queries.a, django.http, api.labels.a",
}


def broken_by(folder: Path, lines: dict[str, str]) -> set[str]:
    """Names of the contracts that a tree with these modules breaks; every contract must have been judged."""
    modules = {f"{package}.{layer}.a": "" for package in ("inventory", "kits") for layer in LAYERS}
    modules |= {f"api.{part}.a": "" for part in ("rest", "pages", "labels")} | {"inventory.locks": ""} | lines
    for module, line in modules.items():
        file = folder / (module.replace(".", "/") + ".py")
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(line + "\n")
    for inner in [path for path in folder.rglob("*") if path.is_dir()]:
        (inner / "__init__.py").touch()
    (folder / "pyproject.toml").write_text((ROOT / "pyproject.toml").read_text())
    told = subprocess.run(
        [
            sys.executable,
            "-c",
            "from importlinter.cli import lint_imports_command as c; c()",
            "--no-logo",
            "--no-cache",
        ],
        cwd=folder,
        capture_output=True,
        text=True,
        timeout=60,
        env={"PYTHONPATH": str(folder), "PATH": "", "COLUMNS": "200"},
    )
    verdicts = dict(re.findall(r"^(.+) (KEPT|BROKEN)", told.stdout, re.MULTILINE))
    assert set(verdicts) == set(CONTRACTS), told.stdout + told.stderr
    return {name for name, verdict in verdicts.items() if verdict == "BROKEN"}


def test_every_contract_has_an_import_that_breaks_it():
    assert list(REFUSED) == CONTRACTS


def test_the_arrows_that_are_meant_break_no_contract(tmp_path):
    assert broken_by(tmp_path, MEANT) == set()


@pytest.mark.parametrize("contract", REFUSED)
def test_a_refused_import_breaks_its_contract(tmp_path, contract):
    module, line = REFUSED[contract]
    assert contract in broken_by(tmp_path, {module: line})


def test_the_tree_keeps_the_contracts():
    told = subprocess.run(
        [
            sys.executable,
            "-c",
            "from importlinter.cli import lint_imports_command as c; c()",
            "--no-logo",
            "--no-cache",
        ],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert told.returncode == 0, told.stdout
    assert re.search(rf"Contracts: {len(CONTRACTS)} kept, 0 broken", told.stdout), told.stdout
