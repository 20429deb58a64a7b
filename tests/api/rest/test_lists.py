"""What all lists share: pages by a cursor, orders, and parameters that are refused instead of passed over."""

import json
from urllib.parse import parse_qsl, urlsplit

import pytest
from django.core import signing
from hypothesis import example, given, settings
from hypothesis import strategies as st

from inventory.models import Part
from tests.api.rest.clients import ShopClient, somebody
from tests.databases import rolled_back
from tests.factories.stores import PartFactory

pytestmark = pytest.mark.django_db


def walk(client, **parameters):
    """Every page of the parts, following `next`; the pages' numbers."""
    pages, answer = [], client.read("parts", **parameters)
    while True:
        body = answer.json()
        pages.append([row["number"] for row in body["results"]])
        if body["next"] is None:
            return pages
        assert urlsplit(body["next"]).path == "/api/v1/parts"
        answer = client.get(body["next"])
        assert answer.status_code == 200, answer.content


def test_pages_follow_each_other_without_gap_or_repeat(manager):
    PartFactory.create_batch(7)
    everything = sorted(Part.objects.values_list("number", flat=True))
    assert walk(manager, page_size=3) == [everything[:3], everything[3:6], everything[6:]]
    assert walk(manager, page_size=7) == [everything]
    assert walk(manager, page_size=3, ordering="-number") == [everything[:3:-1], everything[3:0:-1], everything[:1]]


@given(
    names=st.lists(st.sampled_from(["a", "b", "B", "é", ""]), min_size=1, max_size=9),
    size=st.integers(1, 4),
    down=st.booleans(),
)
@settings(max_examples=15)
def test_ties_neither_repeat_nor_hide_rows(names, size, down):
    with rolled_back():
        client = ShopClient(somebody("owner"))
        made = [PartFactory(name=name).number for name in names]
        pages = walk(client, page_size=size, ordering="-name" if down else "name")
        assert sorted(number for page in pages for number in page) == sorted(made)
        assert max(len(page) for page in pages) <= size


def test_a_row_that_comes_in_meanwhile_does_not_shift_the_next_page(manager):
    for number in ("B", "C", "D"):
        PartFactory(number=number)
    first = manager.read("parts", page_size=2).json()
    PartFactory(number="A")
    assert [row["number"] for row in manager.get(first["next"]).json()["results"]] == ["D"]


def test_a_page_goes_on_in_the_same_filter(manager):
    PartFactory.create_batch(3, kind="gasket")
    PartFactory.create_batch(3, kind="seal")
    body = manager.read("parts", kind="seal", page_size=2).json()
    assert dict(parse_qsl(urlsplit(body["next"]).query))["kind"] == "seal"
    assert [row["kind"] for row in manager.get(body["next"]).json()["results"]] == ["seal"]


@pytest.mark.parametrize("size", ["0", "201", "-1", "1.5", "ten", "", "١", "99999999999999999999"])
def test_a_page_size_out_of_bounds_is_refused(manager, size):
    answer = manager.read("parts", page_size=size)
    assert (answer.status_code, answer.json()["code"], answer.json()["values"]["parameter"]) == (
        400,
        "parameter-wrong",
        "page_size",
    )


@pytest.mark.parametrize("order", ["weight", "--number", "number,name", "", "pk;drop", "version"])
def test_an_order_that_is_not_offered_is_refused(manager, order):
    answer = manager.read("parts", ordering=order)
    assert (answer.status_code, answer.json()["values"]["parameter"]) == (400, "ordering")


def test_a_cursor_of_another_list_or_order_or_of_nobody_is_refused(manager):
    PartFactory.create_batch(3)
    cursor = dict(parse_qsl(urlsplit(manager.read("parts", page_size=1).json()["next"]).query))["cursor"]
    ours = signing.dumps("not a list", salt="PartsView:number,pk")
    for path, more in (
        ("lots", {"cursor": cursor}),
        ("parts", {"cursor": cursor, "ordering": "name"}),
        ("parts", {"cursor": cursor, "ordering": "-number"}),
        ("parts", {"cursor": cursor[:-1]}),
        ("parts", {"cursor": ""}),
        ("parts", {"cursor": "cD1mb28="}),
        ("parts", {"cursor": ours}),
    ):
        answer = manager.read(path, **more)
        assert (answer.status_code, answer.json()["values"]["parameter"]) == (400, "cursor"), (path, more)


@pytest.mark.parametrize(
    ("query", "code"),
    [
        ("colour=red", "parameter-unknown"),
        ("format=json", "parameter-unknown"),
        ("Kind=gasket", "parameter-unknown"),
        ("kind=gasket&kind=seal", "parameter-wrong"),
        ("search=%00", "bad-request"),
        ("kind=", "parameter-wrong"),
        ("search=%20", "parameter-wrong"),
        ("size=%E3%80%80", "parameter-wrong"),
        ("search=" + "x" * 201, "parameter-wrong"),
        ("to_be_sorted=maybe", "fields-wrong"),
        ("kind=gizmo", "fields-wrong"),
        ("search=--", "part-number-unreadable"),
        ("%00=1", "parameter-unknown"),
    ],
)
def test_a_parameter_that_is_not_understood_is_refused_not_passed_over(manager, query, code):
    PartFactory()
    assert manager.get(f"/api/v1/parts?{query}").json()["code"] == code


@given(text=st.text(max_size=30))
@example(text=" ")
@settings(max_examples=40)
def test_no_search_is_a_server_error(text):
    with rolled_back():
        client = ShopClient(somebody("owner"))
        PartFactory(number="A-201")
        for path in ("parts", "lots", "matched-sets", "engines", "jobs"):
            assert client.read(path, search=text).status_code in (200, 400, 422), (path, text)


@given(
    value=st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
        lambda inner: (
            st.lists(inner, max_size=3)
            | st.dictionaries(st.sampled_from(["supplier", "place", "lines", "part", "amount"]), inner)
        ),
        max_leaves=8,
    )
)
@settings(max_examples=60)
def test_no_body_is_a_server_error(value):
    with rolled_back():
        client = ShopClient(somebody("parts manager"))
        for path in ("receipts", "parts", "counts", "transfers"):
            answer = client.send(path, json.dumps(value))
            assert 400 <= answer.status_code < 500, (path, value)
