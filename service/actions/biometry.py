"""Keratometry, axial length and pressure, added to a visit as a new version of it."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any

from sqlmodel import Session

from service.access import require_recorder
from service.actions import visits as actions
from service.facts import Child, Staff
from service.store import visits
from shared.vocabulary import Laterality

REASON = "biometry added"


def add(
    session: Session,
    staff: Staff,
    child: Child,
    visit_id: str,
    version: int,
    measured: Mapping[Laterality, Mapping[str, Any]],
    now: datetime,
    *,
    answered: str = "",
) -> None:
    """`measured` holds fields of `EyeFindings`; raises `NotAllowedError`, `NotFoundError`, `ChangedMeanwhileError` or `AskFirstError`."""
    require_recorder(staff)
    visit = visits.visit(session, child, visit_id)
    eyes = {eye: replace(f, **measured.get(eye, {})) for eye, f in visit.eyes.items()}
    actions.correct(session, staff, child, visit_id, version, REASON, replace(visit, eyes=eyes), now, answered=answered)
