"""The routes that lead to a session: a one-time link, a kept browser's proof, a link for a further tab."""

from asyncio import to_thread
from typing import Annotated

from fastapi import APIRouter, Header

from collum.app.record.kept_browsers import MOST_KEPT, MOST_NAME, NotKept
from collum.web import door_schemas as wire
from collum.web.door import Door
from collum.web.practice_services import storage_troubles
from collum.web.problems import problem
from collum.web.proofs import is_public_key
from collum.web.routes import Session, kept_answer
from collum.web.schemas import KeptAnswer, SessionAnswer, SessionRequest

_MOST = {"shape": MOST_NAME, "taken": 1, "many": MOST_KEPT}
Origin = Annotated[str, Header(alias="Origin", include_in_schema=False)]


def add_sessions(router: APIRouter, door: Door) -> None:
    """Add the ways to a session. What looks at files does so in a thread."""

    @router.post("/session", operation_id="openSession")
    async def open_session(body: SessionRequest) -> SessionAnswer:
        token = door.sessions.swap(body.link)
        if token is None:
            raise problem("no_session", "link", "link", where="link")
        return SessionAnswer(token=token, instance=door.challenges.instance)

    @router.post("/session/challenge", operation_id="askChallenge")
    async def ask_challenge(body: wire.ChallengeRequest) -> wire.ChallengeAnswer:
        known = await to_thread(door.known_of, body.browsers)
        return wire.ChallengeAnswer(nonce=door.challenges.new(), instance=door.challenges.instance, browser=known)

    @router.post("/session/proof", operation_id="proveBrowser")
    async def prove_browser(body: wire.ProofRequest, origin: Origin) -> SessionAnswer:
        token = await to_thread(door.prove, body.browser, body.nonce, origin, body.signature)
        if token is None:
            raise problem("no_session", "proof", "link", where="signature")
        return SessionAnswer(token=token, instance=door.challenges.instance)

    @router.post("/session/link", operation_id="furtherLink")
    async def further_link(body: wire.FurtherLinkRequest, session: Session) -> wire.FurtherLinkAnswer:
        link = door.sessions.new_link(door.sessions.browser_of(session))
        return wire.FurtherLinkAnswer(tab=body.tab, link=link)


def add_browsers(router: APIRouter, door: Door) -> None:
    """Add keeping a browser, and keeping it no longer."""

    @router.post("/browsers", operation_id="keepBrowser", status_code=201)
    async def keep_browser(body: wire.KeepRequest, session: Session) -> KeptAnswer:
        if not is_public_key(body.public_key):
            raise problem("faulty_input", "public_key", "public_key", where="public_key")
        try:
            with storage_troubles():
                kept = await to_thread(door.keep, session, body.name, body.public_key)
        except NotKept as refused:
            words = f"browser_{refused.why}"
            raise problem("faulty_input", words, words, where="name", most=_MOST[refused.why]) from None
        return kept_answer(kept)

    @router.post("/browsers/forget", operation_id="forgetBrowser")
    async def forget_browser(body: wire.ForgetRequest, session: Session) -> KeptAnswer:
        with storage_troubles():
            forgotten = await to_thread(door.forget, session, body.browser)
        if forgotten is None:
            raise problem("not_found", "unknown", "shape", where="browser")
        return kept_answer(forgotten)
