"""One piece of each lot that should keep one and has none: for a shop that begins to, and after a count that missed one."""

from __future__ import annotations

from inventory import locks
from inventory.models import Act, Person
from inventory.queries.shop import shop
from inventory.services.keeping import CHUNK, keep, to_keep
from inventory.services.run import Body, Done, Stamp, run


def keep_pieces(*, actor: Person, stamp: Stamp) -> Done:
    """Keep one sealed piece of every lot that the shop's settings name, where two or more are free on shelves; done again it keeps no
    second. A shop that names no day keeps none.

    Which pieces are sealed nobody but a person sees: the kept one is put aside as it is counted. Outcome: {"pieces": how many in all, "kept":
    [{lot_id, lot, part, item, place, spot, kept}, at most a hundred]}.
    """

    def work(act: Act) -> Body:
        rules = shop().keeping
        if rules.since is None:
            return {"pieces": 0, "kept": []}
        wanted = to_keep(rules)
        locks.scarcer((one.part_id, one.site_id) for one in wanted if one.site_id is not None)
        pairs = sorted((one.item_id, one.spot_id) for one in wanted)
        for start in range(0, len(pairs), CHUNK):
            locks.balances(pairs[start : start + CHUNK])
        return keep(act, rules, everywhere=True)

    return run("keep pieces", work, actor=actor, stamp=stamp, request={})
