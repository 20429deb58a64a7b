"""What is doubtful by measurement is taken only by somebody who may, with a reason. Private to services.

One rule for whatever rests on readings: a layout of sets, bearing halves, thrust washers, the grade of a head gasket.
"""

from __future__ import annotations

from collections.abc import Sequence

from inventory.domain.errors import DomainError
from inventory.models import Person

RIGHT = "kits.act_accept_doubtful"


def refuse_doubtful(actor: Person, what: str, why: Sequence[str], reason: str) -> None:
    """DomainError "doubtful" where the person may not take it, "reason-missing" where no reason is given.

    what  what is doubtful, as a sentence begins with it; why: why it is doubtful
    """
    because = "; ".join(one.rstrip(".") for one in why)
    if not actor.has_perm(RIGHT):
        raise DomainError(
            "doubtful",
            f"{what} is doubtful: {because}.",
            ways_out=(
                "Measure again what is named.",
                "Somebody who may accept what is doubtful decides, with a reason.",
            ),
            why=list(why),
        )
    if not reason.strip():
        raise DomainError("reason-missing", f"{what} is doubtful: {because}. Why is it accepted?", why=list(why))
