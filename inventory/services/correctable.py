"""What must be asked before an act is taken back, and which acts that moved nothing are taken back by the word alone. Private to services.

`correct` takes movements back. What else an act meant is known to who wrote it: an app says it here once
(`ask`, `put_back`, `by_word`, `instead`) in its `services/corrections.py`, since inventory knows no other app. Everything is called inside the transaction of the correction.
"""

from __future__ import annotations

from collections.abc import Callable

from django.db.models import Q

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act, LifeExtension, Lot, Site
from inventory.queries.days import shop_day
from inventory.services import lookup
from inventory.services.holding import all_holds, make_impossible

#: Gets the act that is to be taken back; raises DomainError where it stays.
Question = Callable[[Act], None]
#: Gets the correction and the act that it takes back; puts back what is kept beside rows. What it returns is added to the outcome.
Restore = Callable[[Act, Act], dict[str, object]]

_questions: list[Question] = []
_restores: dict[str, Restore] = {}
_by_word: set[str] = set()
_instead: dict[str, str] = {}


def ask(question: Question) -> None:
    """Have this asked before any act is taken back."""
    if question not in _questions:
        _questions.append(question)


def put_back(of: str, restore: Restore) -> None:
    """What is put back beside the movements when an act of this kind is taken back."""
    _restores[of] = restore


def by_word(of: str, restore: Restore) -> None:
    """Acts of this kind move nothing and are taken back all the same: every reader of their rows leaves corrected ones out."""
    _by_word.add(of)
    put_back(of, restore)


def instead(of: str, way_out: str) -> None:
    """What to do instead of taking an act of this kind back, which moved nothing."""
    _instead[of] = way_out


def is_by_word(of: str) -> bool:
    """Whether the word alone takes acts of this kind back."""
    return of in _by_word


def way_out_of(of: str) -> str:
    """What is done instead; "" where nobody said."""
    return _instead.get(of, "")


def ask_all(original: Act) -> None:
    """Every question, in the order in which they were put; raises what the first of them raises."""
    for question in _questions:
        question(original)


def restore(act: Act, original: Act) -> dict[str, object]:
    """Put back what the original changed beside its rows; what the outcome says of it."""
    found = _restores.get(original.kind)
    return found(act, original) if found is not None else {}


def _shorter_life(act: Act, original: Act) -> dict[str, object]:
    """The lot's limit and rule are those of before; it may be extended again, rightly. What cannot be fitted by then is short."""
    row = LifeExtension.objects.select_related("lot__part").get(act=original)
    locks.scarcer((row.lot.part_id, site) for site in Site.objects.values_list("pk", flat=True))
    locks.row("inventory_lot", [row.lot_id])
    lot = Lot.objects.get(pk=row.lot_id)
    if lot.expires_on != row.after:
        raise DomainError(
            "not-correctable",
            f"Lot {lot.code} is usable through {lot.expires_on} now, not through {row.after} as the extension said.",
            ways_out=("Stop the lot until it is known how long it is good.",),
            act=original.pk,
            kind=original.kind,
        )
    Lot.objects.filter(pk=lot.pk).update(expires_on=row.before, expiry_rule=row.before_rule)
    why = f"the extension of lot {lot.code} of {row.lot.part.number} was taken back: it is usable through {row.before}"
    held = all_holds(Q(item__lot=lot, item__tube__isnull=True))
    # A correction is true since its original; what can still be fitted is judged on the day on which it is made.
    today = shop_day(act.recorded_at)
    late = [one for one in held if max(one.day, today) > row.before]
    return {
        "lot": lot.code,
        "part": row.lot.part.number,
        "expires_on": row.before,
        "expiry_rule": row.before_rule,
        "shorts": lookup.said(make_impossible(act, late, why)),
    }


by_word("extend life", _shorter_life)
