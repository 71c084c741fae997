"""How a calculation answers, before anybody speaks it: named values, their working and source, findings, tables."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from service.calculations.asking import Answer, Ask, Given
from shared.findings import Finding, Message, Param
from shared.vocabulary import Status


@dataclass(frozen=True)
class Value:
    """One result: `name` in the API, `label` on the page; None where there is none."""

    name: str
    label: Message
    value: Param | None


@dataclass(frozen=True)
class Grid:
    """A table of results: a heading and, row by row, one cell a column; None is an empty cell."""

    name: str
    title: Message
    columns: tuple[Message, ...]
    rows: tuple[tuple[Param | None, ...], ...]


@dataclass(frozen=True)
class Sheet:
    """`status` and `sources` speak of the values; a finding carries its own. `refusal`: no value, and this is why."""

    values: tuple[Value, ...] = ()
    working: tuple[Message, ...] = ()
    status: Status | None = None
    sources: tuple[str, ...] = ()
    cautions: tuple[Message, ...] = ()
    findings: tuple[Finding, ...] = ()
    grids: tuple[Grid, ...] = ()
    refusal: Message | None = None


@dataclass(frozen=True)
class Calculation:
    """`work` raises `ClinicalInputError` naming what it cannot take. `example` is what the page can be filled with, and what the API shows."""

    name: str
    title: Message
    about: Message
    asks: tuple[Ask, ...]
    work: Callable[[Given], Sheet]
    example: Mapping[str, Answer]

    def answer(self, values: Mapping[str, Answer], rules_off: frozenset[str]) -> Sheet:
        """The sheet for what was answered (what is left out is None), without the findings of rules that the clinic has switched off."""
        sheet = self.work(Given({a.name: values.get(a.name) for a in self.asks}, rules_off))
        return replace(sheet, findings=tuple(f for f in sheet.findings if f.rule not in rules_off))
