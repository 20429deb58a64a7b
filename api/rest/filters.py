"""Query parameters: each list names its own, and one that it does not know is refused, not passed over.

A mistyped filter that is passed over answers with the whole list, and somebody orders parts by it.
"""

from __future__ import annotations

from typing import Any

import django_filters
from django.core.validators import RegexValidator
from rest_framework.request import Request

from api.rest.parsers import check_text
from api.rest.problems import refuse
from inventory.domain.text import shown

MOST_CHARACTERS = 200


class StrictFilterSet(django_filters.FilterSet):
    """Filters of one list; every one is declared by hand with its help text, so the description of the service can say it."""


def text(field: str, help_text: str, **more: Any) -> django_filters.CharFilter:
    """Equal to a text."""
    return django_filters.CharFilter(field_name=field, help_text=help_text, max_length=MOST_CHARACTERS, **more)


def number(field: str, help_text: str) -> django_filters.CharFilter:
    """Equal to the number of a record."""
    digits = RegexValidator(r"\A[0-9]{1,15}\Z", "This is no number of a record.")
    return django_filters.CharFilter(field_name=field, help_text=help_text, validators=[digits])


def choice(field: str, values: list[str], help_text: str, **more: Any) -> django_filters.ChoiceFilter:
    """One of a closed list."""
    return django_filters.ChoiceFilter(
        field_name=field,
        choices=[(value, value) for value in values],
        help_text=help_text,
        null_label=None,
        empty_label=None,
        error_messages={"invalid_choice": f'"%(value)s" is none of: {", ".join(values)}.'},
        **more,
    )


def day(field: str, lookup: str, help_text: str, **more: Any) -> django_filters.DateFilter:
    """A day, compared."""
    return django_filters.DateFilter(field_name=field, lookup_expr=lookup, help_text=help_text, **more)


def moment(field: str, lookup: str, help_text: str) -> django_filters.IsoDateTimeFilter:
    """A moment, compared."""
    return django_filters.IsoDateTimeFilter(field_name=field, lookup_expr=lookup, help_text=help_text)


class Truth(django_filters.TypedChoiceFilter):
    """`true` or `false`, nothing else; the method gets the truth value."""

    def __init__(self, help_text: str, *, method: str) -> None:
        super().__init__(
            method=method,
            help_text=help_text,
            choices=[("true", "true"), ("false", "false")],
            coerce=lambda word: word == "true",
            empty_value=None,
        )


def check_parameters(request: Request, known: set[str]) -> None:
    """DomainError "parameter-unknown" or "parameter-wrong" (given twice, empty, too long) naming the parameter."""
    for name, values in request.query_params.lists():
        if name not in known:
            raise refuse(
                "parameter-unknown",
                f'There is no query parameter "{shown(name)}" here.',
                ways_out=(f"It takes {', '.join(sorted(known))}." if known else "It takes none.",),
                parameter=shown(name),
                known=sorted(known),
            )
        if len(values) > 1:
            raise refuse("parameter-wrong", f"{name} is given {len(values)} times.", parameter=name)
        if not values[0].strip():  # blanks alone are nothing to a filter either
            raise refuse("parameter-wrong", f"{name} is empty.", parameter=name, value="")
        if name != "cursor" and len(values[0]) > MOST_CHARACTERS:
            raise refuse(
                "parameter-wrong",
                f"{name} is longer than {MOST_CHARACTERS} characters.",
                parameter=name,
                value=shown(values[0]),
            )
        check_text(values[0], name)
