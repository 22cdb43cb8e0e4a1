"""Formulas, packs, batches, the vessels they stand in, and the two ledgers of volume and load."""

from chemistry.models.batch import Batch, BatchState, BatchStep, Origin
from chemistry.models.bathtest import BathTest
from chemistry.models.charge import Charge
from chemistry.models.checkin import CheckIn, Reversal
from chemistry.models.cost import CostShare
from chemistry.models.destination import Destination
from chemistry.models.formula import Formula, FormulaVersion, VersionState
from chemistry.models.level import LevelReading
from chemistry.models.line import Line, LineStep, StepRole
from chemistry.models.movement import Movement, Place
from chemistry.models.pack import Pack, PackState
from chemistry.models.plan import Hold, TankPlan
from chemistry.models.stop import Lifting, Stop
from chemistry.models.substance import SubstanceOverride
from chemistry.models.termbreak import TermBreak
from chemistry.models.transfer import Transfer, TransferKind
from chemistry.models.traysession import SessionTray, Tally, TraySession
from chemistry.models.vessel import Vessel, VesselState

__all__ = [
    "Batch",
    "BatchState",
    "BatchStep",
    "BathTest",
    "Charge",
    "CheckIn",
    "CostShare",
    "Destination",
    "Formula",
    "FormulaVersion",
    "Hold",
    "LevelReading",
    "Lifting",
    "Line",
    "LineStep",
    "Movement",
    "Origin",
    "Pack",
    "PackState",
    "Place",
    "Reversal",
    "SessionTray",
    "StepRole",
    "Stop",
    "SubstanceOverride",
    "Tally",
    "TankPlan",
    "TermBreak",
    "Transfer",
    "TransferKind",
    "TraySession",
    "VersionState",
    "Vessel",
    "VesselState",
]
