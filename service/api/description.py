"""The description at `/api/openapi.json`: what the routes say, and for each operation the examples that stand under its name in `examples/`."""

import json
from pathlib import Path
from typing import Any

from fastapi import FastAPI

EXAMPLES = Path(__file__).with_name("examples")


class DescribedApp(FastAPI):
    """Examples are put in last: FastAPI would drop every null from them, and a null is an answer."""

    def openapi(self) -> dict[str, Any]:
        if self.openapi_schema is None:
            examples = {name: shown for path in EXAMPLES.iterdir() for name, shown in json.loads(path.read_text()).items()}
            for operation in (op for ops in super().openapi()["paths"].values() for op in ops.values()):
                _show(operation, examples.get(operation["operationId"], {}))
        return super().openapi()


def _show(operation: dict[str, Any], example: dict[str, Any]) -> None:
    for status, answer in operation["responses"].items():
        if status < "300" and "answer" in example:
            answer["content"]["application/json"]["example"] = example["answer"]
    if "request" in example:
        operation["requestBody"]["content"]["application/json"]["example"] = example["request"]
