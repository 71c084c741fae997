"""The languages families can be spoken to in, and who checked them for a clinic."""

from dataclasses import dataclass
from datetime import datetime

from schedules.feed_style import Language


@dataclass(frozen=True)
class CatalogueReview:
    """One look at all of a translation; it holds for what then stood in it, and for nothing else."""

    language: Language
    digest: str
    reviewed_by: str
    reviewed_at: datetime
