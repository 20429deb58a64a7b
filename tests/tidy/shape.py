"""The house rules about the shape of files: sizes, suppressions with their reasons, unfinished work, tests that
test."""

from __future__ import annotations

import ast
import io
import re
import tokenize
from collections.abc import Iterator

from tests.tidy.rules import ROOT, Fault, Rule, Source, dotted, in_code, in_layer, is_python

FILE_LINES = 400
TEST_FILE_LINES = 500
FUNCTION_LINES = 60
Function = ast.FunctionDef | ast.AsyncFunctionDef


def in_tests(path: str) -> bool:
    return is_python(path) and path.startswith("tests/")


def check_sizes(source: Source) -> Iterator[Fault]:
    """Files up to 400 lines (tests 500), functions up to 60 without their docstring."""
    lines = source.text.count("\n")
    limit = TEST_FILE_LINES if source.path.startswith("tests/") else FILE_LINES
    if lines > limit:
        yield Fault(limit, f"{lines} lines, at most {limit}")
    if not is_python(source.path):
        return
    for node in ast.walk(source.tree):
        if isinstance(node, Function):
            length = (node.end_lineno or node.lineno) - node.lineno + 1
            first = node.body[0]
            if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant) and len(node.body) > 1:
                length -= (first.end_lineno or first.lineno) - first.lineno + 1
            if length > FUNCTION_LINES:
                yield Fault(node.lineno, f"{node.name} has {length} lines, at most {FUNCTION_LINES}")


def is_written(path: str) -> bool:
    """Code and pages that people write and read; what others made stands in a folder `vendor`."""
    return (is_python(path) or path.endswith((".html", ".css", ".js", ".sh", "/run"))) and "/vendor/" not in path


SIZES = Rule(
    "files and functions stay small",
    is_written,
    check_sizes,
    good=(
        ("api/a.py", "x = 1\n" * FILE_LINES),
        ("tests/test_a.py", "x = 1\n" * TEST_FILE_LINES),
        ("api/a.py", "def f():\n" + "    '''" + "words\n" * 70 + "    '''\n" + "    x = 1\n" * 50),
    ),
    bad=(
        ("api/a.py", "x = 1\n" * (FILE_LINES + 1)),
        ("tests/test_a.py", "x = 1\n" * (TEST_FILE_LINES + 1)),
        ("api/pages/templates/a.html", "<p>\n" * (FILE_LINES + 1)),
        ("api/a.py", "def f():\n" + "    x = 1\n" * FUNCTION_LINES),
        ("api/a.py", "class A:\n    async def f(self):\n" + "        x = 1\n" * FUNCTION_LINES),
    ),
)

SUPPRESSION = re.compile(
    r"#\s*(?P<what>ruff:\s*noqa|noqa|type:\s*ignore|fmt:\s*off|pragma:|mypy:|pylint:|isort:)(?P<rest>[^#]*(#.*)?)"
)
CODES = re.compile(r"\s*(\[[\w, -]*\]|:\s*[A-Z]+\d+(\s*,\s*[A-Z]+\d+)*|no cover|no branch)?")


def comments(text: str) -> Iterator[tuple[int, str]]:
    """(line, comment) of every comment."""
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type == tokenize.COMMENT:
            yield token.start[0], token.string


def check_suppressions(source: Source) -> Iterator[Fault]:
    """Whoever switches a check off names the check and says why, on the same line."""
    for line, comment in comments(source.text):
        found = SUPPRESSION.search(comment)
        if not found:
            continue
        what, rest = found["what"], found["rest"]
        codes = CODES.match(rest)
        reason = rest[codes.end() :] if codes else rest
        if what in {"noqa", "type: ignore"} and not (codes and codes.group().strip()):
            yield Fault(line, f"{what} says which check it switches off")
        if len(re.findall(r"\w{2,}", reason)) < 3:
            yield Fault(line, f"{what} has no reason beside it")


SUPPRESSIONS = Rule(
    "every suppression has its reason beside it",
    is_python,
    check_suppressions,
    good=(
        ("api/a.py", "import x  # noqa: F401 - the import itself registers it"),
        ("api/a.py", "x = y()  # type: ignore[attr-defined]  # the library has no types"),
        ("api/a.py", "# fmt: off - a table of figures"),
        ("api/a.py", "x = '# noqa'  # an ordinary comment"),
    ),
    bad=(
        ("api/a.py", "import x  # noqa"),
        ("api/a.py", "import x  # noqa: F401"),
        ("api/a.py", "x = y()  # type: ignore"),
        ("api/a.py", "x = y()  # type: ignore[attr-defined]"),
        ("api/a.py", "x = y()  # type: ignore  # the library has no types"),
        ("tests/a.py", "# fmt: off"),
        ("tests/a.py", "def f(): pass  # pragma: no cover"),
    ),
)

UNFINISHED = re.compile(
    r"\b(TODO|FIXME|XXX|HACK)\b|(?i:(?<![\w-])(placeholder(?!\s*=)|stubs?|lorem ipsum|not yet implemented)(?![\w-]))"
)
MACHINE = re.compile(r"(?<![\w.:/*])/(tmp|home|root|work|Users)/")


