"""Storage life by compound under both rule sets, and its one extension. Years: seal suppliers' pages quoting the standards."""

from datetime import UTC, date, datetime, time, timedelta

import pytest

from inventory.models import LifeExtension, Lot, Part, ShopSetting
from inventory.services.catalogue import change_part
from inventory.services.claims import ReturnLine, return_to_supplier
from inventory.services.correct import correct
from inventory.services.extend_life import extend_life
from inventory.services.put_right import set_lot_dates
from inventory.services.receive import ReceiveLine, receive
from inventory.services.transfer import ReleaseLine, release_quarantine
from tests.databases import together
from tests.factories.acts import done, ends, held, item, refused, shorts
from tests.factories.stores import (
    NOON,
    PartFactory,
    PersonFactory,
    SupplierFactory,
    cart,
    quarantine,
    shelf,
    stamp,
    stock,
)

GOOD = {"sample_pieces": 2, "passed": True, "found": "no set, no cracks, not tacky"}


def lot(compound="HNBR", cure_code="3Q22", **more) -> Lot:
    number = f"R-{Part.objects.count()}"
    stock(
        PartFactory(number=number, life={"by": "compound"}, compound=compound, **more),
        10,
        lot="B1",
        cure_code=cure_code,
    )
    return Lot.objects.get(part__number=number)


#: (rule set, day of the quarter that counts, compound) → last day of a lot cured 3Q22, and its rule
DAYS = [
    ("ISO2230", "strict", "HNBR", date(2029, 7, 1), "by ISO2230 group B"),
    ("ISO2230", "lenient", "HNBR", date(2029, 9, 30), "by ISO2230 group B"),
    ("ISO2230", "strict", "EPDM", date(2032, 7, 1), "by ISO2230 group C"),
    ("AS5316", "strict", "NBR", date(2037, 7, 1), "by AS5316"),
    ("AS5316", "lenient", "NBR", date(2037, 9, 30), "by AS5316"),
    ("AS5316", "strict", "FKM", None, "no limit of storage, cured 3Q22; by AS5316"),
]


@pytest.mark.django_db
@pytest.mark.parametrize(("rules", "basis", "compound", "day", "words"), DAYS)
def test_the_shops_rule_set_gives_the_day_and_the_lot_keeps_both(rules, basis, compound, day, words):
    ShopSetting.objects.create(name="rubber_rules", value=rules)
    ShopSetting.objects.create(name="shelf_life", value=basis)
    row = lot(compound)
    assert (row.expires_on, row.expiry_rule.endswith(words)) == (day, True), row.expiry_rule
    assert day is None or basis in row.expiry_rule
    # Another setting later changes nothing that was received before.
    ShopSetting.objects.filter(name="rubber_rules").update(value="ISO2230" if rules == "AS5316" else "AS5316")
    row.refresh_from_db()
    assert row.expires_on == day


@pytest.mark.django_db
def test_rubber_without_a_limit_still_needs_its_cure_date():
    ShopSetting.objects.create(name="rubber_rules", value="AS5316")
    PartFactory(number="R-1", life={"by": "compound"}, compound="FKM")
    line = [ReceiveLine("R-1", 4, lot="B1")]
    refused("undated", receive, supplier=SupplierFactory().code, place=shelf().code, lines=line)
    # What is not cured has none: PTFE is no rubber.
    PartFactory(number="R-2", life={"by": "compound"}, compound="PTFE")
    made = done(receive, supplier="maker", place="R1", lines=[ReceiveLine("R-2", 4, lot="B1")])
    assert made["lines"][0]["expires_on"] is None


@pytest.mark.django_db
def test_a_compound_of_which_the_shops_rule_set_says_nothing_is_asked():
    ShopSetting.objects.create(name="rubber_rules", value="AS5316")
    PartFactory(number="R-1", life={"by": "compound"}, compound="NR")
    line = [ReceiveLine("R-1", 4, lot="B1", cure_code="3Q22")]
    refused("compound-unknown", receive, supplier=SupplierFactory().code, place=shelf().code, lines=line)


@pytest.mark.django_db
def test_a_life_by_a_compound_that_no_rule_set_knows_is_not_entered():
    part = PartFactory(number="R-1", compound="FKM")
    change = {"number": "R-1", "version": part.version}
    error = refused(
        "compound-unknown", change_part, changes={"life": {"by": "compound"}, "compound": "green"}, **change
    )
    assert error.values["compound"] == "green"
    assert done(change_part, changes={"life": {"by": "compound"}}, **change)["version"] == 2


