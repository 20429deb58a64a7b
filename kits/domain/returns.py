"""What is done with a part that comes back unused: one decision table, a sentence with each answer, and who may overrule it.

Back to stock goes only what the next engine can trust: in its unopened bag, with a lot that can be read, never fitted, inside its
life; it keeps its own lot and its own use-by. Old units (cores), and parts taken out of an engine to be inspected and fitted
again in their own place, do not pass through here.

The kinds are those of the parts list. An unknown kind waits in quarantine for a person. Common practice of rebuild shops.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from inventory.domain.articles import a
from inventory.domain.errors import DomainError


class To(StrEnum):
    """Where it goes."""

    STOCK = "stock"
    OPEN_TUBES = "open-tube bin"
    QUARANTINE = "quarantine"
    SCRAP = "scrap"


@dataclass(frozen=True, slots=True)
class Returned:
    """What the technician brings back.

    kind          kind of the part list ("O-ring", "matched set", ...)
    bag_sealed    the maker's bag, box or carton is unopened
    lot_readable  lot or serial can be read on it; True for parts that are traced by nothing
    was_fitted    it has been in an engine, tightened, run or not
    opened        tube, tin or bottle: opened; a kit: contents taken out
    expired       past its use-by today
    stopped       its lot is stopped
    put_aside     a set whose label disagrees with what was measured
    """

    kind: str
    bag_sealed: bool
    lot_readable: bool
    was_fitted: bool
    opened: bool
    expired: bool = False
    stopped: bool = False
    put_aside: bool = False


@dataclass(frozen=True, slots=True)
class Decision:
    """Where it goes and why. `firm`: nobody may overrule it."""

    to: To
    reason: str
    firm: bool = False


class _Group(StrEnum):
    BAGGED = "rubber seal"
    SHELLS = "bearing shells"
    GASKET = "gasket"
    BOLT = "fastener or washer"
    POURED = "tube, tin or bottle"
    SET = "matched set"
    BOXED = "kit"
    LOOSE = "loose part"


_GROUPS: Mapping[str, _Group] = {
    "o-ring": _Group.BAGGED,
    "seal": _Group.BAGGED,
    "lip seal": _Group.BAGGED,
    "stem seal": _Group.BAGGED,
    "bearing": _Group.SHELLS,
    "gasket": _Group.GASKET,
    "fastener": _Group.BOLT,
    "washer": _Group.BOLT,
    "sealant": _Group.POURED,
    "lubricant": _Group.POURED,
    "fluid": _Group.POURED,
    "matched set": _Group.SET,
    "kit": _Group.BOXED,
    "kit of sets": _Group.BOXED,
    "hard part": _Group.LOOSE,
    "shim": _Group.LOOSE,
    "valve train": _Group.LOOSE,
    "service part": _Group.LOOSE,
    "consumable": _Group.LOOSE,
    "measuring": _Group.LOOSE,
}

#: Kinds of the parts list that the table knows.
KINDS = tuple(_GROUPS)


def decide(returned: Returned) -> Decision:
    """The one answer of the table for what came back."""
    if returned.stopped:
        return Decision(To.QUARANTINE, "Its lot is stopped: quarantine until the lot is freed.", firm=True)
    if returned.put_aside:
        why = (
            "What is printed on the set disagrees with what was measured: the whole set waits until somebody knows why."
        )
        return Decision(To.QUARANTINE, why, firm=True)
    if returned.expired:
        return Decision(To.SCRAP, "It is past its use-by.", firm=True)
    group = _GROUPS.get(_kind(returned.kind))
    if group is None:
        return Decision(To.QUARANTINE, f"The table does not know the kind {returned.kind[:40]!r}: a person decides.")
    if group is _Group.POURED:
        return _poured(returned)
    if returned.was_fitted:
        return _fitted(group)
    if group is _Group.BOXED and (returned.opened or not returned.bag_sealed):
        return Decision(
            To.QUARANTINE, "An opened kit is no longer that kit: book it open and return its contents one by one."
        )
    if not (returned.bag_sealed and not returned.opened):
        if group in (_Group.BAGGED, _Group.SHELLS):
            return Decision(To.SCRAP, f"The bag is open: {group} from an open bag does not go back.")
        if group is _Group.GASKET:
            return Decision(To.QUARANTINE, "Out of its wrapping: somebody looks at it for kinks and scratches first.")
    if not returned.lot_readable:
        return Decision(To.QUARANTINE, "Its lot or serial cannot be read, and nobody may guess it.")
    if group is _Group.SET:
        return Decision(To.STOCK, "Whole and never fitted: clean off the marks, back under its own serial.")
    return Decision(To.STOCK, "Never fitted and its lot can be read: back under its own lot and use-by.")


def _poured(returned: Returned) -> Decision:
    if returned.opened or returned.was_fitted:
        if not returned.lot_readable:
            return Decision(To.SCRAP, "Open, and its lot cannot be read: no joint could be traced to it.")
        return Decision(To.OPEN_TUBES, "Open: weigh it, write the day of opening on it; the open life runs.")
    if not returned.lot_readable:
        return Decision(To.QUARANTINE, "Its lot or serial cannot be read, and nobody may guess it.")
    return Decision(To.STOCK, "Closed and its lot can be read: back under its own lot and use-by.")


def _fitted(group: _Group) -> Decision:
    if group in (_Group.BAGGED, _Group.GASKET, _Group.SHELLS):
        return Decision(To.SCRAP, f"It was fitted: {a(group)} that has been in an engine is not used again.", firm=True)
    if group is _Group.BOLT:
        return Decision(
            To.SCRAP,
            "It was tightened: it never goes back to the shelf. One that its maker lets be used again goes, measured, to its own "
            "place.",
            firm=True,
        )
    return Decision(
        To.QUARANTINE, "It was fitted: measured and signed for before anybody uses it again; not stock.", firm=True
    )


def overrule(decision: Decision, to: To, *, may_overrule: bool, reason: str) -> Decision:
    """The parts manager's other word, with a reason. Lot and use-by stay what they were.

    Errors: `return-override-refused` without the permission, or where the decision is firm and `to` is less strict (what was
    fitted, is past its use-by, or comes from a stopped lot does not go back by anybody's word); `reason-missing`.
    """
    if not may_overrule:
        raise DomainError(
            "return-override-refused", "Only the parts manager may overrule the returns table.", to=to.value
        )
    if not reason.strip():
        raise DomainError("reason-missing", "Overruling the returns table needs a reason.", to=to.value)
    if decision.firm and to in (To.STOCK, To.OPEN_TUBES):
        raise DomainError("return-override-refused", f"{decision.reason} Nobody may overrule that.", to=to.value)
    return Decision(to, f"{reason.strip()} (the table said {decision.to}: {decision.reason})", decision.firm)


def _kind(text: str) -> str:
    """Kinds are compared without case, and with one space where words were joined by blanks or underscores."""
    return " ".join(text.replace("_", " ").split()).lower()
