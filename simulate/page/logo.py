"""A logo for the page: a PNG, JPEG or SVG file, judged before it is embedded as data."""

from __future__ import annotations

import base64
import re
from pathlib import Path
from typing import Any
from xml.parsers import expat

from ...materials.text.reading import Unreadable, read_bytes
from ...scenes.images import read_pixels

ALLOWED = "a PNG, JPEG or SVG file of at most 1 MB"
MOST_BYTES, MOST_SIDE = 1_000_000, 4096
_SVG = "http://www.w3.org/2000/svg"
_LIVE = ("script", "foreignobject", "iframe", "object", "embed", "audio", "video", "handler", "listener")
_HANDLER = re.compile("on")
_INSIDE = re.compile(r"#|data:image/(png|jpeg);base64,", re.IGNORECASE)
_REACHES_OUT = re.compile(r"@import|url\(\s*['\"]?(?!#)|\\", re.IGNORECASE)  # a backslash could spell any of them otherwise


def logo_url(path: Path) -> str:
    """The file as a data URL for an <img>, which runs no script and loads nothing, whatever a file holds.

    A picture must decode whole. An SVG must be well-formed, without document type, script, event handler or anything outside
    itself, all the same: a page may be taken apart again by other programs.
    raises  Unreadable: no such file, too large, damaged, of another kind, or an SVG that would do more than show itself
    Source: PNG, ISO/IEC 15948; JPEG, ISO/IEC 10918-1; SVG 2, secure static mode.
    """
    data = read_bytes(path, MOST_BYTES, "a logo", ALLOWED)
    for kind, start in (("png", b"\x89PNG\r\n\x1a\n"), ("jpeg", b"\xff\xd8\xff")):
        if data.startswith(start):
            read_pixels(path, "a logo", ALLOWED, MOST_SIDE)
            return _data_url(f"image/{kind}", data)
    if not data.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<"):
        raise Unreadable("is not a logo that can be read", ALLOWED)
    _judge_svg(data)
    return _data_url("image/svg+xml", data)


def _data_url(kind: str, data: bytes) -> str:
    return f"data:{kind};base64,{base64.b64encode(data).decode()}"


def _refuse(why: str, parser: Any) -> Unreadable:
    return Unreadable(
        f"is no logo that only shows itself: {why}", "an SVG of shapes, text and embedded PNG or JPEG", parser.CurrentLineNumber
    )


def _judge_svg(data: bytes) -> None:
    """raises Unreadable unless the bytes are such an SVG. Source: XML 1.0 through expat; entities only come with a document type."""
    parser = expat.ParserCreate(namespace_separator=" ")
    open_: list[str] = []

    def start(name: str, attributes: dict[str, str]) -> None:
        space, _, tag = name.rpartition(" ")
        if not open_ and (space, tag) != (_SVG, "svg"):
            raise _refuse("its root is not svg", parser)
        if tag.lower() in _LIVE:
            raise _refuse(f"it holds <{tag}>", parser)
        for key, value in attributes.items():
            short = key.rpartition(" ")[2].lower()
            if _HANDLER.match(short):
                raise _refuse(f"it holds a handler, {short}", parser)
            if short in ("href", "src") and not _INSIDE.match(value.strip()):
                raise _refuse("it asks for another file", parser)
            if _REACHES_OUT.search(value):
                raise _refuse("its style asks for another file", parser)
        open_.append(tag)

    def text(said: str) -> None:
        if "style" in open_[-1:] and _REACHES_OUT.search(said):
            raise _refuse("its style asks for another file", parser)

    def doctype(*_: Any) -> None:
        raise _refuse("it has a document type", parser)

    def instruction(*_: Any) -> None:
        raise _refuse("it has a processing instruction", parser)

    parser.buffer_text = True
    parser.StartElementHandler, parser.EndElementHandler = start, lambda _: open_.pop()
    parser.CharacterDataHandler, parser.StartDoctypeDeclHandler = text, doctype
    parser.ProcessingInstructionHandler = instruction
    try:
        parser.Parse(data, True)
    except expat.ExpatError as fault:
        raise Unreadable(f"is not well-formed: {expat.errors.messages[fault.code]}", ALLOWED, fault.lineno) from None
