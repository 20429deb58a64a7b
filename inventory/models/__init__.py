"""Tables of the stores."""

from inventory.models.acts import Act, Outcome, Refusal
from inventory.models.holds import Free, Hold, HoldEnd, SetBreak, Short, Stop
from inventory.models.imports import ImportAnswer, ImportBooked, ImportFile, ImportRow
from inventory.models.items import InnerLot, Item, KitAssembly, LifeExtension, Lot, MatchedSet, Serial, Tube
from inventory.models.movements import Balance, Movement
from inventory.models.old_units import Deposit, DepositEntry, OldUnit, OldUnitSent, OldUnitTag
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
from inventory.models.receipts import Receipt, ReceiptLine
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
    "Act",
    "Balance",
    "CoreValue",
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
    "Item",
    "KitContent",
    "KitRevision",
    "KitAssembly",
    "LifeExtension",
    "Lot",
    "MatchedSet",
    "Movement",
    "OldUnit",
    "OldUnitSent",
    "OldUnitTag",
    "Outcome",
    "Part",
    "PartAtSite",
    "PartJoin",
    "PartPhoto",
    "Person",
    "Place",
    "PlaceStorage",
    "Receipt",
    "ReceiptLine",
    "Refusal",
    "Replacement",
    "ReplacementCompanion",
    "ReplacementPart",
    "SafetySheet",
    "SafetySheetReading",
    "Scrap",
    "SealantSheet",
    "Serial",
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
    "Tube",
]
