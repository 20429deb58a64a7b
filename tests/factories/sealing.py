"""Sealed joints of a job closed by their gates, through the real services: every question answered yes, the bead by weight."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import datetime, timedelta
from fractions import Fraction

from inventory.domain.quantities import round_half_even
from inventory.models import Balance, Person
from kits.models import Job
from kits.queries.job_list import job_list
from kits.queries.sealing import listed_joints
from kits.services.build import record_leak_test
from kits.services.fit import FitIn
from kits.services.lay_bead import TubeUsed, lay_bead
from kits.services.open_gate import GateIn, TubeIn, open_gate
from tests.factories.stores import NOON, PersonFactory, stamp

DRY = {"pressure": "1.0 bar", "held": "1 h", "drop": "0 bar", "temperature": "20 °C"}


def sealed_positions(job: Job) -> set[str]:
    """Where the job's list puts sealant."""
    return {key[0] for one in listed_joints(job_list(job, NOON.date())).values() for key, _ in one.amounts}


def dry_jacket(job: Job, actor: Person, at: datetime = NOON) -> None:
    """A leak test that is passed."""
    assert record_leak_test(actor=actor, stamp=stamp(at), job=job.number, **DRY).body["good"] is True


def sealed(
    job: Job, tubes: Mapping[str, int], actor: Person, *, at: datetime = NOON, only: Collection[str] = ()
) -> list[FitIn]:
    """The joints at the positions of `tubes` (position → item of an opened tube at the bench); what is to be fitted now."""
    fittings: list[FitIn] = []
    for code, one in listed_joints(job_list(job, NOON.date())).items():
        here = [key for key, _ in one.amounts if key[0] in tubes]
        if not here or (only and code not in only):
            continue
        row = Balance.objects.select_related("item__tube", "item__part").get(
            item=tubes[here[0][0]], place=job.bench_id, amount__gt=0
        )
        part = row.item.part
        density, empty = part.density_mg_per_ml or 0, part.empty_mg or 0
        weight = empty + round_half_even(Fraction(row.amount * density, 1000))
        tube = row.item.tube.number if row.item.tube else ""
        said = GateIn(True, True, True, one.joint.bolts, [TubeIn(tube, weight)], "20 °C", "45 %")
        gate = open_gate(
            actor=actor, stamp=stamp(at - timedelta(minutes=1)), job=job.number, joint=code, said=said,
            helper=PersonFactory(),
        ).body  # fmt: skip
        if not one.is_bead:
            fittings += [FitIn(key[0], row.item_id, amount, key[1]) for key, amount in one.amounts]
            continue
        used = TubeUsed(tube, weight - round_half_even(Fraction(gate["planned_ul"] * density, 1000)))
        laid = lay_bead(
            actor=actor, stamp=stamp(at), job=job.number, joint=code, tubes=[used],
            started_at=at - timedelta(seconds=59), ended_at=at,
        ).body  # fmt: skip
        assert laid["over"] is False
        fittings += [FitIn(row["position"], row["item"], row["amount"], row["make"]) for row in laid["fit"]]
    return fittings
