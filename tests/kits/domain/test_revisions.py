"""Whether a job is asked about a newer revision, and what a maker's stop forbids."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from kits.domain.explosion import explode
from kits.domain.revisions import Newer, parts_at, stopped_keys
from tests.factories.engines import family, findings, number, operations

FAMILY = family()
OPERATIONS = operations(FAMILY)
NEWER = Newer("T2", "T2", has=1, newest=3, since=datetime(2025, 1, 1, tzinfo=UTC), by="maren")


@pytest.mark.parametrize(
    ("more", "asks", "stopped"),
    [
        ({}, True, False),
        ({"kept": 2}, True, False),
        ({"kept": 3}, False, False),
        # What was forced before the job took its own revision concerns it no more.
        ({"kept": 3, "forced": 1}, False, False),
        ({"kept": 3, "forced": 2}, True, True),
        ({"forced": 3}, True, True),
    ],
)
def test_a_job_is_asked_until_the_newest_is_answered_and_a_stop_always_asks(more, asks, stopped):
    one = replace(NEWER, **more)
    assert (one.asks, one.stopped) == (asks, stopped)
    assert one.sentence().startswith("STOP") == stopped


def keys(*stops, said=("chosen@CYL-1", "valve-out@VALVE-1")):
    its = [OPERATIONS["T1"], OPERATIONS["T2"]]
    explosion = explode(FAMILY, its, findings(*said), number("T4-00211"))
    return explosion, stopped_keys(explosion, stops)


def test_a_stop_forbids_what_the_procedure_brings_alone_or_with_others():
    stop = replace(NEWER, forced=3)
    explosion, found = keys(stop)
    assert {key[0].partition("/")[0] for key in found} == {"VALVE-1", "HEAD-LEFT", "COVER-LEFT"}
    assert set(found.values()) == {stop}
    assert parts_at(explosion, [("VALVE-1/stem-seal", 1)]) == {"STEM-SEAL"}
    assert keys(NEWER)[1] == {}


def test_a_stop_of_the_family_forbids_everything():
    stop = replace(NEWER, procedure="", code="Testbed-4", forced=2)
    explosion, found = keys(stop, replace(NEWER, forced=3))
    assert found == dict.fromkeys(explosion.requirements, stop)
