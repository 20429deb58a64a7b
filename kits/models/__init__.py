"""Tables of the rebuilds."""

from kits.models.build import AfterRunDone, CheckerDuty, FirstRun, LeakTest, LeakTestRing, PhotoLook, PistonCheck
from kits.models.extra_hours import WorkedTime, WorkedTimeReversal
from kits.models.families import EngineFamily, FamilyRevision, PartsLine, Procedure, ProcedureRevision
from kits.models.gauges import Calibration, Gauge, GaugeStudy, GaugeWithdrawal
from kits.models.given import GiveBack, GivenThing
from kits.models.jobs import (
    Approval,
    Engine,
    FindingWithdrawal,
    Job,
    JobChoice,
    JobDate,
    JobEnd,
    JobFinding,
    JobOperation,
    Owner,
)
from kits.models.kit import (
    BinToCount,
    CribTool,
    Extra,
    ExtraFinding,
    Fitting,
    FittingCorrection,
    Found,
    Handover,
    Inspection,
    JobHold,
    LostPosition,
    NotNeeded,
    OriginWord,
    PickList,
    Removal,
    SecondLook,
    ToolBack,
    ToolLoan,
)
from kits.models.layouts import AcceptedLayout, LayoutPlace, LayoutWithdrawal
from kits.models.outside import OutsideDue, OutsideReturn, OutsideWork
from kits.models.readings import Reading, ReadingWithdrawal
from kits.models.results import Acceptance, MeasuredResult, ResultReading
from kits.models.reviews import DoubtAnswered, LineDoubt, LineReview
from kits.models.revisions import RevisionWord
from kits.models.sealing import Bead, Gate
from kits.models.sizes import EngineSize, EngineSizeReading, EngineSizeWithdrawal
from kits.models.terms import EngineHandover, MeterReading
from kits.models.washed_out import HotWash, WashedCount

__all__ = [
    "AcceptedLayout",
    "Acceptance",
    "AfterRunDone",
    "Approval",
    "Bead",
    "BinToCount",
    "CheckerDuty",
    "Calibration",
    "CribTool",
    "DoubtAnswered",
    "Engine",
    "EngineFamily",
    "EngineHandover",
    "EngineSize",
    "EngineSizeReading",
    "EngineSizeWithdrawal",
    "Extra",
    "ExtraFinding",
    "FamilyRevision",
    "FindingWithdrawal",
    "FirstRun",
    "Fitting",
    "FittingCorrection",
    "Found",
    "Gauge",
    "GaugeStudy",
    "GaugeWithdrawal",
    "Gate",
    "GiveBack",
    "GivenThing",
    "Handover",
    "HotWash",
    "Inspection",
    "Job",
    "JobChoice",
    "JobDate",
    "JobEnd",
    "JobFinding",
    "JobHold",
    "JobOperation",
    "LayoutPlace",
    "LayoutWithdrawal",
    "LeakTest",
    "LeakTestRing",
    "LineDoubt",
    "LineReview",
    "MeterReading",
    "MeasuredResult",
    "LostPosition",
    "NotNeeded",
    "OriginWord",
    "OutsideDue",
    "OutsideReturn",
    "OutsideWork",
    "Owner",
    "PartsLine",
    "PhotoLook",
    "PickList",
    "PistonCheck",
    "Procedure",
    "ProcedureRevision",
    "Reading",
    "ReadingWithdrawal",
    "Removal",
    "ResultReading",
    "RevisionWord",
    "SecondLook",
    "ToolBack",
    "ToolLoan",
    "WashedCount",
    "WorkedTime",
    "WorkedTimeReversal",
]
