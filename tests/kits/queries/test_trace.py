"""What was in an engine, when, as known when: the engine of the demo shop that was rebuilt twice, and the edges."""

import re
from datetime import UTC, date, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from inventory.models import Part
from kits.models import FindingWithdrawal, Job, JobFinding
from kits.queries.trace import Gap, engine_contents, engine_story, not_recorded
from kits.services.fit import FitIn, fit
from kits.services.strip import FindIn, InspectIn, RemoveIn, find_in_engine, inspect, remove
from tests.factories.jobs import HOUR, book, checker, fit_rows, ring_job_catalogue, to_bench
from tests.factories.moves import DAY, item_of, move, plans, spot, take_back
from tests.factories.stores import NOON, PersonFactory, quarantine, shelf, stamp, stock

pytestmark = pytest.mark.django_db

# Worked example of the demo shop: an engine rebuilt on 2023-10-23 and again on 2024-11-18.
FIRST, AGAIN = datetime(2023, 10, 23, 8, tzinfo=UTC), datetime(2024, 11, 18, 8, tzinfo=UTC)
RINGS = [f"CYL-{n}/ring" for n in range(1, 5)]


def fit_rings(job: Job, lot: str, at: datetime) -> None:
    ring = item_of(Part.objects.get(number="RING"), lot=lot)
    fit(
        actor=PersonFactory(username=f"fitter of {job.number}"),
        stamp=stamp(at),
        job=job.number,
        fittings=[FitIn(position, ring.pk) for position in RINGS],
        checker=checker(),
    )


def rebuilt_twice() -> tuple[Job, Job]:
    """Through the real services: booked, held, picked, handed over, fitted; then opened again for another lot."""
    ring_job_catalogue()
    ring = Part.objects.get(number="RING")
    stock(ring, 70, lot="SB-2302", at=FIRST - 60 * DAY)
    first = book("J1065", at=FIRST)
    to_bench(first, FIRST + HOUR)
    fit_rings(first, "SB-2302", FIRST + 4 * HOUR)
    stock(ring, 60, lot="SB-2402", at=AGAIN - 20 * DAY)
    again = book("J1156", at=AGAIN)
    claims = quarantine("claim shelf").code
    remove(
        actor=PersonFactory(username="ines"),
        stamp=stamp(AGAIN + HOUR),
        job="J1156",
        removals=[RemoveIn(position, to=claims) for position in RINGS],
    )
    to_bench(again, AGAIN + 2 * HOUR, {"RING": ["SB-2402"]})
    fit_rings(again, "SB-2402", AGAIN + 5 * HOUR)
    return first, again


def held_lots(engine, **when) -> list[tuple[str, str]]:
    return [(one.position, one.lot) for one in engine_contents(engine, **when)]


def test_two_layers_the_first_lot_until_the_rework_and_the_second_since():
    first, again = rebuilt_twice()
    story = engine_story(first.engine)
    assert [(layer.job, layer.since, layer.until) for layer in story.layers] == [
        ("J1065", FIRST + 4 * HOUR, AGAIN + HOUR),
        ("J1156", AGAIN + 5 * HOUR, None),
    ]
    assert [[(row.position, row.lot) for row in layer.rows] for layer in story.layers] == [
        [(position, "SB-2302") for position in RINGS],
        [(position, "SB-2402") for position in RINGS],
    ]
    assert story.first_built == FIRST + 4 * HOUR
    assert held_lots(first.engine, on=story.first_built) == [(position, "SB-2302") for position in RINGS]
    assert held_lots(first.engine, on=date(2024, 11, 17)) == [(position, "SB-2302") for position in RINGS]
    assert held_lots(first.engine, on=date(2024, 11, 18)) == [(position, "SB-2402") for position in RINGS]
    assert held_lots(first.engine) == [(position, "SB-2402") for position in RINGS]
    assert held_lots(first.engine, on=AGAIN + 2 * HOUR) == []
    assert held_lots(first.engine, on=date(2023, 10, 22)) == []


def test_a_row_says_since_when_who_fitted_who_checked_on_which_job():
    first, _ = rebuilt_twice()
    one = engine_contents(first.engine)[0]
    assert (one.position, one.part, one.name, one.lot, one.amount) == ("CYL-1/ring", "RING", "liner ring", "SB-2402", 1)
    assert (one.since, one.recorded, one.kind) == (AGAIN + 5 * HOUR, AGAIN + 5 * HOUR, "fit")
    assert (one.job, one.fitter, one.checker, one.reused, one.found) == (
        "J1156",
        "fitter of J1156",
        "edda",
        False,
        False,
    )


