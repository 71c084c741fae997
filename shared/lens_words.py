"""The words of contact lenses, one name each. Values are what is stored."""

from enum import StrEnum


class LensMaterial(StrEnum):
    SILICONE_ELASTOMER = "silicone-elastomer"
    RIGID_GAS_PERMEABLE = "rigid-gas-permeable"
    HYDROGEL = "hydrogel"
    SILICONE_HYDROGEL = "silicone-hydrogel"


class WearSchedule(StrEnum):
    """How long a lens of a range stays in, and how long it is used."""

    DAILY = "daily"
    OVERNIGHT = "overnight"
    DAILY_DISPOSABLE = "daily-disposable"


class PowerPlane(StrEnum):
    """Where the labelled power of a contact lens was measured."""

    BACK_VERTEX = "back-vertex"
    FRONT_VERTEX = "front-vertex"


class LensState(StrEnum):
    """What has become of one lens, as the ledger of an eye keeps it."""

    ORDERED = "ordered"
    ARRIVED = "arrived"
    IN_USE = "in-use"
    TAKEN_OUT = "taken-out"
    LOST = "lost"
    FOUND = "found"
    BROKEN = "broken"
    OUT_OF_DATE = "out-of-date"
