"""Weights of pistons, taken together by the rules for readings."""

from kits.domain.bench import NO_LABEL, NOT_WEIGHED, LabelWeight, OnScales, Weighing, weighed


def test_weights_are_taken_together_as_readings_are():
    """Scales with u = 0.1 g: two weights agree within U = 2 · 0.1 g (ISO 14253-1's idea, from memory)."""
    good = [OnScales(1, 414_000, 100), OnScales(2, 414_200, 100)]
    old = OnScales(3, 416_000, 100, ("gauge out of date",))
    assert weighed([]) == NOT_WEIGHED
    assert weighed([old]) == Weighing(416_000, ("gauge out of date",), (3,))
    assert weighed([*good, old]) == Weighing(414_100, (), (1, 2))
    apart = weighed([good[0], OnScales(4, 414_201, 100)])
    assert (apart.weight_mg, apart.ids, len(apart.doubts)) == (None, (1, 4), 1)
    assert weighed([good[0], OnScales(4, 414_300, 100), good[1]]).weight_mg == 414_200


def test_a_label_s_weight_counts_only_where_pistons_are_weighed_the_same_way():
    label = LabelWeight(416_000, "without pin")
    assert label.other_than("without pin") == NO_LABEL.other_than("with pin") == ""
    said = "its label says a weight without pin, the limit is of pistons with pin: weigh it"
    assert label.other_than("with pin") == said
