"""The exact search: where the sessions of one day lie, on a grid of slots of five minutes."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate
from operator import add

from schedules.day import STEP_MINUTES

_IMPOSSIBLE = -(1 << 1024)  # less than any choice, whatever is added to it


@dataclass(frozen=True)
class Stretch:
    """Free slots in a row from the slot `start` on; `preferred` says of each whether it is."""

    start: int
    preferred: tuple[bool, ...]

    @property
    def slots(self) -> int:
        return len(self.preferred)

    @cached_property
    def preferred_before(self) -> list[int]:
        """How many slots before each one, and before the end, are preferred."""
        return [0, *accumulate(self.preferred)]


@dataclass(frozen=True)
class _Wanted:
    """A dose and its shortest session in slots; the day's last session ends `spare_minutes` before its last slot does."""

    slots: int
    spare_minutes: int
    shortest: int
    last_shortest: int


def _wanted(minutes: int, shortest_minutes: int) -> _Wanted:
    slots = _slots(minutes)
    spare_minutes = slots * STEP_MINUTES - minutes
    return _Wanted(slots, spare_minutes, _slots(shortest_minutes), _slots(shortest_minutes + spare_minutes))


def place(stretches: Sequence[Stretch], minutes: int, shortest_minutes: int, most_sessions: int) -> list[tuple[int, int]]:
    """The first slot and the minutes of each session, in order, by the order of `planner`. The stretches are apart and in order."""
    shortest_minutes = min(shortest_minutes, minutes)  # a whole dose that is shorter is still one session
    whole = _with_fewest_sessions(stretches, _wanted(minutes, shortest_minutes), most_sessions)
    if whole is not None:
        return whole
    shortest = _slots(shortest_minutes)
    reach = _reach(stretches, shortest, most_sessions)
    held = max(min(minutes // STEP_MINUTES, slots) for sessions, slots in enumerate(reach) if sessions * shortest <= minutes // STEP_MINUTES)
    return _with_fewest_sessions(stretches, _wanted(held * STEP_MINUTES, shortest_minutes), most_sessions) or []


def _slots(minutes: int) -> int:
    return -(-minutes // STEP_MINUTES)


def _reach(stretches: Sequence[Stretch], shortest: int, most_sessions: int) -> list[int]:
    """The most slots that no session, one, two and so on can hold."""
    largest = sorted((stretch.slots for stretch in stretches if stretch.slots >= shortest), reverse=True)
    return [0, *accumulate(largest[:most_sessions])]


def _with_fewest_sessions(stretches: Sequence[Stretch], wanted: _Wanted, most_sessions: int) -> list[tuple[int, int]] | None:
    """The best choice that holds all of it. A stretch never has two sessions, since one of their joint length is fewer."""
    for sessions, held in enumerate(_reach(stretches, wanted.shortest, most_sessions)):
        if sessions and held >= wanted.slots >= (sessions - 1) * wanted.shortest + wanted.last_shortest:
            found = _best(stretches, wanted, sessions)
            if found is not None:
                return found
    return None


def _best(stretches: Sequence[Stretch], wanted: _Wanted, sessions: int) -> list[tuple[int, int]] | None:
    """The best choice of exactly so many sessions.

    A choice is one whole number whose digits, from the highest, are the preferred minutes, each session's start (the earlier the higher) and each
    session's length: the greater number is the better choice. From the last stretch backwards, `left[n][d]` is the best choice of `n` sessions with
    `d` slots in what is left of the day.
    """
    slots, shortest = wanted.slots, wanted.shortest
    bits = (stretches[-1].start + stretches[-1].slots).bit_length()
    latest = (1 << bits) - 1
    left = [[_IMPOSSIBLE] * (slots + 1) for _ in range(sessions + 1)]
    left[0][0] = 0
    for i, stretch in reversed(list(enumerate(stretches))):
        before, from_here = _reach(stretches[:i], shortest, sessions), _reach(stretches[i:], shortest, sessions)
        elsewhere = _reach((*stretches[:i], *stretches[i + 1 :]), shortest, sessions - 1)[-1]
        lengths = range(max(shortest, slots - elsewhere), min(stretch.slots, slots - (sessions - 1) * shortest) + 1)
        best_here = {spare: [_where_preferred(stretch, length, spare) for length in lengths] for spare in {0, wanted.spare_minutes}}
        for n in range(max(1, sessions + 1 - len(before)), len(from_here))[::-1]:
            least, spare_minutes = (max(lengths.start, wanted.last_shortest), wanted.spare_minutes) if n == 1 else (lengths.start, 0)
            worth = [
                (preferred_minutes << 2 * sessions * bits) + ((latest - start) << (sessions + n - 1) * bits) + (length << (n - 1) * bits)
                for length, (preferred_minutes, start) in zip(lengths, best_here[spare_minutes], strict=True)
                if length >= least
            ]
            after = left[n - 1]
            for d in range(max(slots - before[sessions - n], least), min(slots, from_here[n]) + 1):
                left[n][d] = max([left[n][d], *map(add, worth, after[d - least :: -1])])
    best = left[sessions][slots]
    if best < 0:
        return None
    found = [(best >> n * bits) & latest for n in range(2 * sessions)[::-1]]
    minutes = [length * STEP_MINUTES for length in found[sessions:]]
    minutes[-1] -= wanted.spare_minutes
    return [(latest - start, each) for start, each in zip(found[:sessions], minutes, strict=True)]


def _where_preferred(stretch: Stretch, length: int, spare_minutes: int) -> tuple[int, int]:
    """The most preferred minutes that a session of that length can have here, and the earliest slot from which it has them."""
    before, last = stretch.preferred_before, stretch.preferred[length - 1 :]
    minutes = [(b - a) * STEP_MINUTES - spare_minutes * unused for a, b, unused in zip(before, before[length:], last, strict=False)]
    most = max(minutes)
    return most, stretch.start + minutes.index(most)
