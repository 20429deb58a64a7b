"""Queries of one fixed shape, composed once: every act asks them, and composing one takes ten times as long as running it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from django.db import DEFAULT_DB_ALIAS, connection
from django.db.models import Model, QuerySet
from django.db.models.query import RelatedPopulator

from inventory.queries.by_hand import rows

_Row = TypeVar("_Row", bound=Model)


@dataclass(frozen=True, slots=True)
class _Composed:
    """The statement of one kind of database, which argument each of its parameters is (-1: the constant), and how its rows become
    objects, with what was annotated."""

    sql: str
    order: Sequence[int]
    constants: Sequence[Any]
    compiler: Any
    names: Sequence[str]
    span: slice
    related: Sequence[Any]
    annotated: Sequence[tuple[str, int]]
    converters: Any


class Prepared(Generic[_Row]):
    """A query of which only its arguments differ: `query(*arguments)`, as the query set itself would answer.

    compose   the query set for given arguments; it may join by select_related, annotate, and leave fields away by defer
    like      arguments to compose with, no two of them equal: they show where each stands in the statement
    fixed     other values that the query set always asks with; none equals one of `like`
    """

    def __init__(self, compose: Callable[..., QuerySet[_Row]], *like: Any, fixed: Collection[Any] = ()) -> None:
        self._compose, self._like, self._fixed = compose, like, fixed
        self._composed: dict[str, _Composed] = {}

    def __call__(self, *arguments: Any) -> list[_Row]:
        """The objects. One query."""
        it = self._composed.get(connection.vendor) or self._prepare()
        values = [arguments[at] if at >= 0 else held for at, held in zip(it.order, it.constants, strict=True)]
        found: Any = rows(it.sql, values)
        if it.converters:
            found = it.compiler.apply_converters(found, it.converters)
        objects = []
        for row in found:
            made = it.compiler.query.model.from_db(DEFAULT_DB_ALIAS, it.names, row[it.span])
            for populator in it.related:
                populator.populate(row, made)
            for name, at in it.annotated:
                setattr(made, name, row[at])
            objects.append(made)
        return objects

    def _prepare(self) -> _Composed:
        compiler: Any = self._compose(*self._like).query.get_compiler(DEFAULT_DB_ALIAS)
        sql, parameters = compiler.as_sql()
        order = [self._like.index(value) if value in self._like else -1 for value in parameters]
        own = (*self._like, *self._fixed, 1)  # Django writes an EXISTS as SELECT 1
        foreign = [value for value in parameters if value not in own]
        if {*order} - {-1} != {*range(len(self._like))} or foreign or compiler.klass_info is None:
            raise RuntimeError("a prepared query takes its arguments and nothing else, and gives objects of tables")
        info, select = compiler.klass_info, compiler.select
        populator: Any = RelatedPopulator
        first, last = info["select_fields"][0], info["select_fields"][-1] + 1
        made = _Composed(
            sql,
            order,
            parameters,
            compiler,
            [column[0].target.attname for column in select[first:last]],
            slice(first, last),
            [populator(its, select, DEFAULT_DB_ALIAS) for its in info.get("related_klass_infos", ())],
            [*compiler.annotation_col_map.items()],
            compiler.get_converters([column[0] for column in select]),
        )
        self._composed[connection.vendor] = made
        return made
