"""Django's admin looks and does not write, but for people and groups."""

import pytest
from django.contrib import admin
from django.contrib.auth.models import Group
from django.urls import reverse

from inventory.models import Act, Part, Person
from tests.factories.stores import PartFactory, PersonFactory, shelf, stock

pytestmark = pytest.mark.django_db
MODELS = sorted(
    (model for model in admin.site._registry if model._meta.app_label in ("inventory", "kits")),
    key=lambda model: model._meta.label,
)


@pytest.fixture
def owner(client):
    client.force_login(PersonFactory(username="amos", is_staff=True, is_superuser=True))
    return client


def page(model, name, *args):
    return reverse(f"admin:{model._meta.app_label}_{model._meta.model_name}_{name}", args=args)


def test_every_table_can_be_looked_at():
    from django.apps import apps

    tables = {model for label in ("inventory", "kits") for model in apps.get_app_config(label).get_models()}
    assert set(MODELS) == tables


def test_nothing_else_is_there_but_groups():
    others = {model._meta.label for model in admin.site._registry} - {model._meta.label for model in MODELS}
    assert others == {"auth.Group"}, "tokens are secrets; what else writes has no place here"


@pytest.mark.parametrize("model", MODELS, ids=lambda model: model._meta.label)
def test_nothing_but_people_can_be_added(owner, model):
    assert owner.get(page(model, "changelist")).status_code == 200
    status = 200 if model is Person else 403
    assert owner.get(page(model, "add")).status_code == status


def test_a_record_is_shown_but_not_changed_or_removed(owner):
    shelf("R1")
    part = PartFactory(number="P-1")
    stock(part, 4)
    act = Act.objects.get()
    for row in (part, act):
        model = type(row)
        assert owner.get(page(model, "change", row.pk)).status_code == 200
        assert owner.post(page(model, "change", row.pk), {"name": "x"}).status_code == 403
        assert owner.post(page(model, "delete", row.pk), {"post": "yes"}).status_code == 403
        answer = owner.post(page(model, "changelist"), {"action": "delete_selected", "_selected_action": [row.pk]})
        assert "delete_selected" not in answer.content.decode()
    assert (Part.objects.get().name, Act.objects.count()) == ("test part", 1)


def test_a_person_gets_a_role(owner):
    person = PersonFactory(username="lio")
    role = Group.objects.get(name="apprentice")
    body = {
        "username": "lio",
        "is_active": "on",
        "groups": [role.pk],
        "date_joined_0": "2025-01-01",
        "date_joined_1": "08:00",
    }
    answer = owner.post(page(Person, "change", person.pk), body)
    assert answer.status_code == 302, answer.content.decode()[:2000]
    assert list(person.groups.all()) == [role]


def test_who_is_not_staff_is_sent_to_the_log_in(client):
    client.force_login(PersonFactory())
    assert client.get(page(Part, "changelist")).status_code == 302
