"""A hunt over every operation of openapi.json: requests by its schemas and beside them; none may end in a fault of our own.

What is answered is used again: cases, revisions, plans and rounds that the server gave take part in later requests.
"""

import base64
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

import httpx
import jsonschema

from collum.web.openapi import openapi
from tests.fuzz.hostile import VALUES, Chance, Hunt, as_json, mutated, mutated_bytes
from tests.fuzz.meshes import sound_surface
from tests.fuzz.server import OWNER, WORDS, Running
from tests.making.answers import answered, counted_aloud
from tests.making.bad_cases import sound_document
from tests.making.mesh_files import obj

SESSION_LASTS = 15  # requests; fewer than a session may send within a second
CHECKED_EVERY = 5  # answers held against their schema
_LEAST_FAULT = 500
_DEEPEST = 6
_ANSWERED_WITHIN_S = 900  # rounds of heat wait for each other, on a busy machine for minutes
_SOUND, _KNOWN = 0.35, 0.9  # how often a request is as described, and a value one the server gave
_TEXTS = ("a", "DN", "cut", "2026-05-01", "46", "0,0,1", "mm", "of one wish", "local rule")
_OWN_SESSION = ("openSession",)  # keeps its own rules of links; asked for apart
_MOST_CASES, _ANSWERED_CASES = 12, 2
_ANSWERED_EVERY = 100  # requests; later ones open visits, change answers and save over them
_ALSO: Mapping[str, Sequence[Any]] = {
    "tooth": (0, 0, 0, 0, 1),
    "name": ("case.toml", "case.json"),
    "key": ("plan.confidence", "plan.limit.ferrule_mm"),
    "kind": ("plan-sheet", "findings-sheet", "chairside-card"),
    "rule": ("other_instrument", "poor_healing"),
    "data": (base64.b64encode(json.dumps(sound_document()).encode()).decode(),),
    "unit": ("mm", "um"),
    "axis": ("0,0,1", "0,0,-1"),
    "facial": ("1,0,0",),
    "passes": (None, None, 1, 2, 9),
    "code": (OWNER, OWNER, "CD"),
    "passphrase": (WORDS, WORDS, WORDS, "another long passphrase"),
    "Collum-Passphrase": (None, base64.b64encode(WORDS.encode()).decode()),
}
_NONE = object()  # null, and not what is not known
_OF_OPERATION: Mapping[str, Mapping[str, Any]] = {
    "judgePreparation": {"tooth": 45},
    "comparePlans": {"tooth": 46},
    "readCaseFile": {"name": "case.json"},
    "addOverride": {"tooth": _NONE},
    "addAttachment": {"name": "scan.obj", "kind": "scan", "taken_on": _NONE},
}
SURFACE = obj(*sound_surface())


@dataclass(frozen=True, slots=True)
class Operation:
    method: str
    path: str
    described: Mapping[str, Any]


class Knowing:
    """What the server gave so far, by the name under which requests ask for it; of one case at a time, so that it fits."""

    def __init__(self, documents: Sequence[Mapping[str, Any]], random: Chance) -> None:
        self._random = random
        self._documents = list(documents)
        self._of_cases: dict[str, dict[str, Any]] = {}
        self._of_all: dict[str, list[Any]] = {name: list(values) for name, values in _ALSO.items()}
        self.archive = SURFACE  # the last one that was given out
        self._now: dict[str, Any] = {}
        self._apart: Mapping[str, Any] = {}

    def turn_to(self, operation: str) -> None:
        """Choose the case that the next request, of this operation, is about: every third time one of those made last."""
        cases = list(self._of_cases.values())
        among = cases[-_ANSWERED_CASES:] if self._random.share() < 1 / 3 else [{}, *cases]
        self._now = self._random.choice(among)
        self._apart = _OF_OPERATION.get(operation, {})
        if operation == "checkBackup":
            self._apart = {"name": self._random.choice(self._of_all.get("backup") or ["none.collum-backup"])}

    def of(self, name: str) -> Any | None:
        """Return something the server gave under this name; None where nothing was."""
        if name in self._apart:
            return self._apart[name]
        if name == "document":
            return self._now.get(name) or self._random.choice(self._documents)
        known = self._of_all.get({"other_id": "plan_id"}.get(name, name), ())
        return self._now[name] if name in self._now else self._random.choice(known) if known else None

    def learn(self, answer: Any) -> None:
        """Keep what an answer gave: of its case, and of all."""
        if not isinstance(answer, dict):
            return
        for part in ("case", "round", "newest"):
            self.learn(answer.get(part))
        if "case_id" in answer and "document" in answer:
            given = {name: answer[name] for name in ("case_id", "revision", "document")}
            self._now = self._of_cases.setdefault(answer["case_id"], {})
            reference = answer["document"]["patient"]["reference"]
            self._now.update(given, base_revision=answer["revision"], reference=reference)
            if len(self._of_cases) > _MOST_CASES:
                del self._of_cases[next(iter(self._of_cases))]
        self._of_all.setdefault("backup", []).extend(one["name"] for one in answer.get("backups", ()))
        for name in ("plan_id", "round_id", "nonce", "browser_id", "attachment_id", "recovery_code"):
            if answer.get(name) is not None:
                self._now[name] = answer[name]
                self._of_all.setdefault(name, []).append(answer[name])


