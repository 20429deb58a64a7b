"""Which tables can be brought in, which columns each has, and by which headings people know them.

A heading is compared without case, spaces and punctuation. A column that is not known is kept with the row and named; two headings of
one meaning are refused, because nobody can say which counts.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from inventory.domain.errors import DomainError
from inventory.domain.import_cells import Reads
from inventory.domain.text import shown

MOST_COLUMNS = 100


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its name, how its cells are read, whether a file needs it, other headings for it; and whether a row may leave it empty
    all the same."""

    name: str
    reads: Reads
    needed: bool = False
    headings: tuple[str, ...] = ()
    may_be_empty: bool = False


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of table.

    key       the columns that make a row the same thing as another
    replaces  what a row says of a thing on record is its newest word, and counts from then on
    most      rows of a file at most; 0 for any number
    numbered  columns that name people by their number alone: a file that says more in one of them is not kept
    """

    name: str
    columns: tuple[Column, ...]
    key: tuple[str, ...]
    replaces: bool = False
    numbered: tuple[str, ...] = ()
    most: int = 0

    @property
    def reads(self) -> dict[str, Reads]:
        return {column.name: column.reads for column in self.columns}


_PART = Column("part", Reads.IDENTIFIER, True, ("part number", "number", "part no", "item"))
_PLACE = Column("place", Reads.IDENTIFIER, True, ("location", "store", "shelf"))
_SPOT = Column("spot", Reads.IDENTIFIER, False, ("bin",))
_LOT = ("lot number", "lot no", "batch")
_SERIAL = ("serial number", "serial no", "set serial")
_SUPPLIER = ("vendor", "from")

PARTS = Kind(
    "parts",
    (
        Column("number", Reads.IDENTIFIER, True, ("part number", "part no", "part")),
        Column("name", Reads.TEXT, True, ("description",)),
        Column("unit", Reads.TEXT, True, ("unit of measure", "uom")),
        Column("kind", Reads.TEXT, False, ("type",)),
        Column("tracked by", Reads.TEXT, False, ("tracking", "traced by")),
        Column("shop number", Reads.IDENTIFIER, False, ("our number",)),
        Column("compound", Reads.TEXT, False, ("rubber",)),
        Column("weight", Reads.AMOUNT),
        Column("pack", Reads.WHOLE, False, ("pack size",)),
        Column("price", Reads.MONEY, False, ("unit price",)),
        Column("hazard note", Reads.TEXT),
        Column("storage note", Reads.TEXT),
        Column("lubricant", Reads.TEXT),
        Column("life", Reads.TEXT, False, ("shelf life rule",)),
        Column("ring", Reads.TEXT),
        Column("label window", Reads.TEXT),
        Column("storage", Reads.TEXT),
        Column("packed volume", Reads.AMOUNT),
        Column("loose issue", Reads.TEXT),
        Column("density mg per mL", Reads.WHOLE),
        Column("net content", Reads.AMOUNT),
        Column("empty weight", Reads.AMOUNT),
        Column("replaced by", Reads.IDENTIFIER, False, ("superseded by",)),
        Column("replaced on", Reads.DAY, False, ("replaced since",)),
    ),
    ("number",),
)
SUPPLIERS = Kind(
    "suppliers",
    (
        Column("code", Reads.IDENTIFIER, True, ("supplier", "supplier code")),
        Column("name", Reads.TEXT, True, ("supplier name",)),
        Column("send back days", Reads.WHOLE),
        Column("facts", Reads.TEXT),
    ),
    ("code",),
)
PRICES = Kind(
    "prices",
    (
        Column("supplier", Reads.IDENTIFIER, True, _SUPPLIER),
        _PART,
        Column("their number", Reads.IDENTIFIER, False, ("supplier number", "catalogue number")),
        Column("price", Reads.MONEY, True, ("unit price",), may_be_empty=True),
        Column("pack", Reads.WHOLE, False, ("pack size",)),
        Column("least order", Reads.WHOLE, False, ("minimum order",)),
        Column("lead days", Reads.WHOLE, False, ("lead time",)),
        Column("express days", Reads.WHOLE, False, ("express lead time",)),
        Column("express price", Reads.MONEY, False, ("express costs more", "express surcharge")),
        Column("send back days", Reads.WHOLE),
    ),
    ("supplier", "part"),
    replaces=True,
)
LOTS = Kind(
    "lots",
    (
        _PART,
        Column("lot", Reads.IDENTIFIER, True, _LOT),
        Column("cured", Reads.IDENTIFIER, False, ("cure code", "cure date", "cure quarter")),
        Column("made on", Reads.DAY),
        Column("expires on", Reads.DAY, False, ("expiry", "use by", "best before")),
        Column("printed on", Reads.DAY, False, ("printed date",)),
        Column("expiry rule", Reads.TEXT),
        Column("extension years", Reads.WHOLE),
        Column("received on", Reads.DAY, False, ("received",)),
        Column("supplier", Reads.IDENTIFIER, False, _SUPPLIER),
    ),
    ("part", "lot"),
)
STOCK = Kind(
    "stock",
    (
        _PART,
        _PLACE,
        _SPOT,
        Column("amount", Reads.AMOUNT, True, ("quantity", "qty", "on hand")),
        Column("unit", Reads.TEXT, False, ("unit of measure", "uom")),
        Column("lot", Reads.IDENTIFIER, False, _LOT),
        Column("serial", Reads.IDENTIFIER, False, _SERIAL),
        Column("value", Reads.MONEY, False, ("total value", "total cost")),
        Column("remark", Reads.TEXT, False, ("note",)),
    ),
    ("part", "place", "spot", "lot", "serial"),
)
SETS = Kind(
    "sets",
    (
        _PART,
        Column("serial", Reads.IDENTIFIER, True, _SERIAL),
        _PLACE,
        _SPOT,
        Column("weight with pin", Reads.AMOUNT),
        Column("weight without pin", Reads.AMOUNT),
        Column("weight", Reads.AMOUNT),
        Column("bore", Reads.AMOUNT, False, ("liner bore",)),
        Column("piston", Reads.AMOUNT, False, ("piston diameter",)),
        Column("grade", Reads.TEXT),
        Column("liner mark", Reads.TEXT),
        Column("piston mark", Reads.TEXT),
        Column("value", Reads.MONEY, False, ("cost", "total cost")),
    ),
    ("part", "serial"),
)
#: Kinds whose things have labels, and which.
LABELLED = MappingProxyType({"lots": ("lot",), "stock": ("lot", "serial"), "sets": ("serial",)})
#: By name; those of the stores. Other apps add theirs in their `services/tables.py`.
KINDS = MappingProxyType({kind.name: kind for kind in (PARTS, SUPPLIERS, PRICES, LOTS, STOCK, SETS)})


def _plain(heading: str) -> str:
    return "".join(char for char in heading.casefold() if char.isalnum())


def match_headings(kind: Kind, headings: Sequence[str]) -> Mapping[int, str]:
    """Position of each known heading -> column name.

    Raises DomainError "heading-missing" with what is needed and was not found, "heading-twice", "too-many-columns".
    """
    if len(headings) > MOST_COLUMNS:
        raise DomainError(
            "too-many-columns", f"{len(headings)} columns; at most {MOST_COLUMNS}.", columns=len(headings)
        )
    names = {_plain(name): column.name for column in kind.columns for name in (column.name, *column.headings)}
    # a column's own name comes before another's second heading
    names |= {_plain(column.name): column.name for column in kind.columns}
    found: dict[int, str] = {}
    for at, heading in enumerate(headings):
        name = names.get(_plain(heading))
        if name is None:
            continue
        if name in found.values():
            raise DomainError(
                "heading-twice", f"Two columns of the file are {name}; nobody can say which counts.", column=name
            )
        found[at] = name
    missing = [column.name for column in kind.columns if column.needed and column.name not in found.values()]
    if missing:
        raise DomainError(
            "heading-missing",
            f"The file has no column {' and no column '.join(missing)}.",
            ways_out=(f"Its first row says: {', '.join(shown(heading) for heading in headings) or 'nothing'}.",),
            missing=missing,
            headings=[shown(heading) for heading in headings],
        )
    return found
