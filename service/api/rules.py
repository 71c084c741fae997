"""The rules of a clinic: which are switched off, and the limits that reviews are held against."""

from typing import Annotated

from fastapi import APIRouter, Request
from pydantic import BaseModel, Field
from sqlmodel import Session

from service.actions import clinic_rules as actions
from service.api.bearer import ApiAdministrator, ApiStaff
from service.api.body import SPEAK, Filled, Number, Strict, Whole
from service.api.problems import problems
from service.db import reading, writing
from service.facts import Staff
from service.store import clinic_rules as store
from service.wiring import wiring
from shared.course.limits import ReviewLimits
from shared.rules import RULES

router = APIRouter(prefix="/rules", tags=["clinic"])


class RulesAsSet(Strict):
    """The whole of it as it is to be. Shares are of the prescribed time."""

    low_share: Number = Field(description="wear is low, or not known, below this share")
    over_share: Number = Field(description="wear is beyond what was signed above this share")
    lens_off_dioptres: Number = Field(description="a lens is off from this on")
    rules_off: list[Annotated[str, Field(max_length=60)]] = Field(max_length=len(RULES), description="names of the rules that are switched off")
    reason: Filled = Field(max_length=300, description="who decided it, and why")
    seen: Whole = Field(ge=0, description="`number` of what was read; what somebody else has set since is not overwritten (409)")


class RuleAnswer(BaseModel):
    rule: str
    title: str
    sources: list[str]
    off: bool


class RulesAnswer(BaseModel):
    low_share: float
    over_share: float
    lens_off_dioptres: float
    rules: list[RuleAnswer]
    number: int = Field(description="0: nothing was set yet")


def _answer(session: Session, staff: Staff) -> RulesAnswer:
    found = store.newest(session, staff.clinic_id)
    limits = found.limits
    rules = [RuleAnswer(rule=r.name, title=SPEAK.text(r.title), sources=list(r.sources), off=r.name in limits.rules_off) for r in RULES.values()]
    return RulesAnswer(low_share=limits.low_share, over_share=limits.over_share, lens_off_dioptres=limits.lens_off_dioptres, rules=rules, number=found.number)


@router.get("", summary="Every rule with its sources and state, and the limits of the clinic's reviews")
def read_rules(request: Request, staff: ApiStaff) -> RulesAnswer:
    with reading(wiring(request).engine) as session:
        return _answer(session, staff)


@router.put("", summary="Set the limits and switch rules off; for an administrator", responses=problems(403, 409))
def set_rules(request: Request, staff: ApiAdministrator, body: RulesAsSet) -> RulesAnswer:
    w = wiring(request)
    limits = ReviewLimits(body.low_share, body.over_share, body.lens_off_dioptres, frozenset(body.rules_off))
    with writing(w.engine) as session:
        actions.settle(session, staff, limits, body.reason, body.seen, w.clock.now())
        return _answer(session, staff)
