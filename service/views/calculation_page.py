"""A calculation as a form, and its answer; the index of them all."""

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import urlencode

from service.calculations.asking import Answer, Ask
from service.calculations.registry import GROUPS
from service.calculations.sheet import Calculation, Grid, Sheet
from service.i18n import Words
from service.views.shown import FindingShown, SourceShown, finding_shown, sources_shown
from shared.findings import Param

ADDRESS = "/calculations"
SUBMITTED = "work"  # a form's button, so that an empty form is not taken for an answer


@dataclass(frozen=True)
class AskShown:
    kind: str
    name: str
    label: str
    unit: str
    hint: str | None
    needed: bool
    options: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class GridShown:
    name: str
    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class SheetShown:
    values: tuple[tuple[str, str], ...]  # label, value
    refusal: str
    working: tuple[str, ...]
    status: str
    status_label: str
    sources: tuple[SourceShown, ...]
    cautions: tuple[str, ...]
    findings: tuple[FindingShown, ...]
    grids: tuple[GridShown, ...]


@dataclass(frozen=True)
class CalculationPage:
    name: str
    title: str
    about: str
    asks: tuple[AskShown, ...]
    example: str  # address of the page filled in with it
    sheet: SheetShown | None


@dataclass(frozen=True)
class IndexPage:
    groups: tuple[tuple[str, tuple[tuple[str, str, str], ...]], ...]  # heading, then address, title and what it does


def index(words: Words) -> IndexPage:
    return IndexPage(
        tuple((words.text(heading), tuple((f"{ADDRESS}/{c.name}", words.text(c.title), words.text(c.about)) for c in found)) for heading, found in GROUPS)
    )


def view(calculation: Calculation, sheet: Sheet | None, words: Words) -> CalculationPage:
    return CalculationPage(
        name=calculation.name,
        title=words.text(calculation.title),
        about=words.text(calculation.about),
        asks=tuple(_ask(a, words) for a in calculation.asks),
        example=example_address(calculation),
        sheet=_sheet(sheet, words) if sheet else None,
    )


def example_address(calculation: Calculation) -> str:
    """The page filled in with its example, and worked out."""
    return f"{ADDRESS}/{calculation.name}?{urlencode(as_query(calculation.example))}"


def as_query(answers: Mapping[str, Answer]) -> dict[str, str]:
    """As the form would send them."""
    typed = {k: "yes" if v is True else f"{v:g}" if isinstance(v, float) else str(v) for k, v in answers.items() if v is not None and v is not False}
    return {**typed, SUBMITTED: "yes"}


def _ask(a: Ask, words: Words) -> AskShown:
    options = tuple((member.value, words.label(member)) for member in a.choices) if a.choices else ()
    nothing = (("", ""),) if not a.needed or not a.usual else ()
    hint = words.text(a.hint) if a.hint else None
    return AskShown(a.kind, a.name, words.text(a.label), a.unit, hint, a.needed, nothing + options if options else ())


def _sheet(sheet: Sheet, words: Words) -> SheetShown:
    return SheetShown(
        values=tuple((words.text(v.label), _shown(v.value, words)) for v in sheet.values),
        refusal=words.text(sheet.refusal) if sheet.refusal else "",
        working=tuple(map(words.text, sheet.working)),
        status=sheet.status or "",
        status_label=words.label(sheet.status) if sheet.status else "",
        sources=sources_shown(sheet.sources),
        cautions=tuple(map(words.text, sheet.cautions)),
        findings=tuple(finding_shown(f, words) for f in sheet.findings),
        grids=tuple(grid_shown(g, words) for g in sheet.grids),
    )


def grid_shown(g: Grid, words: Words) -> GridShown:
    return GridShown(g.name, words.text(g.title), tuple(map(words.text, g.columns)), tuple(tuple(_shown(c, words) for c in row) for row in g.rows))


def _shown(value: Param | None, words: Words) -> str:
    return "–" if value is None else words.param(value)
