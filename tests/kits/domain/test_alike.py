"""Kinds that are not mixed on one engine or one bank."""

import pytest

from kits.domain.alike import NoMix, mixed
from tests.factories.engines import family

MAP = family().map
#: B and C may be mixed among themselves, A with neither (worked example of the demo shop: need 10, stock A 6, B 7, C 5).
KINDS = (frozenset({"A"}), frozenset({"B", "C"}))
LEFT = MAP.expand("HEAD-LEFT/bolt-*")
RIGHT = MAP.expand("HEAD-RIGHT/bolt-*")


def bolts(places, *runs):
    parts = [part for part, count in runs for _ in range(count)]
    return dict(zip(places, parts, strict=True))


@pytest.mark.parametrize(
    ("runs", "conflicts"),
    [
        ((("B", 7), ("C", 3)), []),
        ((("B", 10),), []),
        ((("A", 10),), []),
        ((("A", 6), ("B", 4)), [("HEAD-LEFT/bolt-07", "ENGINE: 6 × A; 4 × B; one kind")]),
        ((("A", 1), ("B", 5), ("C", 4)), [("HEAD-LEFT/bolt-01", "ENGINE: 1 × A; 9 × B/C; one kind")]),
    ],
)
def test_one_kind_on_an_engine(runs, conflicts):
    found = mixed(MAP, bolts(LEFT, *runs), [NoMix(KINDS, "engine", "one kind")])
    assert [(one.position, one.detail) for one in found] == conflicts
    assert all(one.kind == "not-alike" and one.needs_person for one in found)


def test_one_kind_on_each_bank():
    sits = bolts(LEFT, ("A", 10)) | bolts(RIGHT, ("B", 10)) | {"SUMP/washer": "WASHER"}
    assert mixed(MAP, sits, [NoMix(KINDS, "bank", "one kind")]) == ()
    (whole,) = mixed(MAP, sits, [NoMix(KINDS, "engine", "one kind")])
    assert (whole.position, whole.parts) == ("HEAD-LEFT/bolt-01", ("A", "B"))
    (right,) = mixed(MAP, sits | {"HEAD-RIGHT/bolt-04": "A"}, [NoMix(KINDS, "bank", "one kind")])
    assert (right.position, right.detail) == ("HEAD-RIGHT/bolt-04", "BANK-RIGHT: 9 × B; 1 × A; one kind")
