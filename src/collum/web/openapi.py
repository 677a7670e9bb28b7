"""The description of the API (OpenAPI 3.1), for the typed client and for whoever else speaks to it."""

from typing import Any

from fastapi.openapi.utils import get_openapi

from collum.web.application import describe
from collum.web.problems import MEDIA_TYPE


def openapi() -> dict[str, Any]:
    """Return the description of every route under /api/v1."""
    described = get_openapi(title="Collum", version="1", routes=describe().routes)
    for item in described["paths"].values():
        for operation in item.values():
            for status, response in operation["responses"].items():
                if not status.startswith("2"):
                    response["content"] = {MEDIA_TYPE: next(iter(response["content"].values()))}
    return described
