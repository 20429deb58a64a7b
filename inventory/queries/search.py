"""Parts found by what somebody typed or read off a label."""

from __future__ import annotations

from django.db.models import Case, Exists, IntegerField, OuterRef, Q, QuerySet, Value, When
from django.db.models.expressions import Combinable
from django.db.models.functions import Replace, Upper

from inventory.domain.part_numbers import compare_key
from inventory.models import Part, SupplierPart
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


def _plain(column: str) -> Combinable:
    """A number in a column without what a compare-key leaves out of the numbers of makers: blanks, dashes, dots, slashes."""
    plain: Combinable = Upper(column)
    for sign in " -./":
        plain = Replace(plain, Value(sign))
    return plain
