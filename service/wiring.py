"""What a request needs, made once in `app.py` and handed through; no module opens anything at import."""

from dataclasses import dataclass
from typing import cast

from fastapi import Request
from sqlalchemy import Engine

from service.clock import Clock
from service.feed_budget import FeedBudget
from service.rendering import Renderer
from service.settings import Settings


@dataclass(frozen=True)
class Wiring:
    settings: Settings
    clock: Clock
    engine: Engine
    renderer: Renderer
    feed_budget: FeedBudget


def wiring(request: Request) -> Wiring:
    return cast(Wiring, request.app.state.wiring)
