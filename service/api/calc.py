"""The calculations: a route each, made from what the calculation asks. They store nothing."""

from collections.abc import Callable
from typing import Any

from fastapi import APIRouter, Request
from pydantic import BaseModel, Field, create_model

from service.api.answers import FindingAnswer, SourceAnswer, finding_answer
from service.api.bearer import ApiStaff
from service.api.body import SPEAK, Line, Number, Strict, Truth, Whole
from service.api.problems import UNPROCESSABLE, ProblemError
from service.calculations.asking import Ask, Kind
from service.calculations.registry import BY_NAME
from service.calculations.sheet import Calculation, Grid, Sheet
from service.db import reading
from service.store import clinic_rules
from service.views.shown import sources_shown
from service.wiring import wiring
from shared.errors import ClinicalInputError
from shared.findings import Message, Param, Quantity

router = APIRouter(prefix="/calc", tags=["calculations"])


class TableAnswer(BaseModel):
    """Cells are numbers in the unit their heading names, or words; null where there is none."""

    title: str
    columns: list[str]
    rows: list[list[float | str | None]]


class SheetAnswer(BaseModel):
    """`values` by name, each in the unit its name ends in; null where there is none, and `refusal` says why. A finding carries its own sources."""

    values: dict[str, float | str | None]
    refusal: str | None
    working: list[str]
    status: str | None = Field(description="how well the source of the values is known")
    sources: list[SourceAnswer]
    cautions: list[str]
    findings: list[FindingAnswer]
    tables: dict[str, TableAnswer]


def sheet_answer(sheet: Sheet) -> SheetAnswer:
    return SheetAnswer(
        values={v.name: cell(v.value) for v in sheet.values},
        refusal=SPEAK.text(sheet.refusal) if sheet.refusal else None,
        working=[SPEAK.text(m) for m in sheet.working],
        status=sheet.status,
        sources=[SourceAnswer.model_validate(s) for s in sources_shown(sheet.sources)],
        cautions=[SPEAK.text(m) for m in sheet.cautions],
        findings=[finding_answer(f) for f in sheet.findings],
        tables={g.name: table_answer(g) for g in sheet.grids},
    )


def table_answer(g: Grid) -> TableAnswer:
    return TableAnswer(title=SPEAK.text(g.title), columns=[SPEAK.text(c) for c in g.columns], rows=[[cell(c) for c in row] for row in g.rows])


def cell(value: Param | None) -> float | str | None:
    """A number bare, a member of a vocabulary as it is stored, a date as it is written, everything else in words."""
    if isinstance(value, Quantity):
        return value.value
    return SPEAK.text(value) if isinstance(value, Message) else None if value is None else str(value)


def _field(a: Ask) -> Any:
    kind: Any = {Kind.NUMBER: Number, Kind.WHOLE: Whole, Kind.CHOICE: a.choices, Kind.TEXT: Line, Kind.TICK: Truth}[a.kind]
    limits: dict[str, Any] = {"ge": a.low, "le": a.high} if a.kind in (Kind.NUMBER, Kind.WHOLE) else {"max_length": a.longest} if a.kind is Kind.TEXT else {}
    described = ", ".join(filter(None, (SPEAK.text(a.label), a.unit, SPEAK.text(a.hint) if a.hint else "")))
    if a.kind is Kind.TICK:
        return kind, Field(False, description=described)
    return (kind, Field(description=described, **limits)) if a.needed else (kind | None, Field(None, description=described, **limits))


def _route(calculation: Calculation) -> Callable[[Request, ApiStaff, Any], SheetAnswer]:
    name = calculation.name.title().replace("-", "")
    question: Any = create_model(f"{name}Question", __base__=Strict, **{a.name: _field(a) for a in calculation.asks})

    def work(request: Request, staff: ApiStaff, question: Any) -> SheetAnswer:
        with reading(wiring(request).engine) as session:
            off = clinic_rules.newest(session, staff.clinic_id).limits.rules_off
        try:
            return sheet_answer(calculation.answer(question.model_dump(), off))
        except ClinicalInputError as e:  # its names are the calculation's own, not those of a form
            raise ProblemError(422, UNPROCESSABLE, SPEAK.text(e.message), field=e.field) from e

    work.__annotations__["question"] = question  # what FastAPI reads the body by
    return work


for _calculation in BY_NAME.values():
    router.post(
        f"/{_calculation.name}",
        summary=SPEAK.text(_calculation.title),
        description=SPEAK.text(_calculation.about),
        name=_calculation.name.replace("-", "_"),
        response_model=SheetAnswer,
    )(_route(_calculation))
