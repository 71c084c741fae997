"""How the house is built, checked: floors, who reads the time, names, sizes, the top level."""

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import shared

ROOT = Path(__file__).parents[1]
BIN = Path(sys.executable).parent
PACKAGES = ("demo_data", "schedules", "service", "shared")
TOP_LEVEL = {*PACKAGES, "DEVELOPERS.md", "Makefile", "README.md", "pyproject.toml", "templates", "tests"}

MODULE_LINES = 300
FUNCTION_LINES = 60

# Words that the trade, or a name already chosen, says better. Whole identifiers: `plan_ends_on` is a date, `plan` would be a regimen.
REPLACED = {
    "amblyopic_eye": {"bad", "bad_eye", "weak", "weak_eye", "lazy", "lazy_eye"},
    "fellow_eye": {"good", "good_eye"},
    "covered_eye": {"patched_side", "patched_eye"},
    "acuity": {"va", "va_score"},
    "interocular_difference": {"gap", "diff", "iod"},
    "spherical_equivalent": {"se"},
    "vertex_distance_mm": {"vd", "bvd"},
    "wear": {"usage"},
    "prescribed_minutes": {"target", "target_minutes"},
    "received_minutes": {"actual", "actual_minutes"},
    "occlusion_dose": {"total"},
    "adherence": {"compliance", "score"},
    "regimen, sign": {"plan", "approve"},
    "visit, review_due_on": {"appointment"},
    "caregiver, or the name of a role": {"parent", "user"},
    "finding, source": {"alert", "advice"},
}
INSTEAD_OF = {word: term for term, words in REPLACED.items() for word in words}


def modules() -> list[Path]:
    return sorted(path for package in PACKAGES for path in (ROOT / package).rglob("*.py"))


def name(path: Path) -> str:
    return str(path.relative_to(ROOT))


def functions(tree: ast.AST) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    return (node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef))


def declared_names(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Line and name of every parameter of a function and every annotated field of a class."""
    for node in ast.walk(tree):
        if isinstance(node, ast.arg):
            yield node.lineno, node.arg
        elif isinstance(node, ast.ClassDef):
            yield from ((field.lineno, field.target.id) for field in node.body if isinstance(field, ast.AnnAssign) and isinstance(field.target, ast.Name))


def replaced_names(source: str) -> list[str]:
    return [f"{line}: {word} (say {INSTEAD_OF[word.lower()]})" for line, word in sorted(declared_names(ast.parse(source))) if word.lower() in INSTEAD_OF]


def uses_of_round(source: str) -> list[int]:
    return [node.lineno for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Name) and node.id == "round"]


def test_the_floors_hold() -> None:
    done = subprocess.run([BIN / "lint-imports", "--no-logo", "--no-cache"], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_our_packages_come_from_this_checkout() -> None:
    # Their names are common words: another checkout, once installed, would silently stand in for this one.
    assert Path(shared.__file__) == ROOT / "shared" / "__init__.py"


@pytest.mark.parametrize(
    "reading",
    [
        "from datetime import datetime\n\ndatetime.now()\n",
        "import datetime as d\n\nd.datetime.now(d.UTC)\n",
        "from datetime import datetime\n\ndatetime.utcnow()\n",
        "from datetime import date\n\ndate.today()\n",
        "import time\n\ntime.time()\n",
        "from time import time\n\ntime()\n",
        "from sqlalchemy import func\n\nfunc.now()\n",
    ],
)
def test_only_the_clock_may_read_the_time(reading: str) -> None:
    """`ruff check` is part of `make test`; this shows that its ban is in force, and lifted for one module."""

    def banned(path: str) -> bool:
        command = [BIN / "ruff", "check", "--quiet", "--output-format", "concise", "--stdin-filename", path, "-"]
        return "TID251" in subprocess.run(command, cwd=ROOT, input=reading, capture_output=True, text=True, check=False).stdout

    assert [path for path in ("shared/dates.py", "schedules/feed.py", "service/jobs.py", "demo_data/story.py", "tests/test_x.py") if not banned(path)] == []
    assert not banned("service/clock.py")


def test_nothing_rounds_but_the_named_helper() -> None:
    assert uses_of_round("total = sum(map(round, values))") == [1]
    assert {name(path): lines for path in modules() if (lines := uses_of_round(path.read_text()))} == {}


def test_names_are_the_trades() -> None:
    assert replaced_names("class Day:\n    target: int\n    plan_ends_on: date\ndef f(*, weak_eye, covered_eye): ...") == [
        "2: target (say prescribed_minutes)",
        "4: weak_eye (say amblyopic_eye)",
    ]
    assert {name(path): found for path in modules() if (found := replaced_names(path.read_text()))} == {}


def test_modules_and_functions_stay_small() -> None:
    too_long = {}
    for path in modules():
        if path.parent.name == "versions":
            continue  # a migration is as long as the tables it makes
        source = path.read_text()
        if (lines := source.count("\n")) > MODULE_LINES:
            too_long[name(path)] = lines
        for function in functions(ast.parse(source)):
            if (lines := (function.end_lineno or 0) - function.lineno + 1) > FUNCTION_LINES:
                too_long[f"{name(path)}:{function.name}"] = lines
    assert too_long == {}


def test_the_top_level_holds_what_the_plan_of_the_house_shows() -> None:
    assert {path.name for path in ROOT.iterdir() if not path.name.startswith(".")} - TOP_LEVEL == set()
    assert list((ROOT / "tests").rglob("__init__.py")) == []  # pytest imports each test by its path: two may share a name
