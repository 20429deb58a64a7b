"""Typed reading that collects every problem."""

import pytest

from inventory.domain.errors import DomainError
from kits.domain.reading import LONGEST_TEXT, Reader


def details(reader):
    return [(problem.where, problem.detail) for problem in reader.problems]


def test_good_values_leave_no_problem():
    reader = Reader()
    document = reader.mapping({"a": "x", "n": 3, "y": True, "l": ["p", "q"]}, "d", frozenset("anyl"))
    assert (reader.text(document, "a", "d"), reader.whole(document, "n", "d", low=1, high=3)) == ("x", 3)
    assert (reader.yes(document, "y", "d"), reader.texts(document, "l", "d")) == (True, ("p", "q"))
    assert (reader.text(document, "b", "d", "-"), reader.whole(document, "m", "d", low=1, high=3, default=2)) == (
        "-",
        2,
    )
    assert (reader.yes(document, "z", "d"), reader.listing(document, "k", "d")) == (False, [])
    assert reader.one_of(document, "a", "d", ("x", "z")) == "x"
    reader.refuse("family-unusable", "never")
    assert reader.problems == []


@pytest.mark.parametrize(
    ("read", "detail"),
    [
        (lambda r: r.text({"a": ""}, "a", "d"), "'a' must be a text that is not empty"),
        (lambda r: r.text({}, "a", "d"), "'a' must be a text that is not empty"),
        (
            lambda r: r.text({"a": "x" * (LONGEST_TEXT + 1)}, "a", "d"),
            "'a' is longer than 2000 characters or holds a NUL",
        ),
        (lambda r: r.text({"a": "\x00"}, "a", "d"), "'a' is longer than 2000 characters or holds a NUL"),
        (lambda r: r.one_of({"a": "z"}, "a", "d", ("x", "y")), "'a' is 'z', must be one of x, y"),
        (lambda r: r.whole({"a": True}, "a", "d", low=0, high=2), "'a' must be a whole number from 0 to 2"),
        (lambda r: r.whole({"a": 3}, "a", "d", low=0, high=2), "'a' must be a whole number from 0 to 2"),
        (lambda r: r.yes({"a": 1}, "a", "d"), "'a' must be true or false"),
        (lambda r: r.listing({"a": "x"}, "a", "d"), "'a' must be a list"),
        (lambda r: r.listing({}, "a", "d", required=True), "'a' must be a list with one entry at least"),
        (lambda r: r.texts({"a": ["x", "x"]}, "a", "d"), "'a' holds 'x' twice"),
        (lambda r: r.texts({"a": ["x", 1]}, "a", "d"), "'a' must hold texts that are not empty"),
        (lambda r: r.mapping([], "d", frozenset()), "must be an object with named values"),
        (lambda r: r.mapping({"x": 1}, "d", frozenset("a")), "unknown key 'x'"),
    ],
)
def test_a_bad_value_is_one_problem(read, detail):
    reader = Reader()
    read(reader)
    assert details(reader) == [("d", detail)]


def test_a_refusal_names_every_problem_once():
    reader = Reader()
    for _ in range(2):
        reader.problem("line 1", "first")
        reader.problem("line 2", "second")
    with pytest.raises(DomainError) as caught:
        reader.refuse("procedure-unusable", "No")
    assert caught.value.message == "No: line 1: first; line 2: second"
    assert caught.value.values == {
        "problems": [{"where": "line 1", "detail": "first"}, {"where": "line 2", "detail": "second"}]
    }
