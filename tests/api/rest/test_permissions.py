"""Who may do what: the whole table, the roles as they stand in the database, and every writing address."""

import re
import uuid

import pytest
from django.apps import apps
from django.contrib.auth.models import Group, Permission
from django.urls import URLPattern

from api.rest import permissions, urls
from api.rest.permissions import REBUILDS, ROLES, STORES, may
from inventory.models import Act as ActRow
from tests.api.rest.clients import ShopClient, somebody

pytestmark = pytest.mark.django_db

#: Role -> acts, written out by hand beside the table of the program. Source: the demo shop's rules (only the inspector releases
#: quarantine, only the parts manager writes off and gives up a hold, a second person checks, the apprentice picks and counts).
MATRIX = {
    "parts manager": "accept answer_clash answer_loan approve ask_loan ask_more assemble book break_set cancel catalogue"
    " certificate check choose close core_value correct count count_washed credit date deposit"
    " enter_owner explain_transfer extra_hours find finding fit free gauge give_back hand_engine_over hand_over"
    " hold import inspect inspect_lot invoice keep lend mark_demand match_set measure name_checker old_unit open"
    " order origin outside overrule_return owner pick procedure read_meter receive recount release"
    " release_kept remove return revise_job scrap see_owner sell send_later set_dates sign_safety_sheet"
    " stop storage take_transfer test_engine transfer use_here withdraw_reading write_off",
    "storekeeper": "ask_loan assemble certificate count enter_owner hand_over hold inspect_lot old_unit open pick receive recount"
    " return scrap sell send_later sign_safety_sheet storage take_transfer transfer use_here",
    "technician": "accept answer_loan ask_loan ask_more break_set check choose close count_washed extra_hours find"
    " finding fit give_back hold inspect match_set measure old_unit open read_meter recount remove"
    " return scrap send_later sign_safety_sheet take_transfer test_engine use_here withdraw_reading",
    "inspector": "accept accept_doubtful check count_washed extend_life find finding free gauge inspect inspect_lot"
    " let_height_be match_set measure read_meter recount release_quarantine send_later set_dates"
    " sign_safety_sheet state_cause stop storage test_engine withdraw_reading",
    "warranty clerk": "certificate claim hand_engine_over read_meter release_kept see_owner state_cause stop",
    "owner": "approve credit deposit enter_owner invoice name_checker owner see_owner",
    "apprentice": "count count_washed pick send_later sign_safety_sheet",
}


def test_the_table_is_the_one_written_out_by_hand():
    table = {
        role: " ".join(sorted(act for acts in (STORES, REBUILDS) for act, roles in acts.items() if role in roles))
        for role in ROLES
    }
    assert table == MATRIX


def test_every_role_stands_in_the_database_with_its_permissions():
    rows = {
        group.name: {
            f"{permission.content_type.app_label}.{permission.codename}"
            for permission in group.permissions.select_related("content_type")
        }
        for group in Group.objects.all()
    }
    assert rows == {role: {may(act) for act in acts.split()} for role, acts in MATRIX.items()}


def test_the_permissions_of_the_models_are_those_of_the_table():
    assert [codename for codename, _ in ActRow._meta.permissions] == [f"act_{act}" for act in STORES]
    declared = [
        codename for model in apps.get_app_config("kits").get_models() for codename, _ in model._meta.permissions
    ]
    assert sorted(declared) == sorted(f"act_{act}" for act in REBUILDS)
    stored = Permission.objects.filter(codename__startswith="act_").values_list("codename", flat=True)
    assert sorted(stored) == sorted(f"act_{act}" for act in (*STORES, *REBUILDS))


def test_a_group_that_the_owner_changed_stays_as_it_is():
    from inventory.services.roles import make_roles

    Group.objects.get(name="apprentice").permissions.clear()
    Group.objects.get(name="storekeeper").delete()
    made = make_roles({role: permissions.of_role(role) for role in ROLES}, actor=None)
    assert made == ["storekeeper"]
    assert Group.objects.get(name="apprentice").permissions.count() == 0
    assert Group.objects.get(name="storekeeper").permissions.count() == len(MATRIX["storekeeper"].split())


def writes() -> list[tuple[str, str, str]]:
    """(method, path, act) of every writing address but the log-in."""
    found = []
    for pattern in urls.urlpatterns:
        if isinstance(pattern, URLPattern) and hasattr(pattern.callback.view_class, "acts"):
            path = re.sub("<[^>]+>", "1", str(pattern.pattern))
            acts = pattern.callback.view_class.acts
            found += [(method, path, act) for method, act in acts.items() if method != "GET"]
    return found


def test_every_writing_method_names_its_act():
    named = {(method, path) for method, path, _ in writes()}
    there = set()
    for pattern in urls.urlpatterns:
        if isinstance(pattern, URLPattern) and hasattr(pattern.callback.view_class, "acts"):
            path = re.sub("<[^>]+>", "1", str(pattern.pattern))
            there |= {
                (method, path)
                for method in ("POST", "PUT", "PATCH", "DELETE")
                if hasattr(pattern.callback.view_class, method.lower())
            }
    assert there - named == {("POST", "tokens"), ("DELETE", "tokens")}
    assert named - there == set()
    assert {act for _, _, act in writes()} <= {*STORES, *REBUILDS}


@pytest.mark.parametrize("role", ROLES)
def test_each_role_may_write_where_the_table_says_and_nowhere_else(role):
    client = ShopClient(somebody(role))
    for method, path, act in writes():
        answer = client.send(path, {"no such field": 1}, method=method, if_match='"1"')
        refused = (answer.status_code, answer.json()["code"]) == (403, "not-allowed")
        assert refused == (act not in MATRIX[role].split()), f"{role}: {method} {path} {answer.json()['detail']}"


def test_a_refusal_names_the_right_that_is_missing_and_the_groups_that_have_it():
    client = ShopClient(somebody("technician"))
    said = client.send("jobs", {}, key=uuid.uuid4()).json()["detail"]
    assert said.endswith("It needs the right 'book', which is with: parts manager.")
    Group.objects.get(name="technician").permissions.add(Permission.objects.get(codename="act_book"))
    said = ShopClient(somebody("storekeeper")).send("jobs", {}, key=uuid.uuid4()).json()["detail"]
    assert said.endswith("which is with: parts manager, technician.")
    sent = ShopClient(somebody("warranty clerk")).send("receipts", {}, key=uuid.uuid4()).json()["detail"]
    assert sent.endswith("It needs the right 'receive', which is with: parts manager, storekeeper.")


def test_nobody_writes_or_reads_without_a_log_in():
    client = ShopClient()
    for method, path, _ in [*writes(), ("GET", "parts", ""), ("GET", "refusals", "")]:
        answer = client.send(path, {}, method=method)
        assert (answer.status_code, answer.json()["code"]) == (401, "not-logged-in")
        assert answer["WWW-Authenticate"] == "Token"


def test_a_person_without_a_role_reads_and_writes_nothing():
    client = ShopClient(somebody("owner"))
    client.person.groups.clear()
    assert client.read("parts").status_code == 200
    assert client.send("receipts", {}, key=uuid.uuid4()).status_code == 403


def test_somebody_switched_off_is_nobody():
    client = ShopClient(somebody("parts manager"))
    client.person.is_active = False
    client.person.save(update_fields=["is_active"])
    assert (client.read("parts").status_code, client.read("parts").json()["code"]) == (401, "not-logged-in")
