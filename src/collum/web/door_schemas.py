"""The wire form of the door: kept browsers and how they prove themselves."""

from typing import Annotated

from pydantic import Field

from collum.app.record.kept_browsers import MOST_KEPT, MOST_NAME
from collum.web.schemas import Wire

_MOST_ID = 40
_MOST_ENCODED = 120
BrowserId = Annotated[str, Field(min_length=1, max_length=_MOST_ID)]
Encoded = Annotated[str, Field(min_length=1, max_length=_MOST_ENCODED)]


class ChallengeRequest(Wire):
    """`browsers`: the ids under which the browser has keys, at this address."""

    browsers: list[BrowserId] = Field(max_length=MOST_KEPT)


class ChallengeAnswer(Wire):
    """`browser`: the one of those ids that is kept here, if any. `instance` names the server as long as it runs."""

    nonce: str
    instance: str
    browser: str | None


class ProofRequest(Wire):
    """`signature`: r and s of ECDSA over P-256 with SHA-256, in base 64 for addresses."""

    browser: BrowserId
    nonce: Encoded
    signature: Encoded


class FurtherLinkRequest(Wire):
    """`tab`: a name that the waiting tab gave itself; it comes back with the link."""

    tab: BrowserId


class FurtherLinkAnswer(Wire):
    tab: str
    link: str


class KeepRequest(Wire):
    """`public_key`: a point of P-256, not compressed, in base 64 for addresses."""

    name: str = Field(min_length=1, max_length=MOST_NAME)
    public_key: Encoded


class ForgetRequest(Wire):
    """`browser`: the id of the browser that asks; a page can have no other one forgotten."""

    browser: BrowserId
