"""One piece of each lot that should keep one and has none: for a shop that begins to, and after a count that missed one."""

from __future__ import annotations

from inventory import locks
from inventory.models import Act, Balance, Person
from inventory.queries.shop import shop
from inventory.services.keeping import keep
from inventory.services.run import Body, Done, Stamp, run


def keep_pieces(*, actor: Person, stamp: Stamp) -> Done:
    """Keep one sealed piece of every lot that the shop's settings name, where one is free on a shelf; done again it keeps no second. A
    shop that names no day keeps none.

    Which pieces are sealed nobody but a person sees: the kept one is put aside as it is counted. Outcome: {"kept": [{lot_id, lot, part,
    item, place, spot, kept}]}.
    """

    def work(act: Act) -> Body:
        rules = shop().keeping
        if rules.since is None:
            return {"kept": []}
        rows = Balance.objects.filter(
            pickable=True, amount__gt=0, item__lot__received_on__gte=rules.since, part__kind__in=rules.kinds
        )
        found = list(rows.values_list("item", "spot", "part", "place__site"))
        locks.scarcer((part, site) for *_, part, site in found if site is not None)
        return {"kept": keep(act, [(item, spot) for item, spot, *_ in found], rules)}

    return run("keep pieces", work, actor=actor, stamp=stamp, request={})
