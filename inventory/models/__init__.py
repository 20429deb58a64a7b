"""Tables of the stores."""

from inventory.models.acts import Act, Outcome, Refusal
from inventory.models.certificates import Certificate, CertificateFile, CertificateLot
from inventory.models.costs import InvoiceTotal
from inventory.models.holds import Free, Hold, HoldEnd, SetBreak, Short, Stop
from inventory.models.imports import ImportAnswer, ImportBooked, ImportFile, ImportRow
from inventory.models.inspections import LotInspection, SamplePlan
from inventory.models.items import InnerLot, Item, KitAssembly, LifeExtension, Lot, MatchedSet, Serial, Tube
from inventory.models.movements import Balance, Movement
from inventory.models.offline import Clash, ClashAnswer, LateAct
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
from inventory.models.storage import (
    PlaceStorage,
    StorageCheck,
    StorageWord,
    TemperatureReading,
    TemperatureWithdrawal,
)

__all__ = [
    "Accepted",
    "Act",
    "Balance",
    "Certificate",
    "CertificateFile",
    "CertificateLot",
    "Clash",
    "ClashAnswer",
    "CoreValue",
    "Credit",
    "Deposit",
    "DepositEntry",
    "FailedLogin",
    "Free",
    "Hold",
    "HoldEnd",
    "ImportAnswer",
    "ImportBooked",
    "ImportFile",
    "ImportRow",
    "InnerLot",
    "InvoiceTotal",
    "Item",
    "KitContent",
    "KitRevision",
    "KitAssembly",
    "LateAct",
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
    "PlaceStorage",
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
    "StorageCheck",
    "StorageWord",
    "Supplier",
    "SupplierPart",
    "TemperatureReading",
    "TemperatureWithdrawal",
    "SupplierReturn",
    "SupplierReturnLine",
    "Tube",
]