def test_the_story_in_order_with_who_and_why():
    first, _ = rebuilt_twice()
    events = engine_story(first.engine).events
    assert [(event.what, event.job) for event in events if not event.position.endswith("/ring")] == [
        ("booked", "J1065"),
        *[("finding", "J1065")] * 4,
        ("booked", "J1156"),
        *[("finding", "J1156")] * 4,
    ]
    assert [(event.what, event.by, event.checker, event.lot) for event in events if event.position == "CYL-2/ring"] == [
        ("fitted", "fitter of J1065", "edda", "SB-2302"),
        ("removed", "ines", "", "SB-2302"),
        ("fitted", "fitter of J1156", "edda", "SB-2402"),
    ]
    assert [event.occurred_at for event in events] == sorted(event.occurred_at for event in events)
    assert events[0].said == "coolant in oil"


def small_job(cylinders: int = 4) -> tuple[Job, Part]:
    ring_job_catalogue()
    ring = Part.objects.get(number="RING")
    stock(ring, 40, lot="A", at=NOON - DAY)
    stock(ring, 40, lot="B", at=NOON - DAY)
    return book("J1", cylinders=cylinders), ring


def test_a_correction_recorded_later_changes_what_is_known_now_and_not_what_was_known_then():
    job, ring = small_job()
    a, b, home = item_of(ring, lot="A"), item_of(ring, lot="B"), spot(shelf())
    wrong = fit_rows(job, (a, home, "CYL-1/ring"), at=NOON + DAY)
    take_back(wrong, NOON + 40 * DAY, "the other bag")
    right = fit_rows(job, (b, home, "CYL-1/ring"), at=NOON + DAY, recorded_at=NOON + 41 * DAY)
    engine, fitted_on = job.engine, (NOON + DAY).date()
    assert held_lots(engine) == [("CYL-1/ring", "B")]
    assert held_lots(engine, on=fitted_on) == [("CYL-1/ring", "B")]
    assert held_lots(engine, on=fitted_on, known=(NOON + 39 * DAY).date()) == [("CYL-1/ring", "A")]
    assert held_lots(engine, known=(NOON + 39 * DAY).date()) == [("CYL-1/ring", "A")]
    assert held_lots(engine, on=fitted_on, known=(NOON + 40 * DAY).date()) == []
    assert held_lots(engine, on=fitted_on, known=(NOON + 41 * DAY).date()) == [("CYL-1/ring", "B")]
    assert held_lots(engine, on=NOON.date()) == []
    content = engine_contents(engine)[0]
    assert (content.since, content.recorded, content.act_id) == (NOON + DAY, NOON + 41 * DAY, right.act_id)
    story = engine_story(engine)
    assert [(event.lot, event.corrected_by is None) for event in story.events if event.what == "fitted"] == [
        ("A", False),
        ("B", True),
    ]
    assert [[row.lot for row in layer.rows] for layer in story.layers] == [["B"]]


def test_a_removal_that_was_taken_back_leaves_the_part_in_since_it_was_fitted():
    job, ring = small_job()
    a, home = item_of(ring, lot="A"), spot(shelf())
    fit_rows(job, (a, home, "CYL-1/ring"), at=NOON + DAY)
    out = move((a, 1, spot(job.engine.place, "CYL-1/ring"), spot(quarantine())), kind="remove", at=NOON + 5 * DAY)
    take_back(out, NOON + 9 * DAY)
    assert [one.since for one in engine_contents(job.engine)] == [NOON + DAY]
    assert [one.since for one in engine_contents(job.engine, on=NOON + 6 * DAY)] == [NOON + DAY]
    assert engine_contents(job.engine, on=NOON + 6 * DAY, known=NOON + 8 * DAY) == ()
    assert [row.until for layer in engine_story(job.engine).layers for row in layer.rows] == [None]


def test_a_part_that_went_out_and_came_back_is_there_since_it_came_back():
    job, ring = small_job()
    a, home, bench = item_of(ring, lot="A"), spot(shelf()), spot(job.bench)
    place = spot(job.engine.place, "CYL-1/ring")
    fit_rows(job, (a, home, "CYL-1/ring"), at=NOON + DAY)
    move((a, 1, place, bench), kind="remove", at=NOON + 2 * DAY)
    fit_rows(job, (a, bench, "CYL-1/ring"), at=NOON + 3 * DAY, reused=True)
    assert [(one.since, one.reused) for one in engine_contents(job.engine)] == [(NOON + 3 * DAY, True)]
    assert engine_contents(job.engine, on=NOON + 4 * DAY) == engine_contents(job.engine)
    assert [(one.since, one.reused) for one in engine_contents(job.engine, on=NOON + DAY)] == [(NOON + DAY, False)]


