"""Published numbers: loaded once from `published/`, each with its citation and how well it is known. No number of the trade is typed anywhere else."""

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

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


@cache
def _file(key: str) -> tuple[Source, dict[str, Published]]:
    path = PUBLISHED / f"{key}.toml"
    if not path.is_file():
        raise KeyError(f"no publication {key!r}")
    data = tomllib.loads(path.read_text("utf-8"))
    s = data["source"]
    numbers = {
        name: Published(key, name, float(v["value"]), v["unit"], v["where"], v["as_printed"], Status(v["status"])) for name, v in data.get("values", {}).items()
    }
    return Source(key, s["citation"], Status(s["status"]), s["domain"], s.get("url")), numbers


def source(key: str) -> Source:
    """Raises KeyError for a publication that is not there."""
    return _file(key)[0]


def number(key: str, name: str) -> Published:
    """Raises KeyError for a publication or a number that is not there."""
    return _file(key)[1][name]


def all_sources() -> dict[Source, tuple[Published, ...]]:
    """Every publication with its numbers, by key."""
    return {found: tuple(numbers.values()) for found, numbers in (_file(path.stem) for path in sorted(PUBLISHED.glob("*.toml")))}
