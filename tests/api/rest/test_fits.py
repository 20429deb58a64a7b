"""`fits`, `stacks` and the height of new parts over HTTP, against published values. 1 in = 25.4 mm, so 0.0001 in is 2540 nm."""

import pytest

from kits.services.families import enter_family
from tests.api.rest.described import DescribedClient
from tests.factories.engines import family_document
from tests.factories.stores import PersonFactory, stamp

pytestmark = pytest.mark.django_db

TENTH, UM = 2540, 1_000


@pytest.fixture
def reader():
    return DescribedClient(PersonFactory())


@pytest.mark.parametrize(
    ("nominal", "hole", "shaft", "least", "most", "kind"),
    [
        ("50 mm", "H7", "g6", 9, 50, "clearance"),  # read on a fits page and in a small fits library
        ("50 mm", "H7", "p6", -42, -1, "interference"),  # read on a fits page: 1 to 42 um of interference
        ("25 mm", "H7", "h6", 0, 34, "clearance"),  # read on an engineering page
        ("130 mm", "H7", "g6", 14, 79, "clearance"),  # read, ISO 286 fits
    ],
)
def test_published_fits(reader, nominal, hole, shaft, least, most, kind):
    body = reader.read("fits", hole=hole, shaft=shaft, nominal=nominal).json()
    assert (body["least_nm"], body["most_nm"], body["kind"]) == (least * UM, most * UM, kind)
    assert body["hole"]["high_nm"] - body["shaft"]["low_nm"] == body["most_nm"]


@pytest.mark.parametrize(
    ("query", "code"),
    [
        ({"shaft": "g6", "nominal": "50 mm"}, "parameter-wrong"),
        ({"hole": "H7", "shaft": "g6"}, "parameter-wrong"),
        ({"hole": "H7", "shaft": "g6", "nominal": "50"}, "quantity-unreadable"),
        ({"hole": "H7", "shaft": "g6", "nominal": "501 mm"}, "fit-unknown"),
        ({"hole": "g6", "shaft": "H7", "nominal": "50 mm"}, "fit-unknown"),
        ({"hole": "H7", "shaft": "z9", "nominal": "50 mm"}, "fit-unknown"),
        ({"hole": "H99", "shaft": "g6", "nominal": "50 mm"}, "fit-unknown"),
        ({"hole": "H7", "shaft": "g6", "nominal": "50 mm", "bore": "1"}, "parameter-unknown"),
    ],
)
def test_a_fit_that_is_not_in_the_table(reader, query, code):
    assert reader.read("fits", **query).json()["code"] == code


def test_a_printed_stack_of_flange_plate_and_gasket(reader):
    # Flange .4048 +-.0008, plate .3925 +-.0010, gasket .0082 +-.0010 in; printed limits .0013-.0069: US Army TM 5-3805-263-14&P-2.
    asked = {
        "add": "flange: 0.4048 in +- 0.0008 in",
        "take": "plate: 0.3925 in ± 0.0010 in; gasket: 0.0082 in +/- 0.0010 in",
    }
    body = reader.read("stacks", **asked, low="0.0013 in", high="0.0069 in").json()
    assert (body["nominal_nm"], body["low_nm"], body["high_nm"]) == (41 * TENTH, 13 * TENTH, 69 * TENTH)
    assert body["standing"] == "always within the limits"
    assert body["low_nm"] < body["rss_low_nm"] < body["rss_high_nm"] < body["high_nm"]
    assert [(one["name"], one["sign"]) for one in body["members"]] == [("flange", 1), ("plate", -1), ("gasket", -1)]
    alone = reader.read("stacks", **asked).json()
    assert (alone["limits"], alone["standing"]) == (None, None)


def test_printed_ends_that_have_to_be_measured_and_a_shim_that_never_fits(reader):
    # Flange .4630-.4650, counterbore .4600-.4620 in, limit .002-.005: .001-.005 at worst. TM 5-6115-400-35 Table 1.
    asked = {"take": "counterbore: 0.4600 in to 0.4620 in", "low": "0.002 in", "high": "0.005 in"}
    bare = reader.read("stacks", add="flange: 0.4630 in to 0.4650 in", **asked).json()
    assert (bare["low_nm"], bare["high_nm"], bare["standing"]) == (10 * TENTH, 50 * TENTH, "to be measured")
    shimmed = reader.read("stacks", add="flange: 0.4630 in to 0.4650 in; shim: 0.005 in", **asked).json()
    assert (shimmed["low_nm"], shimmed["standing"]) == (60 * TENTH, "never within the limits")


def test_a_liner_that_stands_below_takes_two_shims_of_two_thousandths(reader):
    # Up to .003 in below the deck, shims of .002 in, two at most, the result not above .004 in: TM 5-3805-281-24-2. At .003 below
    # both make .001, from flush they make .004: within.
    asked = {"add": "first shim: 0.002 in; second shim: 0.002 in", "take": "below the deck: 0 in to 0.003 in"}
    body = reader.read("stacks", **asked, high="0.004 in").json()
    assert (body["low_nm"], body["high_nm"], body["standing"]) == (10 * TENTH, 40 * TENTH, "always within the limits")


@pytest.mark.parametrize(
    ("query", "code"),
    [
        ({}, "parameter-wrong"),
        ({"add": "9.03 mm"}, "stack-unreadable"),
        ({"add": "flange 9.03 mm"}, "stack-unreadable"),
        ({"add": "flange: 9.03"}, "quantity-unreadable"),
        ({"add": "flange: 9.05 mm to 9.03 mm"}, "stack-unreadable"),
        ({"add": "flange: 0.01 mm +- 0.02 mm"}, "stack-unreadable"),
        ({"add": "flange: 9.03 mm; flange: 9 mm"}, "stack-unreadable"),
        ({"add": "flange: 9.03 mm", "low": "0.2 mm", "high": "0.1 mm"}, "limits-unreadable"),
        ({"add": ";"}, "stack-unreadable"),
    ],
)
def test_what_is_no_stack(reader, query, code):
    assert reader.read("stacks", **query).json()["code"] == code


def test_a_family_that_says_nothing_of_new_parts_has_no_stack(reader):
    enter_family(actor=PersonFactory(), stamp=stamp(), document=family_document())
    assert reader.read("engine-families/Testbed-4/height-stack").json()["code"] == "no-limit"
    assert reader.read("engine-families/None-4/height-stack").json()["code"] == "not-found"
