"""Names of the functions that an object file calls and does not hold. A linker that lacks one may end the process, so they are asked before."""

from __future__ import annotations

import struct

_HEAD = b"\x7fELF\x02\x01"  # 64-bit words, the lowest byte first
_SYMBOLS = 2  # type of the section of symbols


def undefined(code: bytes) -> list[str] | None:
    """Names in an object file whose place is elsewhere, in their order in the alphabet; None where it is no ELF file of 64-bit words.

    Source: System V ABI, ELF-64 object file format: header, section headers, symbol table.
    """
    if code[: len(_HEAD)] != _HEAD:
        return None
    (sections,) = struct.unpack_from("<Q", code, 40)
    size, count = struct.unpack_from("<HH", code, 58)
    headers = [struct.unpack_from("<IIQQQQIIQQ", code, sections + size * k) for k in range(count)]
    names = set()
    for _, kind, _, _, start, length, link, _, _, each in headers:
        if kind == _SYMBOLS:
            strings = headers[link][4]
            for place in range(start, start + length, each):
                name, _, _, section = struct.unpack_from("<IBBH", code, place)
                if name and section == 0:
                    names.add(code[strings + name : code.index(b"\0", strings + name)].decode())
    return sorted(names)
