"""Checks what a bot sent against the platform's published API document (OpenAPI, MIT).

    document = ApiDocument.load(path)
    for entry in env.http_requests:
        problems = document.problems(entry.method, entry.path, entry.json)

A request that the document does not describe is a problem too. Bodies may be None (GET, DELETE).
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator
from jsonschema.exceptions import ValidationError
from jsonschema.validators import extend

# discord.py sends snowflakes as JSON integers in allowed_mentions, message_reference and attachments;
# the platform takes both, as its prose says, the document a string only.
WIDENED = {
    "SnowflakeType": {
        "anyOf": [{"type": "integer", "minimum": 0}, {"type": "string", "pattern": "^(0|[1-9][0-9]*)$"}]
    }
}
# The document offers two bodies here; a followup is the first (the second, an edit, takes less).
NARROWED = {("POST", "/webhooks/{webhook_id}/{webhook_token}"): "IncomingWebhookRequestPartial"}
# Sent by discord.py 2.7 itself, taken by the platform, not in the document.
SENT_BY_THE_LIBRARY = re.compile(r"(/\d+/nsfw|(/data)?/tts|(/data)?/embeds/\d+/flags)")


@dataclass(frozen=True, slots=True)
class Problem:
    method: str
    path: str
    where: str
    message: str

    def __str__(self) -> str:
        return f"{self.method} {self.path}: at {self.where or '(body)'}: {self.message}"


class ApiDocument:
    def __init__(self, document: dict[str, Any]) -> None:
        self._schemas = document["components"]["schemas"] | WIDENED
        self._document = _linked(document, self._schemas)
        self._validators: dict[tuple[str, str], Draft202012Validator | None] = {}
        self._fits: set[tuple[str, str, str]] = set()

    @classmethod
    def load(cls, path: Path) -> ApiDocument:
        return cls(json.loads(path.read_text(encoding="utf-8")))

    @cached_property
    def _routes(self) -> list[tuple[int, re.Pattern[str], str]]:
        """Most literal template first, so that .../messages/@original wins over .../messages/{message_id}."""
        routes = []
        for template in self._document["paths"]:
            pattern = re.sub(r"\\\{[^/]+\\\}", "[^/]+", re.escape(template))
            routes.append((template.count("{"), re.compile(pattern), template))
        return sorted(routes, key=lambda route: route[0])

    def template(self, path: str) -> str | None:
        return next((template for _, pattern, template in self._routes if pattern.fullmatch(path)), None)

    def _validator(self, method: str, template: str) -> Draft202012Validator | None:
        key = (method, template)
        if key not in self._validators:
            self._validators[key] = self._build(method, template)
        return self._validators[key]

    def _build(self, method: str, template: str) -> Draft202012Validator | None:
        body = self._document["paths"][template][method.lower()].get("requestBody")
        if body is None:
            return None
        if (name := NARROWED.get((method, template))) is not None:
            schema: dict[str, Any] = self._schemas[name]
        else:
            schema = body["content"]["application/json"]["schema"]
        return Validator(schema)

    def problems(self, method: str, path: str, body: Any) -> list[Problem]:
        template = self.template(path)
        if template is None or method.lower() not in self._document["paths"][template]:
            return [Problem(method, path, "", "the document has no such route")]
        key = (method, template, json.dumps(body, sort_keys=True))
        if key in self._fits:  # a suite sends the same command list hundreds of times
            return []
        validator = self._validator(method, template)
        if validator is None:
            return (
                [] if body is None else [Problem(method, path, "", "the document gives this route no body")]
            )
        found = [self._problem(method, path, error) for error in validator.iter_errors(body)]
        found += [
            Problem(method, path, where, "the document knows no such field")
            for where in self.unknown(validator.schema, body)
            if not SENT_BY_THE_LIBRARY.fullmatch(where)
        ]
        if not found:
            self._fits.add(key)
        return found

    @staticmethod
    def _problem(method: str, path: str, error: ValidationError) -> Problem:
        cause = innermost(error)
        where = "/".join(str(part) for part in cause.absolute_path)
        return Problem(method, path, where, cause.message[:300])

    def unknown(self, schema: dict[str, Any], body: Any, where: str = "") -> list[str]:
        """Fields that no schema reachable for this value names: the document is open, so jsonschema alone
        lets typos through."""
        branches = list(self._branches(schema, body))
        if isinstance(body, list):
            items = {"anyOf": [b["items"] for b in branches if "items" in b]}
            return (
                [x for i, v in enumerate(body) for x in self.unknown(items, v, f"{where}/{i}")]
                if items["anyOf"]
                else []
            )
        if not isinstance(body, dict):
            return []
        known: dict[str, list[Any]] = {}
        for branch in branches:
            if "additionalProperties" in branch:
                return []
            for name, sub in branch.get("properties", {}).items():
                known.setdefault(name, []).append(sub)
        if not known:
            return []
        result = [f"{where}/{name}" for name in body if name not in known]
        for name, value in body.items():
            if name in known:
                result += self.unknown({"anyOf": known[name]}, value, f"{where}/{name}")
        return result

    def _branches(self, schema: dict[str, Any], body: Any) -> Iterator[dict[str, Any]]:
        yield schema
        for keyword in ("anyOf", "oneOf", "allOf"):
            for member in schema.get(keyword, ()):
                if _may_fit(member, body):
                    yield from self._branches(member, body)


def _may_fit(member: dict[str, Any], value: Any) -> bool:
    """False for a member of a union that plainly means another value: null, or another "type" tag."""
    if member.get("type") == "null":
        return value is None
    tags = member.get("properties", {}).get("type", {}).get("enum")
    return value is not None and not (
        tags and isinstance(value, dict) and value.get("type", tags[0]) not in tags
    )


def _union(keyword: str) -> Any:
    """oneOf and anyOf that look at the type tag first: a pointed error instead of "is not valid under any
    of", and a tenth of the time (a card is forty unions deep)."""
    plain = Draft202012Validator.VALIDATORS[keyword]

    def check(validator: Any, members: list[Any], value: Any, schema: Any) -> Iterator[ValidationError]:
        fitting = [member for member in members if _may_fit(member, value)]
        if len(fitting) == 1:
            yield from validator.descend(value, fitting[0], schema_path=members.index(fitting[0]))
        else:
            yield from plain(validator, fitting or members, value, schema)

    return check


