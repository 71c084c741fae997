"""Published numbers: every file loads, is used, and is asked only for what it holds."""

import ast
from pathlib import Path

import pytest

from shared import sources
from shared.findings import Quantity, Unit
from shared.sight.acuity import read_acuity
from shared.sources import PUBLISHED, all_sources, all_tables, number, source, table
from shared.vocabulary import Status

CODE = sorted(Path(PUBLISHED).parent.rglob("*.py"))
KEYS = {path.stem for path in PUBLISHED.glob("*.toml")}


def strings() -> set[str]:
    return {n.value for path in CODE for n in ast.walk(ast.parse(path.read_text())) if isinstance(n, ast.Constant) and isinstance(n.value, str)}


def test_every_file_loads_and_carries_citation_status_and_domain() -> None:
    found = all_sources()
    assert {s.key for s in found} == KEYS
    for s, numbers in found.items():
        assert s.citation and s.domain and s.status in Status
        assert all(n.unit and n.where and n.as_printed for n in numbers)


def test_an_edge_printed_as_a_fraction_is_stored_as_its_chart_step() -> None:
    """The number and what was printed are typed apart; a slip in one shows against the other."""
    edges = [n for numbers in all_sources().values() for n in numbers if n.as_printed.startswith("20/")]
    assert len(edges) >= 4
    assert [(n.source_key, n.name) for n in edges if read_acuity(n.as_printed).nominal_logmar != n.value] == []


def test_every_file_is_used() -> None:
    assert KEYS - strings() == set()


def test_every_number_that_is_asked_for_is_there() -> None:
    asked = 0
    for path in CODE:
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "number":
                key, name = node.args
                if isinstance(key, ast.Constant) and isinstance(name, ast.Constant):
                    assert number(str(key.value), str(name.value)).source_key == key.value
                    asked += 1
    assert asked > 20


def test_every_source_that_an_answer_names_is_there() -> None:
    """The keys stand in tuples or lists of strings, inside a finding, or in a list that goes into one."""
    named = set()
    for path in CODE:
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("Finding", "NoPublishedDose", "dose"):
                groups = [n for n in ast.walk(node) if isinstance(n, ast.Tuple)]
            else:
                groups = [node] if isinstance(node, ast.List) else []
            for group in groups:
                named |= {part.value for part in group.elts if isinstance(part, ast.Constant) and isinstance(part.value, str)}
    assert len(named) > 10
    assert named - KEYS == set()


def test_what_is_from_memory_says_so_and_is_never_called_read() -> None:
    for s, numbers in all_sources().items():
        for n in numbers:
            assert Status.weakest(s.status, n.status) is n.status or n.status is Status.READ_SECONDHAND or s.status is Status.READ, (s.key, n.name)
        if "memory" in s.citation.split("(")[-1] and "to be read" in s.citation:
            assert all(n.status is Status.MEMORY for n in numbers)


def test_a_value_made_of_several_shows_its_weakest() -> None:
    assert Status.weakest(Status.READ, Status.MEMORY, Status.DERIVED) is Status.MEMORY
    assert Status.weakest(Status.READ) is Status.READ
    assert Status.weakest(Status.READ_SECONDHAND, Status.READ) is Status.READ_SECONDHAND


TABLE = """
[source]
citation = "An invented paper"
status = "read"
domain = "nobody"

[tables.growth]
columns = ["age", "mean"]
units = ["months", "mm"]
where = "table 1"
status = "read"
checksum = "CHECKSUM"
rows = ROWS
"""


def published(folder: Path, monkeypatch: pytest.MonkeyPatch, checksum: str, rows: str) -> sources.Table:
    sources._file.cache_clear()  # one file is read once a process
    monkeypatch.setattr(sources, "PUBLISHED", folder)
    (folder / "invented.toml").write_text(TABLE.replace("CHECKSUM", checksum).replace("ROWS", rows))
    return table("invented", "growth")


def test_a_table_whose_cells_were_changed_is_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    rows = "[[1, 16.0], [6, 19.0]]"
    with pytest.raises(ValueError, match="its checksum is now") as changed:
        published(tmp_path, monkeypatch, "", rows)
    checksum = str(changed.value).split()[-1]
    found = published(tmp_path, monkeypatch, checksum, rows)
    assert found.column("mean") == (16.0, 19.0)
    for slip in ("[[1, 16.0], [6, 91.0]]", "[[1, 16.0], [6]]", "[[6, 19.0], [1, 16.0]]"):
        with pytest.raises(ValueError, match="growth"):
            published(tmp_path, monkeypatch, checksum, slip)
    sources._file.cache_clear()


def test_every_table_that_is_asked_for_is_there() -> None:
    asked = {
        (str(node.args[0].value), str(node.args[1].value))
        for path in CODE
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "table"
        if isinstance(node.args[0], ast.Constant) and isinstance(node.args[1], ast.Constant)
    }
    assert {(t.source_key, t.name) for t in all_tables()} >= asked


def test_what_is_not_there_is_an_error() -> None:
    for ask in (lambda: source("no-such"), lambda: number("ats2b", "no-such"), lambda: table("ats2b", "no-such")):
        with pytest.raises(KeyError):
            ask()


def test_a_number_travels_with_its_unit() -> None:
    assert number("ats2b", "hours").quantity(Unit.HOURS) == Quantity(2.0, Unit.HOURS)
