"""Published numbers: loaded once from `published/`, each with its citation and how well it is known. No number of the trade is typed anywhere else."""

import tomllib
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any

from shared.findings import Quantity, Unit
from shared.vocabulary import Status

PUBLISHED = Path(__file__).parent / "published"


@dataclass(frozen=True)
class Source:
    """A publication; `key` is its file's name. `status` says how well the citation itself is known."""

    key: str
    citation: str
    status: Status
    domain: str
    url: str | None


@dataclass(frozen=True)
class Published:
    """One number as printed: `value` in `unit`, found at `where`, with its own status."""

    source_key: str
    name: str
    value: float
    unit: str
    where: str
    as_printed: str
    status: Status

    def quantity(self, unit: Unit) -> Quantity:
        """The number for a message, in a unit of ours that means the same as the printed one."""
        return Quantity(self.value, unit)


@dataclass(frozen=True)
class Table:
    """A table as printed: each row holds `columns` in `units`, the first of them ascending. `status` is that of every cell."""

    source_key: str
    name: str
    columns: tuple[str, ...]
    units: tuple[str, ...]
    rows: tuple[tuple[float, ...], ...]
    where: str
    status: Status

    def column(self, name: str) -> tuple[float, ...]:
        """One column from the first row to the last, in its own unit. Raises ValueError for a column that is not there."""
        at = self.columns.index(name)
        return tuple(row[at] for row in self.rows)

    @property
    def checksum(self) -> str:
        """Of every heading, unit and cell: what was copied from the page is not changed by a slip of the keyboard."""
        return sha256(repr((self.columns, self.units, self.rows)).encode()).hexdigest()[:16]


@dataclass(frozen=True)
class _File:
    source: Source
    numbers: dict[str, Published]
    tables: dict[str, Table]


@cache
def _file(key: str) -> _File:
    path = PUBLISHED / f"{key}.toml"
    if not path.is_file():
        raise KeyError(f"no publication {key!r}")
    data = tomllib.loads(path.read_text("utf-8"))
    s = data["source"]
    numbers = {
        name: Published(key, name, float(v["value"]), v["unit"], v["where"], v["as_printed"], Status(v["status"])) for name, v in data.get("values", {}).items()
    }
    tables = {name: _table(key, name, t) for name, t in data.get("tables", {}).items()}
    return _File(Source(key, s["citation"], Status(s["status"]), s["domain"], s.get("url")), numbers, tables)


def _table(key: str, name: str, t: dict[str, Any]) -> Table:
    rows = tuple(tuple(map(float, row)) for row in t["rows"])
    found = Table(key, name, tuple(t["columns"]), tuple(t["units"]), rows, t["where"], Status(t["status"]))
    if {len(found.columns), len(found.units), *map(len, rows)} != {len(found.columns)} or list(rows) != sorted(rows):
        raise ValueError(f"{key}: table {name!r} is ragged or out of order")
    if found.checksum != t["checksum"]:
        raise ValueError(f"{key}: table {name!r} was changed; its checksum is now {found.checksum}")
    return found


def source(key: str) -> Source:
    """Raises KeyError for a publication that is not there."""
    return _file(key).source


def number(key: str, name: str) -> Published:
    """Raises KeyError for a publication or a number that is not there."""
    return _file(key).numbers[name]


def table(key: str, name: str) -> Table:
    """Raises KeyError for a publication or a table that is not there."""
    return _file(key).tables[name]


def all_sources() -> dict[Source, tuple[Published, ...]]:
    """Every publication with its numbers, by key."""
    return {found.source: tuple(found.numbers.values()) for found in map(_file, _keys())}


def all_tables() -> tuple[Table, ...]:
    """Every table of every publication."""
    return tuple(found for key in _keys() for found in _file(key).tables.values())


def _keys() -> list[str]:
    return sorted(path.stem for path in PUBLISHED.glob("*.toml"))
