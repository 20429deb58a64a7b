"""A pick list on paper: groups in order of work, one row for what is taken together, every caution once, what goes where."""

from typing import Any

from kits.domain.sheet import sheet


def held(part: str, hold: int, **more: Any) -> dict[str, Any]:
    return {
        "hold": hold, "part": part, "wanted": part, "item": hold, "lot": "", "serial": "", "tube": "", "place": "R1", "spot": "-",
        "amount": 1, "picked": 0, "base": "piece", "shown": "1", "state": "held", "on_approval": False, "positions": [],
    } | more  # fmt: skip


def line(number: int, step: int, part: str, places: list[str], **more: Any) -> dict[str, Any]:
    return {
        "line": number, "procedure": "T1", "step": step, "step_name": f"step {step}", "part": part, "spans": places, "tools": [],
        "cautions": [], "reasons": [f"T1 step {step} (x): T1 booked → head off: it must come off; why"], "held": [held(part, number)],
    } | more  # fmt: skip


def printed(
    *trays: list[dict[str, Any]], floor: tuple[Any, ...] = (), walk: tuple[Any, ...] = (), **more: Any
) -> dict[str, Any]:
    laid = [{"tray": at, "weight_g": 999 * at, "lines": lines} for at, lines in enumerate(trays, 1)]
    return sheet({"number": 1, "job": "J-1", "trays": laid, "floor": floor, "walk": walk} | more)


def test_groups_follow_the_order_of_work_and_the_floor_stands_where_its_step_is():
    page = printed(
        [
            line(2, 10, "RING", ["CYL-1/ring"], tools=["clamp"]),
            line(3, 10, "SOAP", ["CYL-1/soap"], tools=["clamp", "brush"]),
        ],
        [line(4, 20, "BOLT", ["HEAD/bolt-1"]), line(5, 30, "OIL", ["OIL/fill"])],
        floor=(line(1, 10, "SET", ["CYL-1/set"]),),
    )
    assert [(g["where"], g["weight"], g["step"], g["name"], g["tools"], [one["part"] for one in g["lines"]]) for g in page["work"]] == [
        ("Floor of the trolley", "", "T1/10", "step 10", [], ["SET"]),
        ("Tray 1", "", "T1/10", "step 10", ["clamp", "brush"], ["RING", "SOAP"]),
        ("Tray 2", "2.0 kg", "T1/20", "step 20", [], ["BOLT"]),
        ("Tray 2", "2.0 kg", "T1/30", "step 30", [], ["OIL"]),
    ]  # fmt: skip
    assert page["work"][0]["lines"][0]["brief"] == ["T1 booked → head off"]


def test_what_was_released_is_not_on_the_cart_and_a_line_of_nothing_else_is_not_printed():
    two = [held("RING", 2, state="released", serial="R-1"), held("RING", 3, serial="R-2")]
    page = printed(
        [
            line(1, 10, "RING", ["CYL-1/ring"], held=two),
            line(2, 10, "SOAP", [], held=[held("SOAP", 4, state="made impossible")]),
        ]
    )
    (group,) = page["work"]
    assert [(one["part"], one["where"]) for one in group["lines"]] == [("RING", ["R-2: CYL-1/ring"])]


def test_every_sentence_of_caution_stands_once_before_the_first_step_it_is_about():
    page = printed(
        [line(1, 10, "SEALANT", [], cautions=["Ventilate. Gloves on.", "Gloves on."])],
        [
            line(2, 20, "SEALANT", [], cautions=["Gloves on. Goggles on."]),
            line(3, 30, "BOLT", [], cautions=["Goggles on."]),
        ],
        [line(4, 40, "BOLT", [])],
    )
    assert [(group["step"], group["cautions"], group["cautions_at"]) for group in page["work"]] == [
        ("T1/10", ["Ventilate.", "Gloves on."], []),
        ("T1/20", ["Goggles on."], ["T1/10"]),
        ("T1/30", [], ["T1/20"]),
        ("T1/40", [], []),
    ]


def test_what_lies_together_is_taken_together():
    page = printed(
        walk=(
            held("TIP", 1, item=7, trays=[1], amount=2, shown="2"),
            held("TIP", 2, item=7, trays=[3], picked=1),
            held("TIP", 3, item=7, state="picked", trays=[2]),
            held("TIP", 4, item=7, place="R2", trays=[4]),
            held("TUBE", 5, item=8, base="microlitre", amount=14_000, shown="14 mL", trays=[1]),
            held("TUBE", 6, item=8, base="microlitre", amount=3_000, shown="3 mL", trays=[2]),
        )
    )
    assert [(r["part"], r["place"], r["state"], r["shown"], r["picked"], r["trays"], r["again"]) for r in page["walk"]] == [
        ("TIP", "R1", "held", "3", 1, [1, 3], False),
        ("TIP", "R1", "picked", "1", 0, [2], True),
        ("TIP", "R2", "held", "1", 0, [4], True),
        ("TUBE", "R1", "held", "14 mL", 0, [1], False),
        ("TUBE", "R1", "held", "3 mL", 0, [2], True),
    ]  # fmt: skip


def test_sets_tubes_and_several_lots_say_where_each_goes():
    def at(*names: str) -> list[dict[str, Any]]:
        return [{"position": name, "make": 1, "amount": 1} for name in names]

    sets = [
        held("SET", 1, serial="S-2", positions=at("CYL-1/set")),
        held("SET", 2, serial="S-1", positions=at("CYL-2/set")),
    ]
    rings = [
        held("RING", 3, lot="L-A", positions=at("CYL-1/ring")),
        held("RING", 4, lot="L-B", positions=at("CYL-2/ring")),
    ]
    page = printed(
        [
            line(1, 10, "SET", ["CYL-1/set", "CYL-2/set"], held=sets),
            line(2, 10, "RING", ["CYL-1/ring", "CYL-2/ring"], held=rings),
            line(3, 10, "SEALANT", ["SUMP/bead"], held=[held("SEALANT", 5, tube="OPEN-1", lot="L-C")]),
            line(4, 10, "GASKET", ["HEAD/gasket"], held=[held("NEW", 6, wanted="GASKET", lot="L-D")]),
            line(5, 10, "BOLT", ["bolt-1 to bolt-9"], held=[held("BOLT", 7, lot="L-E")]),
        ]
    )
    assert [one["where"] for one in page["work"][0]["lines"]] == [
        ["S-2: CYL-1/set", "S-1: CYL-2/set"],
        ["L-A: CYL-1/ring", "L-B: CYL-2/ring"],
        ["OPEN-1: SUMP/bead"],
        ["NEW instead: HEAD/gasket"],
        ["bolt-1 to bolt-9"],
    ]


def test_the_foot_has_no_sign_that_ends_a_text_of_a_style_sheet():
    assert printed(job='J-1"; } * { x\\')["foot"] == "Pick list 1 of job J-1__ _ _ _ x_"
