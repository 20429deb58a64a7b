"""How a number looks to a tired eye, as the databases say it."""

from __future__ import annotations

from functools import reduce

from django.db.models import CharField, Func

from inventory.domain.part_numbers import TAKEN_FOR


class Look(Func):
    """`inventory.domain.part_numbers.look_of` of a stored compare-key.

    Its letters stand in the statement itself: SQLite uses an index over an expression only where both are written alike, and a
    parameter is not.
    """

    template = reduce(lambda inner, one: f"REPLACE({inner}, '{one}', '{TAKEN_FOR[one]}')", TAKEN_FOR, "%(expressions)s")
    arity = 1
    output_field = CharField()


def look_sql(column: str) -> str:
    """The same of a column of a statement by hand, as the indexes have it. The column is never a user's."""
    return Look.template % {"expressions": column}
