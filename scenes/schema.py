"""JSON Schema of the scene file, for editors: every key with its units, ranges, choices and a line about it."""

from __future__ import annotations

from typing import Any

from .room_tables import MeshSceneTable, PlanSceneTable
from .tables import EXACTLY_ONE, SceneTable
from .units import UNITS, from_metres, is_length, unit_of, variants

_UNIT_WORDS = {"_m": "metres", "_cm": "centimetres", "_mm": "millimetres", "_in": "inches", "_ft": "feet"}
_BOUNDS = ("minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum")


def json_schema() -> dict[str, Any]:
    """The schema (draft 2020-12) that a scene file's TOML fulfils; built from the tables, so it cannot lag."""
    schema = SceneTable.model_json_schema()
    rooms = [schema["properties"]["room"]]
    for other in (PlanSceneTable, MeshSceneTable):
        more = other.model_json_schema()
        schema["$defs"] |= more["$defs"]
        rooms.append(more["properties"]["room"])
    schema["properties"]["room"] = {
        "description": "The room: a box by its measures, by its outline, or by a mesh",
        "anyOf": rooms,
    }
    tables = {"SceneTable": schema, **schema["$defs"]}
    for name, table in tables.items():
        if table.get("type") == "object" and "properties" in table:
            _lengths(table, EXACTLY_ONE.get(name, ()))
    schema["$defs"]["ProjectorTable"]["allOf"].append(_lens_by_casing())
    _clean(schema)
    schema.update({"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "halfgain scene"})
    return schema


def _lengths(table: dict[str, Any], one_of: tuple[str, ...]) -> None:
    """Gives every length its five keys, and the rule which of them may stand together."""
    properties, required = table["properties"], table.get("required", [])
    rules = []
    for field in [name for name in properties if is_length(name)]:
        entry = properties.pop(field)
        for key in variants(field):
            properties[key] = _in_unit(entry, key)
        if field in required:
            required.remove(field)
            rules.append(_exactly_one(variants(field)))
        elif field not in one_of:
            rules.append(_at_most_one(variants(field)))
    if one_of:
        rules.append(_exactly_one([key for field in one_of for key in variants(field)]))
    if rules:
        table["allOf"] = rules


def _in_unit(entry: dict[str, Any], key: str) -> dict[str, Any]:
    """A length's schema with bounds and default in the unit that `key` names."""
    unit = unit_of(key)
    found = _scaled(entry, lambda value: float(f"{from_metres(value, unit):.12g}"))
    found["description"] = f"{entry.get('description', '')} [{_UNIT_WORDS[unit.suffix]}]".strip()
    return found


def _scaled(part: Any, scale: Any) -> Any:
    if isinstance(part, list):
        return [_scaled(item, scale) for item in part]
    if not isinstance(part, dict):
        return part
    return {
        key: scale(value) if key in (*_BOUNDS, "default") and isinstance(value, int | float) else _scaled(value, scale)
        for key, value in part.items()
    }


def _exactly_one(keys: Any) -> dict[str, Any]:
    return {"oneOf": [{"required": [key]} for key in keys]}


def _at_most_one(keys: Any) -> dict[str, Any]:
    return {"oneOf": [*_exactly_one(keys)["oneOf"], {"not": {"anyOf": [{"required": [key]} for key in keys]}}]}


def _lens_by_casing() -> dict[str, Any]:
    """The rule that lens_m has three numbers unless the casing's distance from the wall is given."""
    stated = {"anyOf": [{"required": [key]} for key in variants("wall_m")]}
    whole = {"properties": {key: {"minItems": 3} for key in variants("lens_m")}}
    return {"anyOf": [{"required": ["casing"], "properties": {"casing": stated}}, whole]}


def _clean(part: Any) -> None:
    """Takes out what a TOML file cannot say (null) and needs not (titles); writes tuples as older editors know them."""
    if isinstance(part, list):
        for item in part:
            _clean(item)
        return
    if not isinstance(part, dict):
        return
    if part.get("required") == []:
        del part["required"]
    for name, entry in part.get("properties", {}).items():
        entry.pop("title", None)
        entry.pop("allowed", None)  # words for error messages
        if entry.get("default", 0) is None:
            del entry["default"]
        choices = [choice for choice in entry.get("anyOf", []) if choice.get("type") != "null"]
        if len(choices) == 1 and len(choices) < len(entry["anyOf"]):
            del entry["anyOf"]
            part["properties"][name] = entry = {**choices[0], **entry}
    entries = part.get("prefixItems")
    if isinstance(entries, list) and all(entry == entries[0] for entry in entries):
        part["items"] = part.pop("prefixItems")[0]
    for value in part.values():
        _clean(value)


assert set(_UNIT_WORDS) == {unit.suffix for unit in UNITS}
