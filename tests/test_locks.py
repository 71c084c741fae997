"""The hash-locked files against what they were made from. Nobody needs uv to run this."""

import re
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[1]
LOCKED = ("service", "tests", "tests/clients")


def wanted(folder: str) -> list[Requirement]:
    lines = (line.partition("  #")[0].strip() for line in (ROOT / folder / "requirements.in").read_text().splitlines())
    return [Requirement(line) for line in lines if line and not line.startswith(("#", "-"))]


def locked(folder: str) -> dict[str, str]:
    """Package -> version. Fails if an entry carries no hash."""
    entries = re.findall(r"^([^\s#][^=\s]*)==(\S+)(.*(?:\n    .*)*)", (ROOT / folder / "requirements.txt").read_text(), re.MULTILINE)
    assert [package for package, _, rest in entries if "--hash=sha256:" not in rest] == []
    return {canonicalize_name(package.partition("[")[0]): version for package, version, _ in entries}


@pytest.mark.parametrize("folder", LOCKED)
def test_each_lock_answers_its_source(folder: str) -> None:
    lock = locked(folder)
    assert lock
    assert [str(r) for r in wanted(folder) if not r.specifier.contains(lock.get(canonicalize_name(r.name), ""), prereleases=True)] == []


def test_the_tests_run_on_what_the_service_runs_on() -> None:
    assert locked("service").items() <= locked("tests").items()
