"""Parts, lots and sets found by what somebody typed or read off a label, the nearest first."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.db.models import Case, Exists, IntegerField, OuterRef, Q, QuerySet, Value, When
from django.db.models.expressions import Combinable
from django.db.models.functions import Replace, Upper

from inventory.domain.part_numbers import compare_key
from inventory.domain.spelling import label_key
from inventory.models import Lot, MatchedSet, Part, Serial, SupplierPart
from inventory.queries.catalogue import near_numbers


def search_parts(rows: QuerySet[Part], text: str, also: QuerySet[Part]) -> QuerySet[Part]:
    """Of these parts those whose number, shop number or supplier's number is near, or which have the text in number or name, and those
    of `also`; each with its `rank`: 0 for the same number, then the nearest, then the rest. A supplier's number is the same however it
    is spaced and dashed."""
    near, key = near_numbers(text, Part.objects.values_list("number", flat=True)), compare_key(text)
    crossed = SupplierPart.objects.annotate(key=_plain("number")).filter(part=OuterRef("pk"), key=key)
    same = Q(compare_key=key) | Q(Exists(crossed)) | Q(shop_key=key)
    found = rows.annotate(shop_key=_plain("shop_number")).filter(
        same | Q(number__in=near) | Q(compare_key__contains=key) | Q(name__icontains=text) | Q(pk__in=also.values("pk"))
    )
    ranks = [When(same, then=Value(0)), *(When(number=one, then=Value(at)) for at, one in enumerate(near, 1))]
    return found.annotate(rank=Case(*ranks, default=Value(len(near) + 1), output_field=IntegerField()))


def search_lots(rows: QuerySet[Lot], text: str) -> QuerySet[Lot]:
    """Of these lots those of that code, however it is written; if there is none of it, those whose code is near or has the text in it.
    Each with its `rank`."""
    key = label_key(text)
    if Lot.objects.filter(compare_key=key).exists():
        return by_nearness(rows.filter(compare_key=key))
    near = near_numbers(text, Lot.objects.values_list("code", flat=True).distinct())
    return by_nearness(rows.filter(Q(code__in=near) | Q(code__icontains=text)), ("code", near))


def search_sets(rows: QuerySet[MatchedSet], text: str) -> QuerySet[MatchedSet]:
    """Of these sets those of that serial; if there is none, those whose serial is near or has the text in it. Each with its `rank`."""
    key, serials = compare_key(text), Serial.objects.filter(matched_set__isnull=False)
    if serials.filter(compare_key=key).exists():
        return by_nearness(rows.filter(serial__compare_key=key))
    near = near_numbers(text, serials.values_list("number", flat=True).distinct())
    found = rows.filter(Q(serial__number__in=near) | Q(serial__compare_key__contains=key))
    return by_nearness(found, ("serial__number", near))


def by_nearness(rows: QuerySet[Any], *near: tuple[str, Sequence[str]]) -> QuerySet[Any]:
    """The rows, each with its `rank`: where its text stands in the first of these lists (column, texts, the nearest first) that has it,
    behind them all where none has it."""
    ranks = [When(**{column: text}, then=Value(at)) for column, texts in near for at, text in enumerate(texts)]
    most = max((len(texts) for _, texts in near), default=0)
    found: QuerySet[Any] = rows.annotate(rank=Case(*ranks, default=Value(most), output_field=IntegerField()))
    return found


def _plain(column: str) -> Combinable:
    """A number in a column without what a compare-key leaves out of the numbers of makers: blanks, dashes, dots, slashes."""
    plain: Combinable = Upper(column)
    for sign in " -./":
        plain = Replace(plain, Value(sign))
    return plain
