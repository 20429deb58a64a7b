"""The tool crib: lent with a cart, counted back, short by name."""

import pytest

from kits.models import CribTool
from kits.services.crib import stock_crib
from tests.factories.acts import done, refused

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]


def test_the_newest_count_of_a_tool_counts():
    assert done(stock_crib, site="QY", tools={"bead gun": 2, "angle gauge": 1}) == {
        "site": "QY",
        "tools": {"angle gauge": 1, "bead gun": 2},
    }
    done(stock_crib, site="QY", tools={"bead gun": 0})
    rows = CribTool.objects.filter(site__code="QY", tool__in=["bead gun", "angle gauge"])
    assert dict(rows.values_list("tool", "count")) == {"angle gauge": 1, "bead gun": 0}


def test_no_such_site_and_fewer_than_no_tools():
    refused("not-found", stock_crib, site="XX", tools={"bead gun": 1})
    refused("amount-negative", stock_crib, site="QY", tools={"bead gun": -1})