def hunt_operations(count: int, seed: int, running: Running, documents: list[dict[str, Any]]) -> Hunt:
    """Return what `count` requests over all operations came to."""
    client, new_token = running.client, running.new_token
    hunt, random = Hunt(what="operations", seed=seed), Chance(seed)
    knowing = Knowing(documents, random)
    described = json.loads(json.dumps(openapi()))
    asking = Asking(described, knowing, random)
    operations = [one for one in _operations(described) if one.described["operationId"] not in _OWN_SESSION]
    token = ""
    for i in range(count):
        if i % SESSION_LASTS == 0 or i % _ANSWERED_EVERY == 0:
            running.open_again()
        if i % _ANSWERED_EVERY == 0:
            for changes in ({}, {"blood_thinner": "yes", "other_instrument": "no"}):
                for answer in _answered_case(client, new_token(), documents[0], changes):
                    knowing.learn(answer)
        if i % SESSION_LASTS == 0:
            token = new_token()
        operation = operations[i % len(operations)] if i < 2 * len(operations) else random.choice(operations)
        knowing.turn_to(operation.described["operationId"])
        request = asking.request(operation, client, token)
        hunt.tried += 1
        try:
            answer = client.send(request)
        except httpx.HTTPError as error:
            hunt.found.append(f"{_told(request)}: {type(error).__name__}: {error}")
            continue
        hunt.count(str(answer.status_code))
        name = operation.described["operationId"]
        hunt.done[name] = hunt.done.get(name, 0) + answer.is_success
        hunt.found += [
            f"{_told(request)}: {why}" for why in _wrong(answer, operation, described, checked=i % CHECKED_EVERY == 0)
        ]
        if answer.is_success and "json" in answer.headers.get("content-type", ""):
            knowing.learn(answer.json())
        if answer.is_success and name == "exportCase":
            knowing.archive = answer.content
    return hunt


def _answered_case(
    client: httpx.Client, token: str, document: Mapping[str, Any], changes: Mapping[str, str]
) -> Iterator[dict[str, Any]]:
    """Make a case whose visit is answered, its plan and a file of it: by chance alone no round would ever start."""
    headers = {"Collum-Session": token, "Origin": str(client.base_url).rstrip("/")}

    def asked(method: str, path: str, body: dict[str, Any]) -> dict[str, Any]:
        return dict(client.request(method, f"api/v1/{path}", json=body, headers=headers).raise_for_status().json())

    made = asked("POST", "cases", {"document": document})
    case = f"cases/{made['case_id']}"
    made = asked("POST", f"{case}/visits", {"base_revision": made["revision"], "kind": "cut", "by": "DN"})
    made = asked("PUT", case, {"base_revision": made["revision"], "document": answered(made["document"], changes)})
    if not changes:
        number = made["document"]["teeth"][0]["number"]
        counted = {"procedure": "current", "tooth": number, "name": "D. Nurse", **counted_aloud(number)}
        made = asked("POST", f"{case}/time-outs", {"base_revision": made["revision"], **counted})
    yield made
    yield asked("POST", f"{case}/plans", {"revision": made["revision"]})
    of_file = {
        "params": {"name": "scan.obj", "kind": "scan"},
        "headers": {**headers, "Content-Type": "application/octet-stream"},
    }
    yield client.post(f"api/v1/{case}/attachments", content=SURFACE, **of_file).raise_for_status().json()


def _operations(described: Mapping[str, Any]) -> Iterator[Operation]:
    for path, methods in described["paths"].items():
        for method, one in methods.items():
            yield Operation(method.upper(), path, one)


