"""Queries of one fixed shape, composed once: every act asks them, and composing one takes ten times as long as running it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from django.db import DEFAULT_DB_ALIAS, connection
from django.db.models import Model, QuerySet
from django.db.models.query import RelatedPopulator

from inventory.queries.by_hand import rows

_Row = TypeVar("_Row", bound=Model)


@dataclass(frozen=True, slots=True)
class _Composed:
    """The statement of one kind of database, which argument each of its parameters is, and how its rows become objects."""

    sql: str
    order: Sequence[int]
    compiler: Any
    names: Sequence[str]
    span: slice
    related: Sequence[Any]
    converters: Any


class Prepared(Generic[_Row]):
    """A query whose only parameters are its arguments: `query(*arguments)`, as the query set itself would answer.

    compose   the query set for given arguments; it may join by select_related and leave fields away by defer
    like      arguments to compose with, no two of them equal: they show where each stands in the statement
    """

    def __init__(self, compose: Callable[..., QuerySet[_Row]], *like: Any) -> None:
        self._compose, self._like = compose, like
        self._composed: dict[str, _Composed] = {}

    def __call__(self, *arguments: Any) -> list[_Row]:
        """The objects. One query."""
        it = self._composed.get(connection.vendor) or self._prepare()
        found: Any = rows(it.sql, [arguments[at] for at in it.order])
        if it.converters:
            found = it.compiler.apply_converters(found, it.converters)
        objects = []
        for row in found:
            made = it.compiler.query.model.from_db(DEFAULT_DB_ALIAS, it.names, row[it.span])
            for populator in it.related:
                populator.populate(row, made)
            objects.append(made)
        return objects

    def _prepare(self) -> _Composed:
        compiler: Any = self._compose(*self._like).query.get_compiler(DEFAULT_DB_ALIAS)
        sql, parameters = compiler.as_sql()
        order = [self._like.index(value) for value in parameters if value in self._like]
        if sorted(order) != [*range(len(self._like))] or len(order) < len(parameters) or compiler.annotation_col_map:
            raise RuntimeError("a prepared query takes its arguments and nothing else, and gives objects of tables")
        info, select = compiler.klass_info, compiler.select
        populator: Any = RelatedPopulator
        first, last = info["select_fields"][0], info["select_fields"][-1] + 1
        made = _Composed(
            sql,
            order,
            compiler,
            [column[0].target.attname for column in select[first:last]],
            slice(first, last),
            [populator(its, select, DEFAULT_DB_ALIAS) for its in info.get("related_klass_infos", ())],
            compiler.get_converters([column[0] for column in select]),
        )
        self._composed[connection.vendor] = made
        return made