def test_what_was_found_in_the_engine_is_a_layer_of_its_own_and_reuse_is_said():
    job, ring = small_job()
    find_in_engine(
        actor=PersonFactory(username="jonah"),
        stamp=stamp(NOON + HOUR),
        job="J1",
        finds=[FindIn("CYL-1/ring", "RING", condition="hard"), FindIn("CYL-2/ring", "RING", lot="OLD")],
    )
    found = engine_contents(job.engine)
    assert [(one.position, one.lot, one.lot_unknown, one.found, one.job) for one in found] == [
        ("CYL-1/ring", "", True, True, "J1"),
        ("CYL-2/ring", "OLD", False, True, "J1"),
    ]
    remove(
        actor=PersonFactory(),
        stamp=stamp(NOON + 2 * HOUR),
        job="J1",
        removals=[RemoveIn("CYL-1/ring"), RemoveIn("CYL-2/ring")],
    )
    old = item_of(ring, lot="OLD")
    inspect(
        actor=PersonFactory(), stamp=stamp(NOON + 3 * HOUR), job="J1",
        inspections=[InspectIn("CYL-2/ring", "no set", "no set", True, old.pk)],
    )  # fmt: skip
    fit_rows(job, (old, spot(job.bench), "CYL-2/ring"), at=NOON + 4 * HOUR, reused=True)
    story = engine_story(job.engine)
    assert [(layer.job, [(row.position, row.lot, row.reused) for row in layer.rows]) for layer in story.layers] == [
        ("", [("CYL-1/ring", "", False), ("CYL-2/ring", "OLD", False)]),
        ("J1", [("CYL-2/ring", "OLD", True)]),
    ]
    assert story.first_built == NOON + 4 * HOUR
    assert [(event.what, event.position, event.said) for event in story.events[5:]] == [
        ("found in engine", "CYL-1/ring", "hard, found, not known"),
        ("found in engine", "CYL-2/ring", ""),
        ("removed", "CYL-1/ring", ""),
        ("removed", "CYL-2/ring", ""),
        ("inspected", "CYL-2/ring", "no set against no set: good"),
        ("fitted again", "CYL-2/ring", ""),
    ]


def test_gaps_are_named_in_map_order_and_told_from_positions_that_were_emptied():
    job, ring = small_job()
    a, home = item_of(ring, lot="A"), spot(shelf())
    fit_rows(job, (a, home, "CYL-1/ring"), (a, home, "CYL-3/ring"), at=NOON + DAY)
    move((a, 1, spot(job.engine.place, "CYL-3/ring"), spot(quarantine())), at=NOON + 2 * DAY)
    gaps = not_recorded(job.engine)
    # The small family has 83 use positions; one is filled.
    assert (len(gaps), gaps[0], gaps[0].said) == (82, Gap("CYL-1/set", False), "not recorded")
    assert [gap for gap in gaps if gap.removed] == [Gap("CYL-3/ring", True)]
    assert Gap("CYL-3/ring", True).said == "removed, nothing fitted since"
    assert "CYL-3/ring" not in {gap.position for gap in not_recorded(job.engine, on=NOON + DAY)}
    assert Gap("CYL-1/ring", False) in not_recorded(job.engine, on=NOON)


def test_contents_come_in_map_order_and_what_the_map_does_not_have_comes_last():
    job, ring = small_job()
    a, home = item_of(ring, lot="A"), spot(shelf())
    names = ["SUMP/washer", "A-OLD/place", "CYL-2/ring", "HEAD-LEFT/bolt-02", "CYL-2/set", "CYL-1/shim"]
    fit_rows(job, *[(a, home, name) for name in names], at=NOON + DAY)
    assert [one.position for one in engine_contents(job.engine)] == [
        "CYL-1/shim", "CYL-2/set", "CYL-2/ring", "HEAD-LEFT/bolt-02", "SUMP/washer", "A-OLD/place",
    ]  # fmt: skip


def test_a_finding_that_was_withdrawn_stays_in_the_story():
    job, ring = small_job(cylinders=1)
    finding = JobFinding.objects.get(job=job)
    act = move((item_of(ring, lot="A"), 1, spot(shelf()), spot(quarantine())), kind="withdraw", at=NOON + DAY)
    FindingWithdrawal.objects.create(finding=finding, act_id=act.act_id, reason="wrong cylinder")
    assert [(event.what, event.position, event.why) for event in engine_story(job.engine).events] == [
        ("booked", "", ""),
        ("finding", "CYL-1", ""),
        ("finding withdrawn", "CYL-1", "wrong cylinder"),
    ]


