"""One thing with a serial, and several people who say that they have it; one job, one tool, one act, and several who want it."""

import pytest

from inventory.models import Act, Balance, Serial
from inventory.services import things
from inventory.services.correct import correct
from inventory.services.count import CountLine, count
from inventory.services.receive import ReceiveLine, receive
from inventory.services.scrap import scrap
from kits.models import Engine, Job, ToolLoan
from kits.services.jobs import book_job
from kits.services.pick_kit import hand_over
from kits.services.strip import FindIn, RemoveIn, find_in_engine, remove
from tests.concurrency.races import PATIENCE_S, Halfway, answers, damaged, meet_before, no_locks, refusals, retries_seen
from tests.databases import together
from tests.factories import workshop
from tests.factories.stores import PersonFactory, SupplierFactory, shelf, site, stamp, technician

CLIENTS = 8


def arrivals(places: list[str], serial: str = "S-1"):
    """People who receive the same set, each at a place."""
    supplier, lines = SupplierFactory().code, [ReceiveLine("SET", 1, serial=serial)]

    def one(person, code):
        return lambda: receive(actor=person, stamp=stamp(), supplier=supplier, place=code, lines=lines)

    return [one(PersonFactory(), code) for code in places]


def seen_and_gone(serial: str = "S-1") -> None:
    """A set that the books know and that stands nowhere any more."""
    workshop.sets(serial)
    it = workshop.item("SET", f"serial={serial}")
    scrap(
        actor=PersonFactory(),
        stamp=stamp(),
        place="R1",
        item_id=it.pk,
        amount=1,
        reason="sent away",
        who_pays="maker",
        no_photo="none",
    )


def stands() -> list[int]:
    """Amounts of sets in real places."""
    return list(Balance.objects.filter(part__number="SET", real=True, amount__gt=0).values_list("amount", flat=True))


@pytest.mark.parametrize("known", [False, True], ids=["never seen", "known and gone"])
def test_one_of_eight_receives_it_and_the_others_are_told_where_it_is(shop_database, monkeypatch, known):
    if known:
        seen_and_gone()
    calls = arrivals(["R1", "R2"] * 4)
    seen = retries_seen(monkeypatch)
    ended = together(calls)
    assert refusals(ended) == ["serial-elsewhere"] * 7
    assert stands() == [1]
    assert Serial.objects.count() == 1
    assert dict(seen) == {}


@pytest.mark.parametrize("known", [False, True], ids=["never seen", "known and gone"])
def test_one_of_two_sites_receives_it(shop_database, known):
    if known:
        seen_and_gone()
    shelf("F1", at=site("FAR"))
    calls = arrivals(["R1", "F1"] * 4)
    ended = together(calls)
    assert refusals(ended) == ["serial-elsewhere"] * 7
    assert stands() == [1]


@pytest.mark.damages_books
def test_control_without_locks_all_of_them_receive_it(shop_database, monkeypatch):
    seen_and_gone()
    calls = arrivals(["R1", "R2"] * 4)
    no_locks(monkeypatch)
    meet_before(monkeypatch, "inventory.services.post._take_out", CLIENTS)
    assert damaged(together(calls)) == 7


def finders():
    """Three who count a lost set at their shelves."""
    seen_and_gone()
    shelf("F1", at=site("FAR"))
    lines = [CountLine(1, part="SET", serial="S-1")]

    def counted(person, code):
        return lambda: count(
            actor=person, stamp=stamp(), place=code, lines=lines, reason="found", looked_at=["matched set"]
        )

    return [counted(PersonFactory(), code) for code in ("R1", "F1", "R2")]


def test_a_lost_set_is_found_by_one_of_three_who_count(shop_database):
    ended = together(finders())
    assert refusals(ended) == ["serial-elsewhere"] * 2
    assert stands() == [1]


def in_engines():
    """Four who find the same set, which the books know, in four engines."""
    seen_and_gone()
    numbers = [workshop.job(f"J{at}", "SETS").number for at in range(4)]

    def finds(person, number):
        found = [FindIn("CYL-1/set", "SET", serial="S-1")]
        return lambda: find_in_engine(actor=person, stamp=stamp(), job=number, finds=found)

    return [finds(PersonFactory(), number) for number in numbers]


