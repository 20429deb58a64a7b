"""What goes out of one shop comes into another without a loss."""

import io
import json

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from api.measure.own import own_database, pointed_at
from inventory.domain.import_kinds import KINDS
from inventory.models import LifeExtension, Lot, MatchedSet, Movement, Part, Person, Supplier, SupplierPart
from inventory.queries.export import table
from inventory.services.break_set import break_set
from inventory.services.correct import correct
from inventory.services.extend_life import extend_life
from inventory.services.open_tube import open_tube
from inventory.services.receive import SetLabel
from inventory.services.replacements import NewPart, ReplacementIn, add_replacement
from tests.api.rest.clients import somebody
from tests.factories.acts import done, refused
from tests.factories.stores import PartFactory, PersonFactory, quarantine, shelf, stamp, stock

FORMATS = ("csv", "xlsx")


def a_shop():
    """A small shop with something of everything, some of it hard to write down."""
    shelf("R1")
    quarantine("Q1")
    ring = PartFactory(
        number="00412",
        name='=ring, "lower"\nblack',
        life={"from": "cure", "years": 7, "extendable": True},
        ring={"id_mm": "107.54", "section_mm": "3.53"},
        compound="NBR",
        weight_mg=3000,
        price_coins=210,
        pack=10,
        loose_issue=False,
        storage_note="cool, dark",
    )
    PartFactory(number="+413", tracked_by="nothing", shop_number="-1")
    tin = PartFactory(number="T-1", kind="sealant", density_mg_per_ml=1320, net_ul=80_000, empty_mg=11_500)
    sets = PartFactory(number="S-1", tracked_by="set", unit="SET", kind="matched set")
    stock(ring, 12, lot="=1+1", cure_code="3Q22", place=shelf("R1"), total_coins=2500)
    stock(ring, 3, lot="L-2", cure_code="1Q24", place=quarantine("Q1"))
    stock(Part.objects.get(number="+413"), 7, place=shelf("R1"))
    stock(tin, 2, lot="B-1", place=shelf("R1"))
    for serial in ("0007", "S-8"):
        stock(
            sets,
            serial=serial,
            place=shelf("R1"),
            total_coins=18_900,
            set_label=SetLabel(416_000, "without pin", 93_005_000, 92_905_000, "B", "m1", "m2"),
        )
    open_tube(actor=PersonFactory(), stamp=stamp(), item_id=tin.items.get().pk, place="R1", tube_number="T-9")
    break_set(
        actor=PersonFactory(),
        stamp=stamp(),
        part="S-1",
        serial="S-8",
        damaged="pin",
        no_photo="none taken",
        reason="bent",
        orphan_place="Q1",
    )
    sold = {"supplier": Supplier.objects.get(), "send_back_days": 30}
    SupplierPart.objects.create(
        part=ring, price_coins=199, pack=10, lead_days=21, express_days=2, express_coins=1400, **sold
    )
    SupplierPart.objects.create(part=tin, number="0815", **sold)
    Supplier.objects.update(send_back_days=60, facts={"carriage_paid_above_coins": 20_000})
    Lot.objects.filter(code="L-2").update(printed_on="2030-02-01")
    Part.objects.filter(pk=ring.pk).update(storage={"low": "5 °C", "high": "25 °C"})
    add_replacement(actor=PersonFactory(), stamp=stamp(), line=ReplacementIn("00412", [NewPart("+413")]))


def tables():
    """All tables as they would be written."""
    return {kind: [[str(value) for value in row] for row in table(kind)[1]] for kind in KINDS}


def bring_in(folder, kind, login, format):
    try:
        options = ("--kind", kind, "--as", login, "--book")
        call_command("import", str(folder / f"{kind}.{format}"), *options, stdout=io.StringIO())
    except CommandError as error:
        return error.returncode
    return 0


@pytest.mark.parametrize("format", FORMATS)
def test_a_round_trip_loses_nothing(shop_database, tmp_path, format):
    a_shop()
    said = tables()
    call_command("export", str(tmp_path), "--format", format, stdout=io.StringIO())
    with own_database("round") as name, pointed_at(name):
        shelf("R1")
        quarantine("Q1")
        login = somebody("parts manager").username
        codes = {
            kind: bring_in(tmp_path, kind, login, format)
            for kind in ("suppliers", "parts", "prices", "lots", "sets", "stock")
        }
        after = tables()
    remarks = [row for row in said["stock"] if row[-1]]
    assert codes == {"suppliers": 0, "parts": 0, "prices": 0, "lots": 0, "sets": 0, "stock": 1}
    assert len(remarks) == 3
    # 25.00 paid for twelve of fifteen alike: nobody said what the others cost, so all share it
    value = KINDS["stock"].columns.index(next(one for one in KINDS["stock"].columns if one.name == "value"))
    assert [row[value] for row in said["stock"] if row[0] == "00412"] == ["5.00", "20.00"]
    assert [row[-1] for row in said["sets"]] == ["189.00"]
    assert after == said | {"stock": [row for row in said["stock"] if not row[-1]]}


@pytest.mark.parametrize("format", FORMATS)
def test_a_lot_whose_one_extension_was_used_is_not_extended_again_in_another_shop(shop_database, tmp_path, format):
    """Cured 3Q22: seven years from 2022-07-01 and three by inspection (ISO 2230 group B, from memory)."""
    found = {"sample_pieces": 2, "passed": True, "found": "no set"}
    shelf("R1")
    ring = PartFactory(number="R-1", life={"from": "cure", "years": 7, "extension_years": 3})
    for code in ("used", "left", "taken back"):
        stock(ring, 4, lot=code, cure_code="3Q22", place=shelf("R1"))
    for code in ("used", "taken back"):
        done(extend_life, lot_id=Lot.objects.get(code=code).pk, **found)
    done(correct, act_id=LifeExtension.objects.get(lot__code="taken back").act_id, reason="another lot was meant")
    call_command("export", str(tmp_path), "--format", format, stdout=io.StringIO())
    with own_database("extended") as name, pointed_at(name):
        shelf("R1")
        login = somebody("parts manager").username
        assert {bring_in(tmp_path, kind, login, format) for kind in ("suppliers", "parts", "lots", "stock")} == {0}
        days = {lot.code: (str(lot.expires_on), lot.extension_years) for lot in Lot.objects.all()}
        assert days == {"used": ("2032-07-01", 0), "left": ("2029-07-01", 3), "taken back": ("2029-07-01", 3)}
        refused("extension-not-allowed", extend_life, lot_id=Lot.objects.get(code="used").pk, **found)
        # There is something to look at from the day on which the stock came in.
        longer = done(extend_life, stamp=stamp(timezone.now()), lot_id=Lot.objects.get(code="left").pk, **found)
        assert longer["expires_on"] == "2032-07-01"


def test_everything_goes_out_row_by_row_and_no_secret(shop_database, tmp_path):
    a_shop()
    out = io.StringIO()
    call_command("export", str(tmp_path / "out"), stdout=out)
    folder = tmp_path / "out" / "everything"
    for model in (Part, Lot, MatchedSet, Movement, Person):
        lines = (folder / f"{model._meta.db_table}.jsonl").read_text().splitlines()
        assert [json.loads(line)[model._meta.pk.attname] for line in lines] == sorted(
            model.objects.values_list("pk", flat=True)
        )
    assert not any("password" in path.read_text() for path in [folder / "inventory_person.jsonl"])
    with pytest.raises(CommandError):
        call_command("export", str(tmp_path / "out"), stdout=out)
