"""Which tubes, tins and bottles go on the cart."""

import pytest

from inventory.domain.errors import DomainError
from inventory.models import Part
from kits.queries.materials import material_plans, rules_of, volume_ul
from tests.factories.rebuilds import book, listed, shelve

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]


def plans(job, part):
    its = listed(job)
    return material_plans(its, [line for line in its.lines if line.part == part])


def test_three_joints_of_one_sealant_are_planned_together_in_order_of_work():
    shelve({"G-701": 1})
    job = book(operations=["P3"], findings=[("carrier-off", "ENGINE"), ("cover-off", "ENGINE")])
    (plan,) = plans(job, "G-701")
    assert [one.joint for one in plan.draws] == ["REAR-CARRIER/bead#1", "TIMING-COVER/bead#1", "SUMP/bead#1"]
    # Demo shop: 10.46 mL in the sump; with 15 % waste and 1.5 mL priming the draw is 13.53 mL.
    assert round(plan.draws[-1].draw_ul / 10) == 1353
    assert (plan.missing, plan.unserved, [tube.amount for tube in plan.tubes]) == (0, (), [1])
    assert {joint[0] for joint in plan.tubes[0].joints} == {"REAR-CARRIER/bead", "TIMING-COVER/bead", "SUMP/bead"}


def test_what_the_shelf_lacks_is_named_with_its_joints():
    job = book(operations=["P3"], findings=[])
    (plan,) = plans(job, "G-701")
    assert (plan.missing, plan.unserved, plan.tubes) == (1, ("SUMP/bead",), ())


def test_only_what_goes_through_a_nozzle_is_primed():
    its = listed(book())
    assert (rules_of(its, True).prime_ul, rules_of(its, False).prime_ul) == (1500, 0)


def test_weights_become_volumes_by_density():
    part = Part(number="X", density_mg_per_ml=900)
    assert (volume_ul(part, 1800, "milligram"), volume_ul(part, 5, "microlitre")) == (2000, 5)
    with pytest.raises(DomainError) as refused:
        volume_ul(Part(number="X"), 1, "milligram")
    assert refused.value.code == "density-missing"