def test_a_set_is_found_in_one_of_four_engines(shop_database):
    ended = together(in_engines())
    assert refusals(ended) == ["serial-elsewhere"] * 3
    assert stands() == [1]


@pytest.mark.damages_books
@pytest.mark.parametrize(("who", "people"), [(finders, 3), (in_engines, 4)], ids=["counted", "in engines"])
def test_control_without_locks_all_of_them_find_it(shop_database, monkeypatch, who, people):
    calls = who()
    no_locks(monkeypatch)
    meet_before(monkeypatch, "inventory.services.post._take_out", people)
    assert damaged(together(calls)) == people - 1


def takers():
    """Two jobs on one engine that take the same set out of it."""
    first = workshop.job("J1", "SETS", engine="P2-0009")
    workshop.job("J2", "RINGS", engine="P2-0009")
    found = [FindIn("CYL-1/set", "SET", serial="S-1")]
    find_in_engine(actor=PersonFactory(), stamp=stamp(), job=first.number, finds=found)

    def takes(person, number):
        return lambda: remove(actor=person, stamp=stamp(), job=number, removals=[RemoveIn("CYL-1/set")])

    return [takes(PersonFactory(), number) for number in ("J1", "J2")]


def test_two_jobs_on_one_engine_take_the_same_part_out_once(shop_database):
    ended = together(takers())
    assert refusals(ended) in (["position-empty"], ["not-there"])
    assert stands() == [1]


@pytest.mark.damages_books
def test_control_without_locks_it_is_taken_out_twice(shop_database, monkeypatch):
    first, second = takers()
    no_locks(monkeypatch)
    halfway = Halfway(monkeypatch, "inventory.services.post._update", PATIENCE_S)
    ended = halfway.race(first, second)
    assert halfway.overtaken
    assert damaged(ended) == 1


def two_at_one_position():
    """Two jobs on one engine that each find another set at one position."""
    for number in ("J1", "J2"):
        job = workshop.job(number, "SETS", engine="P2-0009")
    # On PostgreSQL whoever makes the same spot waits for the other: that is no lock of ours.
    things.spot(job.engine.place, "CYL-1/set")

    def finds(person, number, serial):
        found = [FindIn("CYL-1/set", "SET", serial=serial)]
        return lambda: find_in_engine(actor=person, stamp=stamp(), job=number, finds=found)

    return finds(PersonFactory(), "J1", "S-1"), finds(PersonFactory(), "J2", "S-2")


def test_two_jobs_on_one_engine_find_one_part_at_a_position(shop_database):
    ended = together(two_at_one_position())
    assert refusals(ended) == ["position-taken"]
    assert stands() == [1]


@pytest.mark.damages_books
def test_control_without_locks_two_parts_sit_at_one_position(shop_database, monkeypatch):
    first, second = two_at_one_position()
    no_locks(monkeypatch)
    halfway = Halfway(monkeypatch, "inventory.services.post._take_out", PATIENCE_S)
    ended = halfway.race(first, second)
    assert halfway.overtaken
    assert refusals(ended) == []
    at = Balance.objects.filter(part__number="SET", real=True, amount__gt=0)
    assert list(at.values_list("spot__name", flat=True)) == ["CYL-1/set"] * 2


def bookers(numbers, engine, new_engine):
    """People who each book a job of a number on one engine."""
    facts = {"site": site().code, "operations": ["SETS"], "strip_on": workshop.FIT_ON, "fit_on": workshop.FIT_ON}
    facts |= {"engine_number": engine, "new_engine": new_engine}

    def books(person, number):
        return lambda: book_job(actor=person, stamp=stamp(), number=number, **facts)

    return [books(PersonFactory(), number) for number in numbers]


def test_one_job_of_a_number_is_booked(shop_database):
    workshop.job("J0", "SETS", engine="P2-0001")
    ended = together(bookers(["J1"] * CLIENTS, "P2-0002", True))
    assert refusals(ended) == ["job-exists"] * 7
    assert Job.objects.filter(number="J1").count() == 1


