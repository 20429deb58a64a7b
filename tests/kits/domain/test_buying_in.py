"""A part named for what is bought in is a line like any other."""

from copy import deepcopy

from kits.domain.buying_in import to_be_named, with_named, worked_at
from kits.domain.choices import settle
from kits.domain.explosion import explode
from kits.domain.listing import lines_of
from kits.domain.procedures import parse_operation
from kits.domain.settled import BUY_IN, Recorded
from tests.factories.engines import family, findings, found, line, number, operation_documents, operations

FAMILY = family()
OPERATIONS = operations(FAMILY)
CAM = "CAMSHAFT/camshaft"


def worn(*more):
    operation_list = [OPERATIONS["T2"], *more]
    return explode(FAMILY, operation_list, findings("cam-worn@ENGINE"), number("T4-00150")), operation_list


def word(part="", alternative=""):
    return Recorded("", CAM, alternative, part)


def test_the_newest_name_makes_a_line_and_the_buy_in_is_done():
    explosion, its = worn()
    assert [one.position for one in explosion.buy_ins] == [CAM]
    named = with_named(explosion, its, [word("CAM-1"), word("CAM-2")])
    (candidate,) = named.requirements[CAM, 1].candidates
    assert (candidate.part, candidate.line_class, candidate.amount.amount) == ("CAM-2", "always-new", 1)
    assert candidate.work == (("T2", 10, 1),)  # no line of the job is of its group: the first step
    assert candidate.becauses[0].sentence() == "T2 step 10: camshaft worn; bought in: camshaft"
    assert named.buy_ins == ()
    lines = lines_of(settle(named, {}), its)
    assert [(one.part, one.positions) for one in lines if one.part == "CAM-2"] == [("CAM-2", (CAM,))]
    assert list(named.requirements) == sorted(named.requirements, key=lambda key: (FAMILY.map.order(key[0]), key[1]))
    assert {key: one for key, one in named.requirements.items() if key[0] != CAM} == explosion.requirements


def test_without_a_word_or_a_finding_nothing_changes():
    explosion, its = worn()
    assert with_named(explosion, its, []) is explosion
    assert with_named(explosion, its, [Recorded("", "LIFTER-1/lifter", part="X")]) == explosion
    assert with_named(explosion, [], [word("CAM-1")]) == explosion
    quiet = explode(FAMILY, its, [], number("T4-00150"))
    assert with_named(quiet, its, [word("CAM-1")]) is quiet


def test_beside_a_listed_part_only_the_word_that_it_is_bought_in_lets_one_be_named():
    document = deepcopy(operation_documents()["T3"]) | {"code": "T9", "opens": []}
    document["lines"] = [line("cam", 40, "CAM-OLD", CAM, found("cam-worn", "any"))]
    explosion, its = worn(parse_operation(document, FAMILY))
    assert to_be_named(explosion, CAM, []) is None
    assert with_named(explosion, its, [word("CAM-1")]) == explosion
    words = [word(alternative=BUY_IN), word("CAM-1")]
    assert to_be_named(explosion, CAM, words) == explosion.buy_ins[0]
    named = with_named(explosion, its, words)
    assert [one.part for one in named.requirements[CAM, 1].candidates] == ["CAM-1"]
    assert named.requirements[CAM, 1].candidates[0].work == (("T9", 40, 1),)
    assert (named.conflicts, settle(named, {}, words).complete) == ((), True)
    # The listed part after all: its name settles the conflict as before.
    back = with_named(explosion, its, [*words, word("CAM-OLD")])
    assert [one.kind for one in back.conflicts] == ["buy-in"]


def test_it_is_worked_where_its_group_is_else_at_the_first_step_of_an_operation_that_has_one():
    assert worked_at(CAM, [OPERATIONS["T2"]]) == ("T2", 10, 1)
    assert worked_at(CAM, []) is None
    lifters = next(line for line in OPERATIONS["T2"].lines if line.positions[0].startswith("LIFTER"))
    assert worked_at("LIFTER-1/pushrod", [OPERATIONS["T1"], OPERATIONS["T2"]]) == ("T2", lifters.step, lifters.tray)
