"""The register and the plans: one noun a module."""

from .assemblies import Assembly, Build, CrimpReading, Inspection, RemovalCause
from .backtests import Backtest
from .decisions import ChangeoutDecision, DecisionKind, InspectionRequest
from .kits import Kit, KitAssembly, KitPart, KitPartState, KitState
from .machines import Machine, MeterReading, ServiceWindow, Site, SiteLabour
from .organizations import AccessToken, Invitation, Membership, Organization, Role, Setting, User
from .parts import CrimpSpec, Design, DesignPart, Part, PartKind
from .plans import LINES, Plan
from .policies import ChosenAgeRule, Policy
from .positions import Line, Position
from .readings import FolderReading, ReadingState
from .runs import Run, RunState
from .sending import CalendarFeed, ColumnMapping, SentEntry
from .stock import OpenOrder, StockMove, StockPiece
from .what_ifs import WhatIf

__all__ = [
    "LINES",
    "AccessToken",
    "Assembly",
    "Backtest",
    "Build",
    "CalendarFeed",
    "ChangeoutDecision",
    "ChosenAgeRule",
    "ColumnMapping",
    "CrimpReading",
    "CrimpSpec",
    "DecisionKind",
    "Design",
    "DesignPart",
    "FolderReading",
    "Inspection",
    "InspectionRequest",
    "Invitation",
    "Kit",
    "KitAssembly",
    "KitPart",
    "KitPartState",
    "KitState",
    "Line",
    "Machine",
    "Membership",
    "MeterReading",
    "OpenOrder",
    "Organization",
    "Part",
    "PartKind",
    "Plan",
    "Policy",
    "Position",
    "ReadingState",
    "RemovalCause",
    "Role",
    "Run",
    "RunState",
    "SentEntry",
    "ServiceWindow",
    "Setting",
    "Site",
    "SiteLabour",
    "StockMove",
    "StockPiece",
    "User",
    "WhatIf",
]