@pytest.mark.damages_books
def test_control_without_locks_all_of_them_book_it(shop_database, monkeypatch):
    workshop.job("J0", "SETS", engine="P2-0001")
    calls = bookers(["J1"] * CLIENTS, "P2-0001", False)
    no_locks(monkeypatch)
    meet_before(monkeypatch, "kits.services.booking.site_of", CLIENTS)
    assert damaged(together(calls)) == CLIENTS - 1


def test_a_new_engine_that_four_jobs_bring_is_entered_once(shop_database):
    workshop.job("J", "SETS")
    ended = together(bookers([f"J{at}" for at in range(4)], "P2-0777", True))
    assert refusals(ended) == []
    assert Engine.objects.filter(number="P2-0777").count() == 1
    assert Job.objects.filter(engine__number="P2-0777").count() == 4


@pytest.mark.damages_books
def test_control_without_locks_the_new_engine_is_entered_twice(shop_database, monkeypatch):
    workshop.job("J", "SETS")
    first, second = bookers(["J1", "J2"], "P2-0777", True)
    no_locks(monkeypatch)
    halfway = Halfway(monkeypatch, "inventory.services.things.make_place", PATIENCE_S)
    ended = halfway.race(first, second)
    assert halfway.overtaken
    assert damaged(ended) == 1


def benches():
    """Two whose lists name the one tool, each at a bench."""
    workshop.sets("S-1", "S-2")
    lists = []
    for number in ("J1", "J2"):
        workshop.job(number, "SETS")
        lists.append(workshop.picked_for(number))

    def hands(giver, taker, listed):
        return lambda: hand_over(actor=giver, stamp=stamp(), pick_list=listed, received_by=taker)

    return [hands(PersonFactory(), technician(), listed) for listed in lists]


def test_the_one_tool_is_lent_to_one_of_two_benches(shop_database):
    ended = together(benches())
    assert refusals(ended) == []
    assert sorted(done.body["tools"] for done in answers(ended)) == [[], [workshop.TOOL]]
    assert ToolLoan.objects.count() == 1


@pytest.mark.damages_books
def test_control_without_locks_the_one_tool_is_lent_twice(shop_database, monkeypatch):
    first, second = benches()
    no_locks(monkeypatch)
    halfway = Halfway(monkeypatch, "kits.services.pick_kit._hand_out", PATIENCE_S)
    ended = halfway.race(first, second)
    assert halfway.overtaken
    assert refusals(ended) == []
    assert list(ToolLoan.objects.filter(back__isnull=True).values_list("tool", flat=True)) == [workshop.TOOL] * 2


def correctors():
    """Eight who take the same count back; what was counted, and its act."""
    ring = workshop.rings(4)
    lines = [CountLine(7, item_id=ring.pk)]
    counted = count(actor=PersonFactory(), stamp=stamp(), place="R1", lines=lines, reason="counted over")

    def takes_back(person):
        return lambda: correct(actor=person, stamp=stamp(), act_id=counted.act_id, reason="miscounted")

    return ring, counted.act_id, [takes_back(PersonFactory()) for _ in range(CLIENTS)]


def test_an_act_is_taken_back_once(shop_database):
    ring, act_id, calls = correctors()
    ended = together(calls)
    assert refusals(ended) == ["corrected-already"] * 7
    assert Balance.objects.get(item=ring, place__code="R1").amount == 4
    assert Act.objects.filter(corrects=act_id).count() == 1


@pytest.mark.damages_books
def test_control_without_locks_or_a_look_at_the_others_it_is_taken_back_by_all(shop_database, monkeypatch):
    """What stops seven of eight then is the database's own guard, not a rule that says who was first."""
    _, act_id, calls = correctors()
    no_locks(monkeypatch)
    monkeypatch.setattr("inventory.services.correct._another", lambda act_id, stamp: False)
    meet_before(monkeypatch, "inventory.services.run._header", CLIENTS)
    ended = together(calls)
    assert damaged(ended) == CLIENTS - 1
    assert Act.objects.filter(corrects=act_id).count() == 1
