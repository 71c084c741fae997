"""Which translations a clinic has checked. Only ever added to."""

from datetime import datetime

from sqlmodel import Session, col, select

from schedules.feed_style import Language
from service.facts import Staff
from service.facts_of_languages import CatalogueReview
from service.store.records import CatalogueReviewRow, StaffRow


def add_review(session: Session, staff: Staff, language: Language, digest: str, now: datetime) -> None:
    session.add(CatalogueReviewRow(clinic_id=staff.clinic_id, language=language, digest=digest, reviewed_by=staff.id, reviewed_at=now))
    session.flush()


def review(session: Session, clinic_id: int, language: Language, digest: str) -> CatalogueReview | None:
    """The last look of a clinic at a translation as it now is."""
    same = select(CatalogueReviewRow, StaffRow.name).join(StaffRow, col(StaffRow.id) == CatalogueReviewRow.reviewed_by)
    same = same.where(CatalogueReviewRow.clinic_id == clinic_id, CatalogueReviewRow.language == language, CatalogueReviewRow.digest == digest)
    found = session.exec(same.order_by(col(CatalogueReviewRow.id).desc())).first()
    return CatalogueReview(language, digest, found[1], found[0].reviewed_at) if found else None
