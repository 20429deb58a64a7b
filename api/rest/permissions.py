"""Who may do what. One permission for each act; a group is a role of the shop; everybody who is logged in may read.

The table is the shop's starting point: groups are made with it once, and the owner may change them in the admin pages.
Only the inspector releases quarantine, only the parts manager writes off and gives up another job's hold, a second person checks,
and the apprentice may pick and count but not check.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rest_framework.permissions import SAFE_METHODS, IsAuthenticated
from rest_framework.request import Request

from inventory.queries.people import groups_with

PARTS_MANAGER = "parts manager"
STOREKEEPER = "storekeeper"
TECHNICIAN = "technician"
INSPECTOR = "inspector"
WARRANTY_CLERK = "warranty clerk"
OWNER = "owner"
APPRENTICE = "apprentice"

#: Acts of the stores, and the one thing that not everybody may read: permission codename without "act_" -> roles that may do it.
STORES: Mapping[str, frozenset[str]] = {
    "catalogue": frozenset({PARTS_MANAGER}),
    "order": frozenset({PARTS_MANAGER}),
    "receive": frozenset({PARTS_MANAGER, STOREKEEPER}),
    "import": frozenset({PARTS_MANAGER}),
    "certificate": frozenset({PARTS_MANAGER, STOREKEEPER, WARRANTY_CLERK}),
    "inspect_lot": frozenset({PARTS_MANAGER, STOREKEEPER, INSPECTOR}),
    "credit": frozenset({PARTS_MANAGER, OWNER}),
    "invoice": frozenset({PARTS_MANAGER, OWNER}),
    "transfer": frozenset({PARTS_MANAGER, STOREKEEPER}),
    "take_transfer": frozenset({PARTS_MANAGER, STOREKEEPER, TECHNICIAN}),
    "explain_transfer": frozenset({PARTS_MANAGER}),
    "sell": frozenset({PARTS_MANAGER, STOREKEEPER}),
    "enter_owner": frozenset({PARTS_MANAGER, STOREKEEPER, OWNER}),
    "owner": frozenset({PARTS_MANAGER, OWNER}),
    "see_owner": frozenset({PARTS_MANAGER, OWNER, WARRANTY_CLERK}),
    "use_here": frozenset({PARTS_MANAGER, STOREKEEPER, TECHNICIAN}),
    "mark_demand": frozenset({PARTS_MANAGER}),
    "release_quarantine": frozenset({INSPECTOR}),
    "count": frozenset({PARTS_MANAGER, STOREKEEPER, APPRENTICE}),
    "recount": frozenset({PARTS_MANAGER, STOREKEEPER, TECHNICIAN, INSPECTOR}),
    "keep": frozenset({PARTS_MANAGER}),
    "write_off": frozenset({PARTS_MANAGER}),
    "break_set": frozenset({PARTS_MANAGER, TECHNICIAN}),
    "core_value": frozenset({PARTS_MANAGER}),
    "old_unit": frozenset({PARTS_MANAGER, STOREKEEPER, TECHNICIAN}),
    "deposit": frozenset({PARTS_MANAGER, OWNER}),
    "open": frozenset({PARTS_MANAGER, STOREKEEPER, TECHNICIAN}),
    "assemble": frozenset({PARTS_MANAGER, STOREKEEPER}),
    "sign_safety_sheet": frozenset({PARTS_MANAGER, STOREKEEPER, TECHNICIAN, INSPECTOR, APPRENTICE}),
    "storage": frozenset({PARTS_MANAGER, STOREKEEPER, INSPECTOR}),
    "stop": frozenset({PARTS_MANAGER, INSPECTOR, WARRANTY_CLERK}),
    "free": frozenset({PARTS_MANAGER, INSPECTOR}),
    "extend_life": frozenset({INSPECTOR}),
    "set_dates": frozenset({PARTS_MANAGER, INSPECTOR}),
    "send_later": frozenset({PARTS_MANAGER, STOREKEEPER, TECHNICIAN, INSPECTOR, APPRENTICE}),
    "answer_clash": frozenset({PARTS_MANAGER}),
    "correct": frozenset({PARTS_MANAGER}),
}
#: Acts of the rebuilds.
REBUILDS: Mapping[str, frozenset[str]] = {
    "procedure": frozenset({PARTS_MANAGER}),
    "book": frozenset({PARTS_MANAGER}),
    "finding": frozenset({PARTS_MANAGER, TECHNICIAN, INSPECTOR}),
    "approve": frozenset({PARTS_MANAGER, OWNER}),
    "extra_hours": frozenset({PARTS_MANAGER, TECHNICIAN}),
    "choose": frozenset({PARTS_MANAGER, TECHNICIAN}),
    "outside": frozenset({PARTS_MANAGER}),
    "revise_job": frozenset({PARTS_MANAGER}),
    "date": frozenset({PARTS_MANAGER}),
    "hold": frozenset({PARTS_MANAGER, STOREKEEPER, TECHNICIAN}),
    "release": frozenset({PARTS_MANAGER}),
    "ask_loan": frozenset({PARTS_MANAGER, STOREKEEPER, TECHNICIAN}),
    "answer_loan": frozenset({PARTS_MANAGER, TECHNICIAN}),
    "lend": frozenset({PARTS_MANAGER}),
    "pick": frozenset({PARTS_MANAGER, STOREKEEPER, APPRENTICE}),
    "hand_over": frozenset({PARTS_MANAGER, STOREKEEPER}),
    "ask_more": frozenset({PARTS_MANAGER, TECHNICIAN}),
    "find": frozenset({PARTS_MANAGER, TECHNICIAN, INSPECTOR}),
    "remove": frozenset({PARTS_MANAGER, TECHNICIAN}),
    "origin": frozenset({PARTS_MANAGER}),
    "inspect": frozenset({PARTS_MANAGER, TECHNICIAN, INSPECTOR}),
    "gauge": frozenset({PARTS_MANAGER, INSPECTOR}),
    "measure": frozenset({PARTS_MANAGER, TECHNICIAN, INSPECTOR}),
    "withdraw_reading": frozenset({PARTS_MANAGER, TECHNICIAN, INSPECTOR}),
    "match_set": frozenset({PARTS_MANAGER, TECHNICIAN, INSPECTOR}),
    "accept": frozenset({PARTS_MANAGER, TECHNICIAN, INSPECTOR}),
    "accept_doubtful": frozenset({INSPECTOR}),
    "let_height_be": frozenset({INSPECTOR}),
    "fit": frozenset({PARTS_MANAGER, TECHNICIAN}),
    "check": frozenset({PARTS_MANAGER, TECHNICIAN, INSPECTOR}),
    "return": frozenset({PARTS_MANAGER, STOREKEEPER, TECHNICIAN}),
    "give_back": frozenset({PARTS_MANAGER, TECHNICIAN}),
    "overrule_return": frozenset({PARTS_MANAGER}),
    "hand_engine_over": frozenset({PARTS_MANAGER, WARRANTY_CLERK}),
    "release_kept": frozenset({PARTS_MANAGER, WARRANTY_CLERK}),
    "read_meter": frozenset({PARTS_MANAGER, TECHNICIAN, INSPECTOR, WARRANTY_CLERK}),
    "claim": frozenset({WARRANTY_CLERK}),
    "state_cause": frozenset({INSPECTOR, WARRANTY_CLERK}),
    "count_washed": frozenset({PARTS_MANAGER, TECHNICIAN, INSPECTOR, APPRENTICE}),
    "scrap": frozenset({PARTS_MANAGER, STOREKEEPER, TECHNICIAN}),
    "close": frozenset({PARTS_MANAGER, TECHNICIAN}),
    "cancel": frozenset({PARTS_MANAGER}),
    "test_engine": frozenset({PARTS_MANAGER, TECHNICIAN, INSPECTOR}),
    "name_checker": frozenset({PARTS_MANAGER, OWNER}),
}
ROLES = (PARTS_MANAGER, STOREKEEPER, TECHNICIAN, INSPECTOR, WARRANTY_CLERK, OWNER, APPRENTICE)


def codename(act: str) -> str:
    """The codename of an act's permission."""
    return f"act_{act}"


