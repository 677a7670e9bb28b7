"""What every wire form shares: the strict base, sentences with their words, constants with their source."""

from pydantic import BaseModel, ConfigDict

Line = list[float]


class Wire(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, strict=True)


class SentenceDocument(Wire):
    key: str
    parameters: dict[str, float | int | str]
    text: str


class ConstantDocument(Wire):
    key: str
    value: float
    low: float
    high: float
    unit: str
    meaning: str
    source: str
    citation: str
    status: str