Validator = extend(Draft202012Validator, {"oneOf": _union("oneOf"), "anyOf": _union("anyOf")})


def _linked(node: Any, schemas: dict[str, Any]) -> Any:
    """The document with each {"$ref": "#/components/schemas/X"} replaced by X itself, in place: the result
    is a graph (embeds in itself), which jsonschema walks as lazily as a $ref, without looking each one up."""
    items = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    for key, value in list(items):
        if isinstance(value, dict) and str(value.get("$ref", "")).startswith("#/components/schemas/"):
            node[key] = schemas[value["$ref"].rsplit("/", 1)[1]]
        else:
            _linked(value, schemas)
    return node


def innermost(error: ValidationError) -> ValidationError:
    """The cause inside a failed union: the branch whose type tag fits, or the one that got deepest."""
    while error.context:
        branches: dict[int, list[ValidationError]] = {}
        for inner in error.context:
            branches.setdefault(int(inner.schema_path[0]), []).append(inner)

        def rank(errors: list[ValidationError]) -> tuple[bool, bool, int]:
            wrong_tag = any(list(e.path)[-1:] == ["type"] and e.validator == "enum" for e in errors)
            null_only = any(e.validator == "type" and e.validator_value == "null" for e in errors)
            return (not wrong_tag, not null_only, max(len(e.path) + bool(e.context) for e in errors))

        error = max(branches.values(), key=rank)[0]
    return error
