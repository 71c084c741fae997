"""Every publication: what it says, how well it is known, and which rules it feeds."""

from dataclasses import dataclass

from service.i18n import Words
from shared.rules import feeds
from shared.sources import Published, Source, Table, all_sources, all_tables


@dataclass(frozen=True)
class NumberShown:
    name: str
    as_printed: str
    value: str
    where: str
    status: str
    status_label: str


@dataclass(frozen=True)
class TableShown:
    name: str
    where: str
    status: str
    status_label: str
    checksum: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class SourceEntry:
    key: str
    citation: str
    url: str | None
    domain: str
    status: str
    status_label: str
    feeds: tuple[str, ...]
    numbers: tuple[NumberShown, ...]
    tables: tuple[TableShown, ...]


@dataclass(frozen=True)
class SourcesPage:
    entries: tuple[SourceEntry, ...]
    counts: tuple[tuple[str, int], ...]  # how many numbers and tables are known how well


def view(words: Words) -> SourcesPage:
    sources, tables = all_sources(), all_tables()
    statuses = [n.status for numbers in sources.values() for n in numbers] + [t.status for t in tables]
    counts = tuple((words.label(status), statuses.count(status)) for status in sorted(set(statuses), key=list(type(statuses[0])).index))
    entries = (_entry(s, numbers, tuple(t for t in tables if t.source_key == s.key), words) for s, numbers in sources.items())
    return SourcesPage(tuple(sorted(entries, key=lambda e: e.citation.casefold())), counts)


def _entry(s: Source, numbers: tuple[Published, ...], tables: tuple[Table, ...], words: Words) -> SourceEntry:
    return SourceEntry(
        key=s.key,
        citation=s.citation,
        url=s.url,
        domain=s.domain,
        status=s.status,
        status_label=words.label(s.status),
        feeds=tuple(map(words.text, feeds(s.key))),
        numbers=tuple(NumberShown(_named(n.name), n.as_printed, f"{n.value:g} {n.unit}", n.where, n.status, words.label(n.status)) for n in numbers),
        tables=tuple(_table(t, words) for t in tables),
    )


def _table(t: Table, words: Words) -> TableShown:
    headings = tuple(f"{_named(column)}, {unit}" for column, unit in zip(t.columns, t.units, strict=True))
    rows = tuple(tuple(f"{cell:g}" for cell in row) for row in t.rows)
    return TableShown(_named(t.name), t.where, t.status, words.label(t.status), t.checksum, headings, rows)


def _named(name: str) -> str:
    return name.replace("_", " ")
