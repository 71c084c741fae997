"""Pieces that several answers hold: a finding with its status and sources, a power, what a signed document says."""

from typing import Any

from pydantic import BaseModel, ConfigDict, Field

from service.api.body import SPEAK
from service.documents import message_from_json
from service.views.shown import finding_shown
from shared.findings import Finding


class SourceAnswer(BaseModel):
    model_config = ConfigDict(from_attributes=True)
    key: str
    citation: str
    url: str | None


class FindingAnswer(BaseModel):
    """`status` says how well the source is known; `weight` how much the finding asks of its reader."""

    model_config = ConfigDict(from_attributes=True)
    rule: str
    value: float | None
    unit: str | None
    message: str
    weight: str
    status: str
    sources: list[SourceAnswer]
    working: list[str]
    family: str = Field(description="what to say to the family, in plain words; may be empty")


class PowerAnswer(BaseModel):
    """In D and degrees."""

    model_config = ConfigDict(from_attributes=True)
    sphere: float
    cylinder: float
    axis: float | None


def finding_answer(f: Finding) -> FindingAnswer:
    return FindingAnswer.model_validate(finding_shown(f, SPEAK))


def spoken(content: Any) -> Any:
    """What a signed document keeps, its messages in words."""
    if isinstance(content, dict):
        return SPEAK.text(message_from_json(content)) if content.keys() == {"text", "params"} else {k: spoken(v) for k, v in content.items()}
    return [spoken(v) for v in content] if isinstance(content, list) else content
