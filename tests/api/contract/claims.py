"""One good request for each operation of claims of owners."""

from __future__ import annotations

from typing import Any

from inventory.models import Person
from kits.domain.owner_claims import ThingIn
from kits.models import ClaimThing, Job
from kits.services.claim_entries import close_claim
from kits.services.owner_claims import name_things
from tests.api.contract.rebuilds import Make, brought_to
from tests.api.contract.shops import Good
from tests.factories.acts import done
from tests.factories.claims import ANSWER, CAUSE, claimed, decided

TOLD: dict[str, Any] = {
    "told_on": "2025-01-15", "told_by": "skipper", "what": "coolant in the oil", "job": "J-1", "photos": ["photo 7"],
    "things": [{"position": "CYL-1/set", "what": "wet"}],
    "meters": [{"meter": "hours", "shows": "900.5", "photo_ref": "photo 8"}],
}  # fmt: skip


def _job() -> Job:
    brought_to("booked")
    return Job.objects.select_related("engine").get(number="J-1")


def _claim(body: Any = None) -> Make:
    return lambda actor: Good({"claim": claimed(_job())}, body=body)


def _entered(actor: Person) -> Good:
    claimed(_job())
    return Good({"number": "T4-00211"}, body=TOLD)


def _listed(actor: Person) -> Good:
    claimed(_job())
    return Good(query={"state": "open"})


def _listed_of_engine(actor: Person) -> Good:
    claimed(_job())
    return Good({"number": "T4-00211"})


def _thing(actor: Person) -> Good:
    claim = claimed(_job())
    done(name_things, claim=claim, things=[ThingIn("CYL-1/set")])
    return Good({"claim": claim, "thing": ClaimThing.objects.get().pk}, body={"reason": "it is dry"})


def _again(actor: Person) -> Good:
    claim = decided(_job())
    done(close_claim, claim=claim)
    return Good({"claim": claim}, body={"reason": "it leaks again"})


GOOD_CLAIMS: dict[str, Make] = {
    "engines_claims_create": _entered,
    "claims_list": _listed,
    "engines_claims_list": _listed_of_engine,
    "claims_read": lambda actor: Good({"claim": decided(_job())}),
    "claims_pack_read": lambda actor: Good({"claim": decided(_job())}),
    "claims_things_create": _claim({"things": [{"position": "CYL-1/set"}]}),
    "claims_things_withdraw": _thing,
    "claims_causes_create": _claim(CAUSE | {"coolant_sample": "C-3"}),
    "claims_answers_create": _claim(ANSWER),
    "claims_closings_create": lambda actor: Good({"claim": decided(_job())}, body={}),
    "claims_takings_back_create": _claim({"reason": "the hose leaked"}),
    "claims_reopenings_create": _again,
}