@pytest.mark.django_db
def test_released_from_quarantine_by_the_shops_own_day():
    ShopSetting.objects.create(name="shelf_life", value="lenient")
    PartFactory(number="R-1", life={"by": "compound"}, compound="HNBR")
    quarantine("Q1")
    lines = [ReceiveLine("R-1", 4, lot="B1")]
    done(receive, supplier=SupplierFactory().code, place=shelf().code, lines=lines, quarantine="Q1")
    lines = [ReleaseLine(item("R-1", "lot=B1").pk, 4, "Q1", "R1", cure_code="3Q22")]
    done(release_quarantine, lines=lines)
    row = Lot.objects.get()
    assert (row.expires_on, row.extension_years) == (date(2029, 9, 30), 3)


@pytest.mark.django_db
def test_once_by_a_named_inspector_counted_from_the_old_expiry():
    row, inspector = lot(), PersonFactory(username="inspector")
    body = done(extend_life, actor=inspector, lot_id=row.pk, **GOOD)
    assert (body["before"], body["expires_on"]) == ("2029-07-01", "2032-07-01")
    row.refresh_from_db()
    assert row.expires_on == date(2032, 7, 1)
    assert row.expiry_rule == (
        "7 years from 2022-07-01, the first day of cure quarter 3Q22 (strict); by ISO2230 group B; "
        "+ 3 years by inspector on 2025-01-15"
    )
    kept = LifeExtension.objects.get()
    assert (kept.lot, kept.before, kept.after, kept.sample_pieces, kept.act.actor) == (
        row,
        date(2029, 7, 1),
        date(2032, 7, 1),
        2,
        inspector,
    )
    refused("extension-used", extend_life, lot_id=row.pk, **GOOD)
    assert LifeExtension.objects.count() == 1


@pytest.mark.django_db
def test_the_years_are_those_of_the_rule_that_gave_the_expiry():
    ShopSetting.objects.create(name="rubber_rules", value="AS5316")
    row = lot()
    ShopSetting.objects.filter(name="rubber_rules").update(value="ISO2230")
    refused("extension-not-allowed", extend_life, lot_id=row.pk, **GOOD)


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("more", "code"),
    [
        ({"passed": False}, "extension-not-allowed"),
        ({"sample_pieces": 0}, "extension-unsigned"),
        ({"found": " "}, "reason-missing"),
        ({"lot_id": 10**9}, "not-found"),
    ],
)
def test_not_without_a_sample_that_passed(more, code):
    row = lot()
    refused(code, extend_life, **{"lot_id": row.pk, **GOOD, **more})
    row.refresh_from_db()
    assert (row.expires_on, LifeExtension.objects.count()) == (date(2029, 7, 1), 0)


@pytest.mark.django_db
def test_a_lot_whose_rule_has_no_extension_or_no_limit():
    PartFactory(number="P-7", life={"from": "cure", "years": 7})
    stock(Part.objects.get(number="P-7"), 4, lot="B1", cure_code="3Q22")
    refused("extension-not-allowed", extend_life, lot_id=Lot.objects.get(part__number="P-7").pk, **GOOD)
    stock(PartFactory(number="P-8"), 4, lot="B1")
    refused("extension-not-allowed", extend_life, lot_id=Lot.objects.get(part__number="P-8").pk, **GOOD)


@pytest.mark.django_db
def test_the_same_key_extends_once():
    row, key = lot(), stamp(NOON + timedelta(hours=1))
    inspector = PersonFactory()
    first = extend_life(actor=inspector, stamp=key, lot_id=row.pk, **GOOD)
    again = extend_life(actor=inspector, stamp=key, lot_id=row.pk, **GOOD)
    assert (again.body, again.replayed) == (first.body, True)
    assert LifeExtension.objects.count() == 1


def test_two_inspectors_at_once_extend_it_once(shop_database):
    row, people = lot(), [PersonFactory(), PersonFactory()]
    ended = together([lambda one=one: extend_life(actor=one, stamp=stamp(), lot_id=row.pk, **GOOD) for one in people])
    assert sorted(getattr(one.error, "code", "done") for one in ended) == ["done", "extension-used"]
    row.refresh_from_db()
    assert (row.expires_on, LifeExtension.objects.count()) == (date(2032, 7, 1), 1)


@pytest.mark.django_db
@pytest.mark.parametrize(("made_on", "ended"), [(date(2029, 7, 1), 0), (date(2029, 7, 2), 1)])
def test_taken_back_it_ends_what_was_planned_for_a_day_that_passed_unmoved(made_on, ended):
    """Good through 2029-07-01 without the extension; the planned day is over, and was inside that life."""
    row = lot()
    done(extend_life, lot_id=row.pk, **GOOD)
    promised = held(item(row.part.number, "lot=B1"), cart(), needed_on=date(2029, 6, 1))
    act = LifeExtension.objects.get().act_id
    at = datetime.combine(made_on, time(12), tzinfo=UTC)
    done(correct, act_id=act, reason="another lot was meant", stamp=stamp(at))
    assert ends() == [(promised.pk, "made impossible")] * ended
    assert shorts() == [(promised.pk, 1)] * ended


