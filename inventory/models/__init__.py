"""Tables of the stores."""

from inventory.models.acts import Act, Outcome, Refusal
from inventory.models.certificates import Certificate, CertificateFile, CertificateLot
from inventory.models.holds import Free, Hold, HoldEnd, SetBreak, Short, Stop
from inventory.models.inspections import LotInspection, SamplePlan
from inventory.models.items import InnerLot, Item, LifeExtension, Lot, MatchedSet, Serial, Tube
from inventory.models.movements import Balance, Movement
from inventory.models.old_units import Deposit, DepositEntry, OldUnit, OldUnitSent, OldUnitTag
from inventory.models.orders import OrderLine, OrderLineEnd, OrderPromise, PurchaseOrder
from inventory.models.parts import (
    KitContent,
    KitRevision,
    Part,
    PartAtSite,
    PartJoin,
    PartPhoto,
    Replacement,
    ReplacementCompanion,
    ReplacementPart,
    SafetySheet,
    SafetySheetReading,
    SealantSheet,
    SheetReading,
    Supplier,
    SupplierPart,
)
from inventory.models.people import FailedLogin, Person
from inventory.models.places import Place, ShopSetting, Site, Spot
from inventory.models.receipts import (
    Accepted,
    Credit,
    Receipt,
    ReceiptLine,
    Reject,
    SetAside,
    SupplierReturn,
    SupplierReturnLine,
)
from inventory.models.scraps import Scrap
from inventory.models.sets import CoreValue, SetMatch, SetMatchMember

__all__ = [
    "Accepted",
    "Act",
    "Balance",
    "Certificate",
    "CertificateFile",
    "CertificateLot",
    "CoreValue",
    "Credit",
    "Deposit",
    "DepositEntry",
    "FailedLogin",
    "Free",
    "Hold",
    "HoldEnd",
    "InnerLot",
    "Item",
    "KitContent",
    "KitRevision",
    "LifeExtension",
    "Lot",
    "LotInspection",
    "MatchedSet",
    "Movement",
    "OldUnit",
    "OldUnitSent",
    "OldUnitTag",
    "OrderLine",
    "OrderLineEnd",
    "OrderPromise",
    "Outcome",
    "Part",
    "PartAtSite",
    "PartJoin",
    "PartPhoto",
    "Person",
    "Place",
    "PurchaseOrder",
    "Receipt",
    "ReceiptLine",
    "Refusal",
    "Reject",
    "Replacement",
    "ReplacementCompanion",
    "ReplacementPart",
    "SafetySheet",
    "SafetySheetReading",
    "SamplePlan",
    "Scrap",
    "SealantSheet",
    "Serial",
    "SetAside",
    "SetBreak",
    "SetMatch",
    "SetMatchMember",
    "SheetReading",
    "ShopSetting",
    "Short",
    "Site",
    "Spot",
    "Stop",
    "Supplier",
    "SupplierPart",
    "SupplierReturn",
    "SupplierReturnLine",
    "Tube",
]
