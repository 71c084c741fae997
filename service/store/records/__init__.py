"""Tables. They do not validate: values come from domain constructors; CHECK constraints are the last line.

Every row carries its clinic; `Installation` and `SignInAttempt` are older than any sign-in and do not.
"""

from service.store.records.care import CareEntryRow, CareSetRow
from service.store.records.clinical import (
    AcuityReadingRow,
    AcuityTestRow,
    ChildRow,
    ChildZone,
    CorrectionRow,
    EyeFindingRow,
    EyeStatusRow,
    RegimenRow,
    VisitRow,
    VisitVersion,
)
from service.store.records.family import NurseryLinkRow, PublishedItemRow, RetiredFeedRow, SubscriptionRow, TimerRow, WearRow
from service.store.records.follow_up import BookingChangeRow, BookingRow, NoticeRow, OperationRow
from service.store.records.household import HouseholdRow
from service.store.records.languages import CatalogueReviewRow
from service.store.records.messages import ContactRow, OutboxRow
from service.store.records.optics import LensCheckRow, LensEntryRow, LensRangeRow, LensRow, NearTableRow
from service.store.records.people import ApiToken, Clinic, ClinicRulesRow, Installation, SignInAttempt, SignRight, StaffRow, StaffSession
from service.store.records.protocols import ClinicProtocolRow
from service.store.records.teaching import FamilyTextsRow, LearntRow
from service.store.records.telling import TellingRow, TellingStepRow
from service.store.records.trail import AuditRow, SubmissionRow

__all__ = [
    "AcuityReadingRow",
    "AcuityTestRow",
    "ApiToken",
    "AuditRow",
    "BookingChangeRow",
    "BookingRow",
    "CareEntryRow",
    "CareSetRow",
    "CatalogueReviewRow",
    "ChildRow",
    "ChildZone",
    "Clinic",
    "ClinicProtocolRow",
    "ClinicRulesRow",
    "ContactRow",
    "CorrectionRow",
    "EyeFindingRow",
    "EyeStatusRow",
    "FamilyTextsRow",
    "HouseholdRow",
    "Installation",
    "LearntRow",
    "LensCheckRow",
    "LensEntryRow",
    "LensRangeRow",
    "LensRow",
    "NearTableRow",
    "NoticeRow",
    "NurseryLinkRow",
    "OperationRow",
    "OutboxRow",
    "PublishedItemRow",
    "RegimenRow",
    "RetiredFeedRow",
    "SignInAttempt",
    "SignRight",
    "StaffRow",
    "StaffSession",
    "SubmissionRow",
    "SubscriptionRow",
    "TellingRow",
    "TellingStepRow",
    "TimerRow",
    "VisitRow",
    "VisitVersion",
    "WearRow",
]
