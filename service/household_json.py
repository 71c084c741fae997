"""A household as JSON: what the store keeps and the API speaks. The child's birth and zone are facts of their own and stand apart."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from pydantic import ConfigDict, TypeAdapter

from schedules.household import Home, Household, Rotation, Swap
from schedules.routine import DayOff, Journey, Routine
from service.facts import Child


@dataclass(frozen=True)
class HouseholdTold:
    """A household without what the child's record says of it."""

    __pydantic_config__ = ConfigDict(extra="forbid", allow_inf_nan=False)

    routine: Routine = field(default_factory=lambda: Routine(()))
    homes: tuple[Home, ...] = ()
    rotations: tuple[Rotation, ...] = ()
    swaps: tuple[Swap, ...] = ()
    days_off: tuple[DayOff, ...] = ()
    journeys: tuple[Journey, ...] = ()

    def of(self, child: Child) -> Household:
        """Raises `ClinicalInputError` as `Household` does."""
        return Household(born_on=child.born_on, time_zone=child.time_zone, **vars(self))


_TOLD = TypeAdapter(HouseholdTold)


def to_json(household: Household) -> dict[str, Any]:
    told = {name: value for name, value in vars(household).items() if name not in ("born_on", "time_zone")}
    return dict(_TOLD.dump_python(HouseholdTold(**told), mode="json"))


def from_json(content: Mapping[str, Any], child: Child) -> Household:
    """Strict, so that a weekday is never read as a date. Raises `pydantic.ValidationError` for what is no household."""
    return _TOLD.validate_json(json.dumps(content), strict=True).of(child)