@dataclass(frozen=True, slots=True)
class Asking:
    """Draws requests of the description, from what is known by then."""

    described: Mapping[str, Any]
    knowing: Knowing
    random: Chance

    def request(self, operation: Operation, client: httpx.Client, token: str) -> httpx.Request:
        """Return a request of the operation, every third as described, the others beside it."""
        sound = self.random.share() < _SOUND
        path, query = operation.path, {}
        headers = {"Collum-Session": token, "Origin": str(client.base_url).rstrip("/")}
        for parameter in operation.described.get("parameters", ()):
            name, where = parameter["name"], parameter["in"]
            value = self._drawn(parameter["schema"], name)
            if not sound and self.random.share() < 0.25:
                value = self.random.choice(VALUES)
            if where == "path":
                path = path.replace(f"{{{name}}}", quote(_plain(value), safe="") or "-")
            elif where == "query" and value is not None:
                query[name] = _plain(value)
            elif (
                where == "header" and name not in headers and isinstance(value, str) and value.isascii() and value.isprintable()
            ):
                headers[name] = value
        content = None
        for kind, body in operation.described.get("requestBody", {}).get("content", {}).items():
            headers["Content-Type"] = kind
            file = self.knowing.archive if operation.path.endswith("/import") else SURFACE
            content = self._body(kind, body["schema"], file, sound=sound)
        return client.build_request(
            operation.method, path, params=query, content=content, headers=headers, timeout=_ANSWERED_WITHIN_S
        )

    def _body(self, kind: str, schema: Mapping[str, Any], file: bytes, *, sound: bool) -> bytes:
        if "json" not in kind:
            return mutated_bytes(file, self.random, 0 if sound else 3)
        drawn = self._drawn(schema, "")
        if sound:
            return as_json(drawn)
        written = as_json(mutated(drawn, self.random, self.random.choice((1, 1, 2, 4))))
        return mutated_bytes(written, self.random, 2) if self.random.share() < 0.1 else written

    def _drawn(self, schema: Mapping[str, Any], name: str, deep: int = 0) -> Any:
        """Return a value of a schema; where the server gave something under the same name, mostly that."""
        known = self.knowing.of(name)
        if known is not None and self.random.share() < _KNOWN:
            return None if known is _NONE else known
        if "$ref" in schema:
            return self._drawn(self.described["components"]["schemas"][schema["$ref"].rsplit("/", 1)[1]], name, deep)
        if "enum" in schema or "const" in schema:
            return self.random.choice(schema.get("enum") or [schema["const"]])
        several = schema.get("anyOf") or schema.get("oneOf")
        return self._drawn(self.random.choice(several), name, deep) if several else self._of_type(schema, name, deep)

    def _of_type(self, schema: Mapping[str, Any], name: str, deep: int) -> Any:
        match schema.get("type"):
            case "object":
                needed = schema.get("required", ())
                keys = [key for key in schema.get("properties", {}) if key in needed or self.random.share() < 0.6]
                return {key: self._drawn(schema["properties"][key], key, deep + 1) for key in keys}
            case "array":
                least = schema.get("minItems", 0)
                more = min(schema.get("maxItems", 4) - least, 3) if deep < _DEEPEST else 0
                return [self._drawn(schema["items"], name, deep + 1) for _ in range(least + self.random.below(more + 1))]
            case "integer" | "number" as kind:
                low = schema.get("minimum", schema.get("exclusiveMinimum", -10))
                high = min(schema.get("maximum", schema.get("exclusiveMaximum", low + 20)), low + 100)
                found = self.random.between(low, high)
                return round(found) if kind == "integer" else round(found, 2)
            case "boolean":
                return self.random.share() < 0.5
            case "string":
                return self.random.choice(_TEXTS)[: schema.get("maxLength", 99)].ljust(schema.get("minLength", 0), "x")
        return None


def _plain(value: Any) -> str:
    text = value if isinstance(value, str) else json.dumps(value)
    return text.encode("utf-8", "replace").decode()[:2000]


def _wrong(answer: httpx.Response, operation: Operation, described: Mapping[str, Any], *, checked: bool) -> Iterator[str]:
    """Give what is wrong with an answer: a fault of our own, a refusal without its shape, or another shape than described."""
    if answer.status_code >= _LEAST_FAULT:
        yield f"{answer.status_code}: {answer.text[:300]}"
    elif not answer.is_success:
        found = answer.json() if "json" in answer.headers.get("content-type", "") else {}
        if not {"type", "title", "status", "errors", "id"} <= set(found):
            yield f"{answer.status_code} in another shape: {answer.text[:300]}"
    elif checked and answer.headers.get("content-type", "").startswith("application/json"):
        shape = operation.described["responses"][str(answer.status_code)]["content"]["application/json"]["schema"]
        whole = {**shape, "components": described["components"]}
        for error in jsonschema.Draft202012Validator(whole).iter_errors(answer.json()):
            yield f"not as described at {error.json_path}: {error.message[:200]}"
            return


def _told(request: httpx.Request) -> str:
    return f"{request.method} {request.url.raw_path.decode()[:300]} {request.content[:2000]!r}"
