"""The description of the API (OpenAPI 3.1), for the typed client and for whoever else speaks to it."""

from typing import Any

from fastapi.openapi.utils import get_openapi

from collum.web.application import describe


def openapi() -> dict[str, Any]:
    """Return the description of every route under /api/v1."""
    return get_openapi(title="Collum", version="1", routes=describe().routes)
