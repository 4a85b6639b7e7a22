"""A kind of spec made up for tests, with every word of our own in its schema."""

from __future__ import annotations

from typing import Any

from kb.book import schema
from kb.book.finding import Finding
from kb.book.schema import Schemas, ShapeResult, judge
from kb.book.source import read_text

LENGTH = {"dimension": "length", "unit": "mm", "band": [20, 200]}
SCHEMA: dict[str, Any] = {
    "title": "sample",
    "type": "object",
    "additionalProperties": False,
    "required": ["kind", "id"],
    "properties": {
        "kind": {"const": "sample"},
        "id": {"type": "string", "slug": True, "examples": ["tall-330"]},
        "body": {"type": "string", "code": True, "examples": ["211"]},
        "effective": {"type": "string", "day": True, "examples": ["2026-09-14"]},
        "metal": {"type": "string", "slug": True, "reference": "material"},
        "title": {"type": "string", "minLength": 1, "maxLength": 20, "examples": ["330 ml tall, 202 end"]},
        "revision": {"type": "integer", "minimum": 1, "maximum": 999, "examples": [4]},
        "status": {"type": "string", "enum": ["draft", "trial", "released"]},
        "form": {"type": "string", "pattern": "^[a-z]+$", "examples": ["tall"]},
        "calibrated": {"type": "boolean"},
        "amount": {"anyOf": [{"type": "integer"}, {"type": "string"}]},
        "both": {"oneOf": [{"minimum": 1}, {"maximum": 20}]},
        "never": {"not": {"type": "integer"}},
        "lines": {
            "type": "array",
            "minItems": 1,
            "maxItems": 3,
            "uniqueItems": True,
            "items": {"type": "string", "slug": True, "reference": "line"},
            "examples": [["line-1"]],
        },
        "width": {"type": "string", "title": "width of web", "quantity": LENGTH, "examples": ["66.04 mm"]},
        "gauge": {
            "type": "string",
            "quantity": {**LENGTH, "tolerance": "required"},
            "examples": ["66.0 ±0.1 mm"],
        },
        "bare": {"type": "string", "quantity": {**LENGTH, "tolerance": "none"}},
        "taken": {
            "type": "string",
            "quantity": {**LENGTH, "tolerance": "none", "range": True},
            "examples": ["90 to 190 mm"],
        },
        "share": {
            "type": "string",
            "quantity": {"dimension": "fraction", "unit": "-", "band": [0.001, 0.12], "show": "%"},
        },
        "friction": {
            "type": ["string", "number"],
            "quantity": {"dimension": "fraction", "unit": "-", "band": [0, 1]},
        },
        "reversal": {
            "type": "string",
            "quantity": {"dimension": "pressure", "unit": "MPa", "band": [0.4, 1], "show": "kPa"},
        },
        "limit": {"type": ["string", "number"], "quantity": {"dimension": "any", "tolerance": "none"}},
        "rings": {
            "type": "array",
            "items": {
                "type": "object",
                "additionalProperties": False,
                "required": ["bore"],
                "properties": {
                    "bore": {"$ref": "#/$defs/bore"},
                    "land": {"type": "string", "quantity": LENGTH},
                },
            },
        },
        "by_name": {
            "type": "object",
            "propertyNames": {"title": "check", "pattern": "^[a-z]+\\.[a-z-]+$"},
            "additionalProperties": {
                "type": "object",
                "additionalProperties": False,
                "required": ["owner"],
                "anyOf": [{"required": ["least"]}, {"required": ["most"]}],
                "properties": {
                    "least": {"type": "string", "quantity": LENGTH},
                    "most": {"type": "string", "quantity": LENGTH},
                    "owner": {"type": "string", "title": "role that answers", "examples": ["body tooling"]},
                },
            },
        },
        "either": {
            "oneOf": [
                {"const": "none"},
                {"type": "object", "required": ["bore"], "properties": {"bore": {"$ref": "#/$defs/bore"}}},
                {"type": "array", "items": {"type": "string", "quantity": LENGTH}},
            ]
        },
        "machine": {
            "type": "object",
            "required": ["does"],
            "properties": {
                "does": {"enum": ["cups", "necks"]},
                "force": {"type": "string", "title": "press force", "examples": ["900 kN"]},
            },
            "allOf": [{"if": {"properties": {"does": {"const": "cups"}}}, "then": {"required": ["force"]}}],
        },
    },
    "$defs": {
        "bore": {"type": "string", "quantity": {**LENGTH, "tolerance": "allowed"}, "examples": ["66.268 mm"]}
    },
}
SCHEMAS = Schemas({"sample": SCHEMA, "end": {"type": "object"}})


def judged(text: str) -> ShapeResult:
    """The shape of a spec of kind sample, of which the rest is given."""
    reading = read_text(f"kind: sample\nid: tall-330\n{text}", "spec.yaml")
    assert reading.document is not None, reading.findings
    return judge(reading.document, SCHEMAS)


def only(shape: ShapeResult) -> Finding:
    """The one finding of a shape."""
    (finding,) = shape.findings
    return finding


def named() -> set[str]:
    """The names of findings listed at the head of the module."""
    words = (schema.__doc__ or "").split()
    return {word for word in words if word.startswith(("shape.", "units."))}
