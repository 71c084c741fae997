"""Short ways to a signed regimen, through the same deed that the pages use."""

from datetime import UTC, date, datetime, time

from sqlalchemy import Engine

from service.actions import regimens
from service.db import writing
from service.facts import Child, Role
from service.store import signed
from shared.vocabulary import MissingCorrectionRule, Phase
from tests.people import TestClinic


def sign_two_hours(engine: Engine, clinic: TestClinic, child: Child, start_on: date, review_on: date, minutes: int = 120) -> str:
    """The fellow eye covered, a dose of the signer's own."""
    eye = child.amblyopic_eye.laterality
    assert eye
    draft = regimens.Draft(
        phase=Phase.OCCLUSION,
        start_on=start_on,
        review_on=review_on,
        covered_eye=eye.other,
        own_minutes=minutes,
        own_reason="set by the test",
        covered_reason="",
        covered_confirmed=False,
        missing_correction=MissingCorrectionRule.HOLD_AND_RING,
        cautions_read=True,
    )
    now = datetime.combine(start_on, time(9), UTC)
    with writing(engine) as session:
        number = signed.next_number(session, child)
        seen = regimens.work_out(child, None, draft, number, start_on).digest
        return regimens.sign(session, clinic.staff[Role.ORTHOPTIST], child, lambda: None, draft, seen, now)