def may(act: str) -> str:
    """The whole name of an act's permission, as `has_perm` takes it."""
    app = "inventory" if act in STORES else "kits"
    return f"{app}.{codename(act)}"


def of_role(role: str) -> set[str]:
    """Whole names of all permissions that a role starts with."""
    return {may(act) for table in (STORES, REBUILDS) for act, roles in table.items() if role in roles}


class MayAct(IsAuthenticated):
    """Logged in, and for a write (or what not everybody may read): the permission of the view's act."""

    message = "You may not do that; the parts manager or the owner can say who may."

    @classmethod
    def missing(cls, act: str) -> str:
        """The refusal with the right that is missing and the groups that have it."""
        groups = ", ".join(groups_with(may(act))) or "no group"
        return f"{cls.message} It needs the right '{act.replace('_', ' ')}', which is with: {groups}."

    def has_permission(self, request: Request, view: Any) -> bool:
        """True if the person may; a write without a named act is nobody's. A method that the address has not got is answered as such."""
        if not super().has_permission(request, view):
            return False
        if request.method not in view.allowed_methods:
            return True  # the view answers 405
        act = view.act_of(request)
        if not act:
            return request.method in SAFE_METHODS
        if request.user.has_perm(may(act)):
            return True
        self.message = self.missing(act)
        return False
