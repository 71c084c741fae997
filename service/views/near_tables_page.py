"""The clinic's tables for near: what holds today, what will, what held before, and what is built in."""

from dataclasses import dataclass
from datetime import date

from service.facts_of_lenses import EnteredNearTable
from service.i18n import Words
from service.store.near_tables import holding
from shared.findings import Quantity, Unit, msg
from shared.optics.near import NearTable, built_in_near


@dataclass(frozen=True)
class TableShown:
    rows: tuple[str, ...]
    author: str  # "": built in
    status: str
    status_label: str


@dataclass(frozen=True)
class VersionShown:
    entered: EnteredNearTable
    state: str
    near_table: TableShown


@dataclass(frozen=True)
class NearTablesPage:
    versions: tuple[VersionShown, ...]  # the newest first
    built_in: TableShown
    built_in_used: bool


def view(entered: list[EnteredNearTable], today: date, words: Words) -> NearTablesPage:
    holds = holding(entered, today)
    shown = tuple(VersionShown(v, _state(v, v is holds, today, words), _table(v.near_table, words)) for v in reversed(entered))
    return NearTablesPage(shown, _table(built_in_near(), words), holds is None)


def _state(v: EnteredNearTable, holds: bool, today: date, words: Words) -> str:
    if holds:
        return words.gettext("in force")
    return words.gettext("begins then") if v.from_on > today else words.gettext("superseded")


def _table(near_table: NearTable, words: Words) -> TableShown:
    rows = [(Quantity(row.from_month, Unit.MONTHS), row.dioptres) for row in near_table.rows]
    shown = (
        msg("from %(months)s on %(power)s", months=months, power=Quantity(dioptres, Unit.DIOPTRE))
        if dioptres
        else msg("from %(months)s on none in the lens: distance power and bifocal spectacles", months=months)
        for months, dioptres in rows
    )
    return TableShown(tuple(map(words.text, shown)), near_table.author, near_table.status, words.label(near_table.status))
