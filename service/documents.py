"""Messages and findings as they are kept inside signed documents: with their parameters, so that they can be shown again in any language."""

from datetime import date
from typing import Any

from shared.findings import Finding, Message, Param, Quantity, Unit
from shared.optics.refraction import SpheroCylinder


def message_to_json(m: Message) -> dict[str, Any]:
    return {"text": m.text, "params": {k: _param_to_json(v) for k, v in m.params.items()}}


def message_from_json(data: dict[str, Any]) -> Message:
    return Message(data["text"], {k: _param_from_json(v) for k, v in data["params"].items()})


def finding_to_json(f: Finding) -> dict[str, Any]:
    return {
        "rule": f.rule,
        "message": message_to_json(f.message),
        "status": f.status,
        "sources": list(f.sources),
        "working": [message_to_json(m) for m in f.working],
    }


def power_to_json(p: SpheroCylinder) -> dict[str, float | None]:
    return {"sphere": p.sphere, "cylinder": p.cylinder, "axis": p.axis}


def power_from_json(data: dict[str, Any]) -> SpheroCylinder:
    return SpheroCylinder(data["sphere"], data["cylinder"], data["axis"])


def _param_to_json(value: Param) -> Any:
    if isinstance(value, Message):
        return {"message": message_to_json(value)}
    if isinstance(value, Quantity):
        return {"value": value.value, "unit": value.unit}
    if isinstance(value, date):
        return {"date": value.isoformat()}
    return value


def _param_from_json(value: Any) -> Param:
    if isinstance(value, dict):
        if "message" in value:
            return message_from_json(value["message"])
        if "unit" in value:
            return Quantity(value["value"], Unit(value["unit"]))
        return date.fromisoformat(value["date"])
    return value if isinstance(value, int) else str(value)
