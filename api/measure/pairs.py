"""A read or an act and its twin, one after the other, timed; their answers held against each other."""

from __future__ import annotations

import gc
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from django.db import connection

from api.measure.same import first_difference
from api.measure.table import OtherAnswer, Sample


@contextmanager
def _counted() -> Iterator[list[str]]:
    """Statements that are run inside, but for the opening and closing of the transaction."""
    seen: list[str] = []

    def keep(execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        seen.append(sql)
        return execute(sql, params, many, context)

    with connection.execute_wrapper(keep):
        yield seen


def _timed(work: Callable[[], Any]) -> tuple[Any, int]:
    gc.collect()
    gc.disable()
    try:
        began = time.perf_counter_ns()
        answer = work()
        return answer, time.perf_counter_ns() - began
    finally:
        gc.enable()


def pair(sample: Sample, number: int, act: Callable[[], Any], twin: Callable[[], Any]) -> tuple[Any, Any]:
    """Both answers; timed but for the first pair, in which the act's statements are counted."""
    if number == 0:
        with _counted() as seen:
            answer = act()
        sample.queries = len(seen)
        return answer, twin()
    if number % 2:
        answer, taken = _timed(act)
        other, twin_taken = _timed(twin)
    else:
        other, twin_taken = _timed(twin)
        answer, taken = _timed(act)
    sample.taken_ns.append(taken)
    sample.twin_ns.append(twin_taken)
    return answer, other


def must_equal(sample: Sample, number: int, answer: Any, other: Any) -> None:
    if answer != other:
        raise OtherAnswer(f"{sample.act}: answer and twin's differ: {first_difference(answer, other)}")
    sample.equal += number > 0
