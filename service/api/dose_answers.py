"""How a proposal of the occlusion rules is answered."""

from pydantic import BaseModel, ConfigDict, Field

from service.api.answers import FindingAnswer
from service.api.body import SPEAK
from service.views.beside_proposal import Beside
from shared.sources import source
from shared.treatment.dose import Proposal
from shared.treatment.protocol_words import Pattern


class RungAnswer(BaseModel):
    model_config = ConfigDict(from_attributes=True)
    where: str
    rule: str | None = Field(description="null: no published row there")
    minutes: int | None
    chosen: bool = Field(description="the child's own")


class AlternativeAnswer(BaseModel):
    """What another publication would do; shown, never signed by default."""

    model_config = ConfigDict(from_attributes=True)
    minutes: int | None = Field(description="on the days of the pattern; null: no hours belong to it")
    pattern: Pattern
    finding: FindingAnswer


class BesideAnswer(BaseModel):
    """What stands beside a proposal."""

    model_config = ConfigDict(from_attributes=True)
    title: str = Field(description="what the row of the rule is called")
    particulars: list[str] = Field(description="what holds first, near work, the next step, the way out")
    ladder: list[RungAnswer] = Field(description="from the lowest rung to the highest: bands of the trials, or months of the infant rule")
    alternatives: list[AlternativeAnswer]


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
    beside: BesideAnswer


class NoDoseAnswer(BaseModel):
    minutes_per_day: None = None
    reason: str
    not_enough_known: bool = Field(description="a fact is missing, so the rules were not asked: not the same as no published dose")


def dose_answer(found: Proposal, beside: Beside) -> DoseAnswer:
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
        beside=BesideAnswer.model_validate(beside),
    )