def test_another_engine_is_another_engine():
    job, ring = small_job()
    other = book("J2", engine="T4-00212")
    a, home = item_of(ring, lot="A"), spot(shelf())
    fit_rows(other, (a, home, "CYL-1/ring"), at=NOON + DAY)
    assert engine_contents(job.engine) == ()
    assert engine_story(job.engine).layers == ()
    assert engine_story(job.engine).first_built is None
    assert {event.job for event in engine_story(job.engine).events} == {"J1"}
    assert len(engine_contents(other.engine)) == 1


@pytest.mark.parametrize("rings", [1, 3])
def test_the_queries_do_not_grow_with_the_answer(rings, django_assert_num_queries):
    job, ring = small_job(cylinders=rings)
    a, home = item_of(ring, lot="A"), spot(shelf())
    fit_rows(job, *[(a, home, position) for position in RINGS[:rings]], at=NOON + DAY)
    engine = type(job.engine).objects.select_related("family").get(pk=job.engine_id)
    engine_contents(engine)  # the family's document is read once by each process
    with django_assert_num_queries(5):
        assert len(engine_contents(engine)) == rings
    with django_assert_num_queries(6):
        assert len(engine_contents(engine, on=NOON + DAY, known=NOON + DAY)) == rings
    with django_assert_num_queries(4):
        assert len(not_recorded(engine)) == 83 - rings
    with django_assert_num_queries(18):
        assert len(engine_story(engine).layers[0].rows) == rings


def test_every_query_starts_at_the_engine_and_reads_no_table_through():
    """However many acts, movements and items the shop has: the plans name an index for each of the large tables."""
    job, ring = small_job()
    a, home = item_of(ring, lot="A"), spot(shelf())
    other = book("J2", engine="T4-00212")
    for number in range(1, 5):
        fit_rows(other, (a, home, f"CYL-{number}/ring"), at=NOON + number * DAY)
    fit_rows(job, (a, home, "CYL-1/ring"), at=NOON + DAY)
    now, then = plans(lambda: engine_contents(job.engine)), plans(lambda: engine_contents(job.engine, on=NOON + DAY))
    assert "balance_in_place" in now
    for said in (now, then):
        assert re.search(r"inventory_movement_(to_spot|from_spot)_id", said)
        assert not re.search(r"inventory_movement_(item|act)_id", said)
        assert not re.search(r"SCAN (a|b|m|f|inventory_\w+)\b|Seq Scan", said)


class ThroughTheBooks(TestCase):
    """Random fitting, removing and taking back on three positions, asked for every day and as known on every day."""

    @settings(max_examples=8)
    @given(
        st.lists(
            st.tuples(st.integers(0, 2), st.sampled_from("AB"), st.integers(0, 4), st.integers(0, 2), st.booleans()),
            min_size=1,
            max_size=8,
        )
    )
    def test_contents_say_what_a_naive_replay_says(self, steps):
        job, ring = small_job()
        home, acts = spot(shelf()), []
        there: dict[str, str] = {}
        now = 0
        for position, lot, later, late, undo in steps:
            now += later + 1
            name = RINGS[position]
            at, recorded = NOON + now * DAY, NOON + (now + late) * DAY
            sitting = there.pop(name, None)
            if sitting:
                leg = (item_of(ring, lot=sitting), 1, spot(job.engine.place, name), spot(quarantine()))
                done = move(leg, kind="remove", at=at, recorded_at=recorded)
                entry = [at, recorded, name, sitting, -1, None]
            else:
                done = fit_rows(job, (item_of(ring, lot=lot), home, name), at=at, recorded_at=recorded)
                there[name] = lot
                entry = [at, recorded, name, lot, 1, None]
            acts.append(entry)
            if undo:
                entry[5] = recorded + DAY
                take_back(done, entry[5])
                there.pop(name, None)
                if sitting:
                    there[name] = sitting
        last = now + 6
        for on in range(0, last, 2):
            for known in (on, on + 3, last):
                day, limit = NOON + on * DAY, NOON + known * DAY
                expected: dict[tuple[str, str], int] = {}
                for at, recorded, name, lot, amount, undone in acts:
                    if at <= day and recorded <= limit and not (undone and undone <= limit):
                        expected[name, lot] = expected.get((name, lot), 0) + amount
                got = {(one.position, one.lot): one.amount for one in engine_contents(job.engine, on=day, known=limit)}
                assert got == {key: amount for key, amount in expected.items() if amount > 0}
        assert engine_contents(job.engine) == engine_contents(job.engine, on=NOON + last * DAY)
        rows = [row for layer in engine_story(job.engine).layers for row in layer.rows]
        for name in RINGS:
            mine = sorted((row for row in rows if row.position == name), key=lambda row: row.since)
            for before, after in zip(mine, mine[1:], strict=False):
                assert before.until is not None and before.until <= after.since
