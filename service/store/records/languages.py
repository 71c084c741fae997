"""Who checked a translation for a clinic."""

from datetime import datetime

from sqlmodel import Field

from service.store.records.base import ClinicRow


class CatalogueReviewRow(ClinicRow, table=True):
    """One look of a clinic at all of a translation: `digest` says at which. Rows are only ever added."""

    __tablename__ = "catalogue_review"
    language: str
    digest: str
    reviewed_by: int = Field(foreign_key="staff.id")
    reviewed_at: datetime
