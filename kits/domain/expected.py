"""The fact `spans` of a family: where new parts lie, by what is measured on them. What cannot be read is a named problem."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from kits.domain.fact_values import one_amount
from kits.domain.reading import Reader
from kits.domain.readings import WHAT

#: Code of what is measured -> its least and its most, in base units.
Spans = Mapping[str, tuple[int, int]]


def read_spans(facts: Mapping[str, Any], reader: Reader) -> Spans:
    """`spans` of the facts: `{code of what is measured: {"low", "high"}}`; each problem is said to the reader with its code."""
    if "spans" not in facts:
        return {}
    found = {}
    for what, entry in reader.mapping(facts["spans"], "facts, spans", frozenset(WHAT)).items():
        if what not in WHAT:
            continue
        where, its = f"facts, spans, {what}", WHAT[what]
        ends = reader.mapping(entry, where, frozenset({"low", "high"}))
        low, high = (
            one_amount(ends.get(end), f"{where}, {end}", its.dimension, reader, below_zero=its.below_zero)
            for end in ("low", "high")
        )
        if low is None or high is None:
            continue
        if low > high:
            reader.problem(where, "'low' is above 'high'")
        else:
            found[what] = (low, high)
    return found
