"""Joints of a family's facts, and which sealant suits which faces."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from inventory.domain.errors import DomainError
from inventory.domain.product_sheets import CURES, DRYING, MOISTURE, NO_AIR
from kits.domain.families import Family, parse_family
from kits.domain.joints import FACES, Joint, sensor_question, unsuitable
from tests.factories.engines import family_document

SUMP = {"name": "sump", "at": ["SUMP/bead"], "product": "RTV", "bolts": 12}


def _family(*joints: dict[str, Any]) -> Family:
    return parse_family(family_document() | {"facts": {"joints": list(joints)}})


def test_a_joint_is_named_by_the_group_of_its_positions() -> None:
    rings = {"name": "each ring", "at": "CYL-*/ring", "nozzle": "SUMP/bead", "product": "RTV", "bolts": 2}
    found = _family(SUMP | {"faces": "pressed steel", "flange": "14 mm", "gap": "0.5 mm", "helper": True}, rings).joints
    assert sorted(found) == ["CYL-1", "CYL-2", "CYL-3", "CYL-4", "SUMP"]
    assert found["SUMP"] == Joint(
        "SUMP", "sump", ("SUMP/bead",), "", "RTV", 12, "pressed steel", 14_000_000, 500_000, True
    )
    assert found["CYL-3"] == Joint("CYL-3", "each ring", ("CYL-3/ring",), "SUMP/bead", "RTV", 2, "", None, None, False)
    assert _family().joints == {}


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"at": ["SUMP/beard"]}, "'SUMP/beard' is not a place"),
        ({"at": []}, "'at' must be a use position"),
        ({"nozzle": "SUMP/tip"}, "is no use position"),
        ({"bolts": -1}, "'bolts' must be a whole number"),
        ({"faces": "wood"}, "'faces' is 'wood'"),
        ({"flange": "14"}, "there is no unit"),
        ({"flange": "0 mm"}, "is nothing"),
        ({"gap": "3 mL"}, "a length is wanted"),
        ({"helper": "yes"}, "'helper' must be true or false"),
        ({"bolt": 3}, "unknown key 'bolt'"),
    ],
)
def test_a_joint_that_cannot_be_read_stops_the_family(wrong: dict[str, Any], said: str) -> None:
    with pytest.raises(DomainError) as refused:
        _family(SUMP | wrong)
    assert refused.value.code == "family-unusable"
    assert said in refused.value.message


def test_two_joints_of_one_group_are_refused() -> None:
    with pytest.raises(DomainError) as refused:
        _family(SUMP, SUMP | {"name": "sump again", "at": ["SUMP/washer"]})
    assert "holds another sealed joint" in refused.value.message


def _joint(faces: str, product: str = "RTV") -> Joint:
    return Joint("SUMP", "sump", ("SUMP/bead",), "", product, 12, faces, None, None, False)


def test_which_sealant_suits_which_faces() -> None:
    """Common practice: RTV bead on flexing pressed steel, anaerobic film on machined faces, each refused on the other."""
    suits = {faces: {cures for cures in CURES if not unsuitable(_joint(faces), "RTV", cures)} for faces in ("", *FACES)}
    assert suits == {
        "": set(CURES),
        "pressed steel": {MOISTURE},
        "cast cover": {MOISTURE},
        "corner": {MOISTURE},
        "machined": {NO_AIR},
        "sliding": {DRYING},
        "liner seat": set(CURES),
    }
    assert "flexes" in unsuitable(_joint("pressed steel"), "FILM", NO_AIR)
    assert "no room for a bead" in unsuitable(_joint("machined"), "RTV", MOISTURE)


def test_a_liner_seat_takes_the_makers_product_only() -> None:
    assert unsuitable(_joint("liner seat", "RTV"), "RTV", MOISTURE) == ""
    assert "takes the product that the maker names, RTV, not OTHER" in unsuitable(
        _joint("liner seat", "RTV"), "OTHER", MOISTURE
    )
    # elsewhere the same product in another tube serves as well
    assert unsuitable(_joint("pressed steel", "RTV"), "OTHER", MOISTURE) == ""


def test_without_a_sheet_only_the_makers_product_in_the_form_of_its_faces() -> None:
    """Common practice: a bead bridges the wide gap of steel and cast covers, a film stays between close faces."""
    beads = {faces for faces in FACES if not unsuitable(_joint(faces), "RTV", None, bead=True)}
    films = {faces for faces in FACES if not unsuitable(_joint(faces), "RTV", None, bead=False)}
    assert beads == {"pressed steel", "cast cover", "corner", "liner seat"}
    assert films == {"machined", "sliding", "liner seat"}
    assert "a bead is listed on machined" in unsuitable(_joint("machined"), "RTV", None, bead=True)
    unknown = unsuitable(_joint("pressed steel", "RTV"), "OTHER", None)
    assert unknown == "how OTHER cures is not known, no product sheet of it is on record; the maker names RTV"
    # of faces that the document does not name nothing is said
    assert unsuitable(_joint("", "RTV"), "OTHER", None) == ""


def test_sensors_ask_and_what_is_not_known_is_no() -> None:
    asks = replace(_joint(""), sensor_safe=True)
    assert [bool(sensor_question(asks, "RTV", said)) for said in (True, False, None)] == [False, True, True]
    assert [sensor_question(_joint(""), "RTV", said) for said in (True, False, None)] == ["", "", ""]
