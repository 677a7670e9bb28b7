"""What is wrong with a mesh file."""

from collections.abc import Mapping


class MeshFault(ValueError):
    """The file cannot be read. `key` of the reason, `where` in the file, and the parameters of its sentence."""

    def __init__(self, key: str, where: str = "file", **parameters: str | int) -> None:
        super().__init__(f"{where}: {key}")
        self.key = key
        self.where = where
        self.parameters: Mapping[str, str | int] = parameters
