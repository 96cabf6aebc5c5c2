"""An example for any JSON schema: the one that stands in it, or one made from the names of its fields."""

from __future__ import annotations

from typing import Any

Json = Any

# What fields of these names look like, in the invented job of a harbour office.
_TELLING: dict[str, Json] = {
    "roll_id": "r-0003", "roll": "r-0003", "label": "North quay 3", "strip_id": "s-0008", "frame_id": "f-00017",
    "take_id": "t-000031", "folder": "north-quay-3", "path": "north-quay-3/north-quay-3-s02-04.dng", "where": "box 2",
    "film_format": "120-6x6", "title": "Harbour office, survey of the quays", "nonce": "6f1c0a54e2b7", "edge": "12A",
    "why": "soft at 100 %", "by": "phone", "source": "phone", "name": "phone", "sha256": "9f86d081884c7d65" * 4,
    "bytes": 24_318_022, "shutter_s": 0.0333, "want_s": 0.0333, "f_number": 8.0, "iso": 100, "seq": 412, "number": 2,
    "place": 4, "places": 4, "at": "2026-03-01T12:01:00Z", "camera": "Rig camera 24", "serial": "RS0000001",
    "job_id": "8c1f", "setup_id": "u-0001", "holder": "120 strip holder", "lens": "105 mm macro", "id": 3,
    "phase": "idle", "watch": "off", "free_bytes": 412_000_000_000, "frames_left": 8200, "battery_pct": 84,
    "code": "busy", "what": "One thing at a time.", "remedy": "Wait for the tone.", "text": "North quay from the crane",
}  # fmt: skip
_BY_TYPE: dict[str, Json] = {"integer": 1, "number": 1.0, "boolean": True, "null": None, "string": ""}
# Deeper than this an example tells nobody anything: lists and tables are left empty there.
_DEEP = 6


def example_of(schema: dict[str, Any], components: dict[str, Any], name: str = "", depth: int = 0) -> Json:
    """A value that fits the schema; `name`: the field it stands in."""
    if "$ref" in schema:
        return example_of(components[schema["$ref"].rpartition("/")[2]], components, name, depth)
    for word in ("const", "example"):
        if word in schema:
            return schema[word]
    for word in ("examples", "enum"):
        if word in schema:
            return schema[word][0]
    if choices := schema.get("anyOf") or schema.get("oneOf"):
        # Of what may be missing, what is there tells more; but where it all goes deep, it is missing.
        plain = [one for one in choices if one.get("type") != "null"]
        return example_of(plain[0] if plain and (depth < _DEEP or len(plain) == len(choices)) else {"type": "null"},
                          components, name, depth)  # fmt: skip
    kind = schema.get("type", "object")
    if kind == "object":
        return _object(schema, components, depth)
    if kind == "array":
        return _array(schema, components, name, depth)
    return _plain(schema, kind, name)


def _object(schema: dict[str, Any], components: dict[str, Any], depth: int) -> dict[str, Json]:
    fields = schema.get("properties", {})
    needed = set(fields) if depth < _DEEP else set(schema.get("required", []))
    made = {key: example_of(one, components, key, depth + 1) for key, one in fields.items() if key in needed}
    more = schema.get("additionalProperties")
    if isinstance(more, dict) and depth < _DEEP:
        made["r-0003"] = example_of(more, components, "", depth + 1)
    return made


def _array(schema: dict[str, Any], components: dict[str, Any], name: str, depth: int) -> list[Json]:
    if "prefixItems" in schema:
        return [example_of(one, components, name, depth + 1) for one in schema["prefixItems"]]
    items, least = schema.get("items"), schema.get("minItems", 0)
    if not isinstance(items, dict) or (depth >= _DEEP and not least):
        return []
    return [example_of(items, components, name.removesuffix("s"), depth + 1)] * max(1, least)


def _plain(schema: dict[str, Any], kind: str, name: str) -> Json:
    told = _TELLING.get(name)
    if kind == "string":
        if schema.get("format") == "date-time":
            return _TELLING["at"]
        return told if isinstance(told, str) else name.replace("_", " ")
    if (kind == "number" and isinstance(told, int | float)) or (kind == "integer" and isinstance(told, int)):
        return told
    return max(_BY_TYPE[kind], schema["minimum"]) if "minimum" in schema else _BY_TYPE[kind]
