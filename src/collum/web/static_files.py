"""The static shell: the built workbench, shipped inside the package. Only files that were built are served, by exact name."""

from functools import lru_cache
from importlib import resources
from importlib.resources.abc import Traversable

from fastapi import APIRouter, Response

from collum.web.problems import problem

_TYPES = {"html": "text/html", "js": "text/javascript", "css": "text/css", "svg": "image/svg+xml", "woff2": "font/woff2"}


def shell() -> APIRouter:
    """Return the routes of the shell: the page and its files."""
    router = APIRouter(include_in_schema=False)

    @router.get("/")
    async def page() -> Response:
        if "index.html" not in _files():
            raise problem("not_found", "not_built", "build")
        return _file("index.html")

    @router.get("/assets/{name}")
    async def asset(name: str) -> Response:
        return _file(f"assets/{name}")

    return router


def _file(name: str) -> Response:
    content = _files().get(name)
    if content is None:
        raise problem("not_found", "unknown", "shape")
    kind = _TYPES.get(name.rsplit(".", 1)[-1], "application/octet-stream")
    return Response(content, media_type=kind)


@lru_cache(maxsize=1)
def _files() -> dict[str, bytes]:
    """Return every built file by its name; read once."""
    root = resources.files("collum.web") / "static"
    if not root.is_dir():
        return {}
    found: dict[str, bytes] = {}
    folders: list[tuple[str, Traversable]] = [("", root)]
    while folders:
        prefix, folder = folders.pop()
        for entry in folder.iterdir():
            if entry.is_dir():
                folders.append((f"{prefix}{entry.name}/", entry))
            else:
                found[f"{prefix}{entry.name}"] = entry.read_bytes()
    return found