@pytest.mark.django_db
@pytest.mark.parametrize(("taken_back", "day"), [(True, date(2028, 7, 1)), (False, date(2031, 7, 1))])
def test_an_extension_that_was_taken_back_does_not_come_back_with_dates_put_right(taken_back, day):
    """Cured 3Q21: good through 2028-07-01, three years more where the extension stands; then once is all."""
    row = lot()
    done(extend_life, lot_id=row.pk, **GOOD)
    if taken_back:
        done(correct, act_id=LifeExtension.objects.get().act_id, reason="another lot was meant")
    done(set_lot_dates, lot_id=row.pk, cure_code="3Q21", reason="read again")
    row.refresh_from_db()
    assert (row.expires_on, "+ 3 years" in row.expiry_rule) == (day, not taken_back)
    if taken_back:
        assert done(extend_life, lot_id=row.pk, **GOOD)["expires_on"] == "2031-07-01"
    else:
        refused("extension-used", extend_life, lot_id=row.pk, **GOOD)


@pytest.mark.django_db
@pytest.mark.parametrize(("entered_on", "ended"), [(date(2028, 6, 17), 0), (date(2028, 6, 18), 1)])
def test_dates_put_right_end_what_was_planned_for_a_day_that_passed_unmoved(entered_on, ended):
    """Cured 3Q21: good through 2028-07-01; fourteen days are to be left, so that 17 June is the last day of fitting."""
    ShopSetting.objects.create(name="margin_days", value=14)
    row = lot()
    promised = held(item(row.part.number, "lot=B1"), cart(), needed_on=date(2028, 6, 1))
    at = datetime.combine(entered_on, time(12), tzinfo=UTC)
    done(set_lot_dates, lot_id=row.pk, cure_code="3Q21", reason="read again", stamp=stamp(at))
    row.refresh_from_db()
    assert row.expires_on == date(2028, 7, 1)
    assert ends() == [(promised.pk, "made impossible")] * ended
    assert shorts() == [(promised.pk, 1)] * ended


@pytest.mark.django_db
def test_a_lot_past_its_day_is_inspected_in_quarantine_and_released_once_its_life_was_extended():
    # Nitrile cured in the fourth quarter of 2017 is good for 7 years by this rule set, and for 3 more once it was looked at.
    part = PartFactory(number="R-1", life={"by": "compound"}, compound="NBR")
    seller, line = SupplierFactory().code, ReceiveLine(part.number, 10, lot="B1", cure_code="4Q17")
    shelf("R1"), quarantine("Q1")
    done(receive, supplier=seller, place="R1", quarantine="Q1", lines=[line])
    row = Lot.objects.get()
    assert row.expires_on == date(2024, 10, 1)
    out = [ReleaseLine(item("R-1", "lot=B1").pk, 10, "Q1", "R1")]
    refused("expired", release_quarantine, lines=out)
    done(extend_life, lot_id=row.pk, **GOOD)
    done(release_quarantine, lines=out)
    # More of the lot is judged by the day that is on record now.
    made = done(receive, supplier=seller, place="R1", lines=[line])
    assert [(one["place"], one["expires_on"]) for one in made["lines"]] == [("R1", "2027-10-01")]


@pytest.mark.django_db
def test_no_more_is_looked_at_than_there_was_at_that_moment():
    """Ten came, of which a job holds four; two went back later, which takes nothing from what was there before."""
    row, later = lot(), NOON + timedelta(days=2)
    ring = item(row.part.number, "lot=B1")
    error = refused("sample-unusable", extend_life, lot_id=row.pk, **GOOD | {"sample_pieces": 11})
    assert error.values == {"lot": "B1", "sample": 11, "on_hand": 10}
    held(ring, cart("cart J1"), 4)
    back = [ReturnLine(ring.pk, "R1", 2, 100)]
    done(return_to_supplier, supplier="maker", note="RN-1", lines=back, stamp=stamp(later))
    error = refused("sample-unusable", extend_life, lot_id=row.pk, stamp=stamp(later), **GOOD | {"sample_pieces": 9})
    assert error.values["on_hand"] == 8
    at = stamp(NOON + timedelta(days=1), recorded_at=NOON + timedelta(days=3))
    done(extend_life, lot_id=row.pk, stamp=at, **GOOD | {"sample_pieces": 10})
    assert LifeExtension.objects.get().sample_pieces == 10
