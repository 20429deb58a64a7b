"""Checks with a photo: read, open until seen good, and what each holds up."""

import pytest

from kits.domain.photo_checks import PhotoCheck, held_up, open_checks, read_photo_checks
from kits.domain.reading import Reader
from tests.factories.engines import family

SHELLS = {"what": "grooved half up", "at": "ROD-*/shells", "before": "ROD-*/bolt-*", "from": "page 4"}
THRUST = {"what": "thrust face to the crank", "at": "MAIN-2/shells", "before": "ROD-*/bolt-*", "from": "page 5"}


def read(*entries):
    reader = Reader()
    found = read_photo_checks({"photo_checks": list(entries)}, family().map, reader)
    return found, [(one.where, one.detail) for one in reader.problems]


def test_a_half_holds_up_its_own_bolts_and_a_washer_all_of_them():
    ((shells, thrust), problems) = read(SHELLS, THRUST)
    assert problems == []
    assert shells.holds_up("ROD-3/bolt-1") == {"ROD-3/shells"}
    assert thrust.holds_up("ROD-3/bolt-1") == {"MAIN-2/shells"}
    assert shells.holds_up("OIL/fill") == frozenset()


def test_what_was_fitted_is_open_until_it_was_seen_good():
    (shells, thrust), _ = read(SHELLS, THRUST)
    fitted = ["ROD-1/shells", "ROD-2/shells", "MAIN-2/shells", "OIL/fill"]
    seen = [("grooved half up", "ROD-2/shells"), ("another check", "ROD-1/shells")]
    missing = open_checks([shells, thrust], fitted, seen)
    assert missing == [(shells, "ROD-1/shells"), (thrust, "MAIN-2/shells")]
    assert held_up(missing, "ROD-2/bolt-1") == [(thrust, "MAIN-2/shells")]
    assert held_up(missing, "ROD-1/bolt-2") == missing


def test_a_check_without_a_step_only_keeps_the_job_open():
    ((check,), problems) = read({"what": "x", "at": "ROD-1/shells", "from": "page 1"})
    assert (problems, check) == ([], PhotoCheck("x", frozenset({"ROD-1/shells"}), frozenset(), "page 1"))
    assert held_up([(check, "ROD-1/shells")], "ROD-1/bolt-1") == []


@pytest.mark.parametrize(
    "wrong",
    [
        [SHELLS, SHELLS],
        [SHELLS | {"at": "ROD-*/shell"}],
        [SHELLS | {"before": []}],
        [SHELLS | {"before": "ROD-1/shells"}],
        [SHELLS | {"from": None}],
        [SHELLS | {"colour": "red"}],
    ],
)
def test_what_makes_no_sense_is_named_where_it_stands(wrong):
    problems = read(*wrong)[1]
    assert {where for where, _ in problems} == {f"photo_checks {len(wrong)}"}