def check_words(source: Source) -> Iterator[Fault]:
    """Nothing unfinished is called done, and no path of one machine is written down."""
    for number, line in enumerate(source.text.splitlines(), 1):
        if found := UNFINISHED.search(line):
            yield Fault(number, f"unfinished: {found.group()}")
        if found := MACHINE.search(line):
            yield Fault(number, f"a path of one machine: {found.group()}")
    if is_python(source.path) and in_code(source.path):
        for node in ast.walk(source.tree):
            if isinstance(node, ast.Raise) and node.exc and "NotImplementedError" in ast.dump(node.exc):
                yield Fault(node.lineno, "NotImplementedError: not done")


WORDS = Rule(
    "nothing unfinished, no path of one machine",
    lambda path: not path.startswith("tests/tidy/"),
    check_words,
    good=(
        ("api/pages/templates/a.html", '<input placeholder="A4-020412">'),
        ("pyproject.toml", '"django-stubs==1"'),
        ("README.md", "see https://example.org/home/page"),
    ),
    bad=(
        ("api/a.py", "# TODO finish"),
        ("README.md", "FIXME"),
        ("api/a.py", "def f():\n    '''A stub.'''"),
        ("api/pages/templates/a.html", "<p>Placeholder</p>"),
        ("tests/test_a.py", "x = '/tmp/a'"),
        ("kits/services/a.py", "def f(): raise NotImplementedError"),
    ),
)

PASSES_BY = {"skip", "skipif", "xfail", "importorskip", "skipIf", "skipUnless", "skipTest", "expectedFailure"}
PROVES = re.compile(r"(assert|check|expect|refuse|raises|warns)")


def check_tests(source: Source) -> Iterator[Fault]:
    """A test proves something and is never passed by."""
    helpers = {node.name for node in source.tree.body if isinstance(node, Function) and proves(node, set())}
    for node in ast.walk(source.tree):
        if (
            isinstance(node, ast.Attribute)
            and node.attr in PASSES_BY
            and dotted(node).split(".")[0] in {"pytest", "unittest", "self"}
        ):
            yield Fault(node.lineno, f"{dotted(node)}: deselect by a marker what cannot run here")
        if isinstance(node, ast.Assert) and isinstance(node.test, ast.Constant):
            yield Fault(node.lineno, "asserts a constant")
        if isinstance(node, ast.Assert) and isinstance(node.test, ast.Tuple):
            yield Fault(node.lineno, "a tuple is always true")
        if isinstance(node, Function) and node.name.startswith("test_") and not proves(node, helpers):
            yield Fault(node.lineno, f"{node.name} asserts nothing")


def proves(function: Function, helpers: set[str]) -> bool:
    """True if the test asserts, expects an error, or calls a helper that says in its name that it does, or that does so
    in the same file."""
    for node in ast.walk(function):
        if isinstance(node, ast.Assert):
            return True
        if isinstance(node, ast.Call):
            name = dotted(node.func).split(".")[-1]
            if PROVES.search(name) or name in helpers:
                return True
    return False


TESTS = Rule(
    "every test proves something",
    in_tests,
    check_tests,
    good=(
        ("tests/test_a.py", "def test_a():\n    assert f() == 1"),
        ("tests/test_a.py", "def test_a():\n    with pytest.raises(ValueError):\n        f()"),
        ("tests/test_a.py", "def test_a():\n    assert_whole(f())"),
        ("tests/test_a.py", "def no(x):\n    assert f(x) is None\ndef test_a():\n    no(1)"),
    ),
    bad=(
        ("tests/test_a.py", "def test_a():\n    f()"),
        ("tests/test_a.py", "def no(x):\n    f(x)\ndef test_a():\n    no(1)"),
        ("tests/test_a.py", "def test_a():\n    assert True"),
        ("tests/test_a.py", "def test_a():\n    assert (f() == 1, 'words')"),
        ("tests/test_a.py", "@pytest.mark.skip\ndef test_a():\n    assert f()"),
        ("tests/test_a.py", "x = pytest.importorskip('numpy')"),
    ),
)


def check_mirror(source: Source) -> Iterator[Fault]:
    """The tests of `a/domain/b.py` stand in `tests/a/domain/test_b.py`."""
    folder, _, name = source.path.rpartition("/")
    beginning = f"test_{name.removesuffix('.py')}"
    if not name.startswith("_") and not list((ROOT / "tests" / folder).glob(f"{beginning}*.py")):
        yield Fault(1, f"has no tests/{folder}/{beginning}.py")


MIRROR = Rule(
    "tests mirror the domain",
    lambda path: in_layer(path, "domain"),
    check_mirror,
    good=(("inventory/domain/__init__.py", ""),),
    bad=(("inventory/domain/a_module_nobody_tests.py", ""),),
)

RULES = (SIZES, SUPPRESSIONS, WORDS, TESTS, MIRROR)
