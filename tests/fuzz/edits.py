"""Sound files broken in small ways: an edit is three numbers, so that hypothesis can shrink a list of them and a long run repeat it."""

from __future__ import annotations

import re
import struct
from collections.abc import Sequence

Edit = tuple[int, int, int]  # what is done, where (a share of 2**32 of the file), with what

NUMBERS = (
    b"0",
    b"-1",
    b"1",
    b"-0.0",
    b"nan",
    b"inf",
    b"-inf",
    b"1e308",
    b"-1e308",
    b"1e-308",
    b"1e400",
    b"4294967296",
    b"2147483647",
    b"-2147483648",
    b"9223372036854775808",
    b"9" * 400,
    b"9" * 5000,
    b"0x" + b"f" * 4000,
    b"1_000",
    b"1.",
    b"1e",
    b"65535",
    b"255",
    b"1e9",
)
PIECES = (
    b"",
    b" ",
    b"\n",
    b"\r",
    b"\0",
    b",",
    b";",
    b"=",
    b".",
    b'"',
    b"'",
    b'"""',
    b"[",
    b"]",
    b"[[",
    b"{",
    b"}",
    b"#",
    b"\t",
    b"\x7f",
    b"\x1b[31m",
    b"\xff",
    b"\xff\xfe",
    b"\xef\xbb\xbf",
    b"\xed\xa0\x80",
    b"\xc2\x85",
    "\u202e".encode(),
    "\u2028".encode(),
    b"[" * 60,
    b"a." * 60,
    b"true",
    b"[]",
    b"{}",
    b'""',
    b"1979-05-27",
    b"x" * 200,
    b"x" * 20_000,
    b'"' + b"x" * 140_000 + b'"',
    b"../",
    b"/dev/zero",
    b"\\u0000",
    b"%",
    b"1:0",
)
WORDS = (0, 1, 2, 3, 127, 128, 255, 256, 32767, 32768, 65535, 65536, 2**24, 2**31 - 1, 2**31, 2**32 - 1)
_NUMBER = re.compile(rb"(?<![A-Za-z_\d])-?\d+(?:\.\d+)?(?:e[+-]?\d+)?")
_VALUE = re.compile(rb"(?<== )[^\n#]+|(?<=[,\n])[^,\n]+")
VALUES = (
    b"0",
    b"-1",
    b"1e308",
    b"nan",
    b"-inf",
    b"true",
    b'""',
    b'"x"',
    b"[]",
    b"[1, 2, 3]",
    b"[nan, inf, 0]",
    b'["a", {}, []]',
    b"{}",
    b"{ a = 1 }",
    b"[{}]",
    b"[[1]]",
    b"2020-01-01",
    b"07:32:00",
    b"0xffffffffffffffffffffffffff",
    b"9" * 400,
    b'"\\u001b[31m"',
    b'"a\\u0000b"',
    b"0.5",
    b"2",
    b"17",
    b'"silver"',
    b"silver",
    b"matt white",
    b"left",
    b"1e-300",
    b"1.0000001",
    b"100",
    b"0.001",
    b"90",
    b"89.99",
    b"{ gain = 1, half_gain_deg = 30 }",
)
KINDS = 12


def edited(data: bytes, edits: Sequence[Edit]) -> bytes:
    """The file after all edits, at most a megabyte longer."""
    longest = len(data) + 1_000_000
    for edit in edits:
        data = _edited(data, *edit)[:longest]
    return data


def _edited(data: bytes, kind: int, where: int, what: int) -> bytes:
    at = where * (len(data) + 1) >> 32
    span = 1 + what % 64
    if kind == 0:  # a number becomes another
        found = list(_NUMBER.finditer(data[:100_000]))
        if found:
            place = found[where * len(found) >> 32]
            return data[: place.start()] + NUMBERS[what % len(NUMBERS)] + data[place.end() :]
    if kind <= 1:  # a piece is put in
        return data[:at] + PIECES[what % len(PIECES)] + data[at:]
    if kind == 2:  # some bytes go
        return data[:at] + data[at + span :]
    if kind == 3:  # some come twice
        return data[: at + span] + data[at:]
    if kind == 4:  # the rest is missing
        return data[:at]
    if kind == 5:  # a bit is another
        return data[:at] + bytes([data[at] ^ 1 << what % 8]) + data[at + 1 :] if at < len(data) else data
    if kind == 6:  # a binary number is another
        word = struct.pack("<I" if what % 2 else ">I", WORDS[what // 2 % len(WORDS)])
        return data[:at] + word + data[at + 4 :]
    if kind == 7:  # a short one is
        return data[:at] + struct.pack("<H" if what % 2 else ">H", WORDS[what // 2 % len(WORDS)] & 0xFFFF) + data[at + 2 :]
    if kind >= 10:  # a value becomes another
        found = list(_VALUE.finditer(data[:100_000]))
        if found:
            place = found[where * len(found) >> 32]
            return data[: place.start()] + VALUES[what % len(VALUES)] + data[place.end() :]
        return data[:at] + VALUES[what % len(VALUES)] + data[at:]
    lines = data.split(b"\n")
    row = where * len(lines) >> 32
    if kind == 8:  # a line goes, or comes twice
        return b"\n".join(lines[:row] + lines[row : row + 1] * (2 * (what % 2)) + lines[row + 1 :])
    other = what % len(lines)  # two lines change places
    lines[row], lines[other] = lines[other], lines[row]
    return b"\n".join(lines)
