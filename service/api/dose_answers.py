"""How a proposal of the occlusion rules is answered."""

from pydantic import BaseModel, Field

from service.api.body import SPEAK
from shared.dose import Proposal
from shared.sources import source


class DoseAnswer(BaseModel):
    minutes_per_day: int
    hours_per_day: float
    phase: str
    review_in_weeks: int
    review_status: str = Field(description="how well the source of the interval is known")
    rule: str
    source: str
    status: str
    working: list[str]
    cautions: list[str]


class NoDoseAnswer(BaseModel):
    minutes_per_day: None = None
    reason: str
    not_enough_known: bool = Field(description="a fact is missing, so the rules were not asked: not the same as no published dose")


def dose_answer(found: Proposal) -> DoseAnswer:
    return DoseAnswer(
        minutes_per_day=found.minutes_per_day,
        hours_per_day=found.minutes_per_day / 60,
        phase=found.phase,
        review_in_weeks=found.review_in_weeks,
        review_status=found.review.status,
        rule=found.rule,
        source="; ".join(source(key).citation for key in found.finding.sources),
        status=found.finding.status,
        working=[SPEAK.text(s) for s in found.finding.working],
        cautions=[SPEAK.text(c) for c in found.cautions],
    )
