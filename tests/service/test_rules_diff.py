"""The rules' answers for five thousand invented children, against what was written down: nothing moves unseen."""

from pathlib import Path

import pytest

from service import rules_diff
from service.__main__ import main

README = Path(__file__).parents[2] / "README.md"


def test_no_answer_has_moved_and_the_readme_names_the_ones_written_down() -> None:
    """After a rule or number moved on purpose: `python -m service rules-diff --write`, and a line in README's Changes that says what, and names the answers."""
    assert rules_diff.moved() == []
    changes = README.read_text().partition("## Changes")[2]
    assert f"answers {rules_diff.digest()}" in changes


def test_every_kind_of_answer_is_among_them() -> None:
    lines = [line for line in rules_diff.answers() if not line.startswith("#")]
    assert len(lines) == len({line.partition(" -> ")[0] for line in lines}) == rules_diff.CHILDREN
    said = "\n".join(lines)
    for rule in ("infant-by-completed-month", "infant-half-of-waking-hours", "moderate-two-hours", "severe-six-hours", "refractive-adaptation-first"):
        assert f"-> {rule}" in said
    for rule in ("settle-pause", "settle-step-up", "settle-taper", "settle-wear-first", "settle-axis-first", "settle-recurrence", "none:", "refused:"):
        assert f"-> {rule}" in said, rule


def test_an_answer_that_moves_is_printed_before_and_now(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    written = tmp_path / "answers.txt"
    lines = rules_diff.ANSWERS.read_text().splitlines()[1:]
    child, _, said = lines[0].partition(" -> ")
    written.write_text("\n".join([f"{child} -> something else", *lines[2:], "somebody who is not asked -> 1 h"]) + "\n")
    monkeypatch.setattr(rules_diff.moved, "__defaults__", (written,))
    monkeypatch.setattr("sys.argv", ["service", "rules-diff"])
    assert main() == 1
    printed = capsys.readouterr().out
    assert f"{child}\n  - something else\n  + {said}\n" in printed
    assert "  - no answer yet\n" in printed and "  + no longer asked\n" in printed and f"3 of {rules_diff.CHILDREN} answers moved" in printed
