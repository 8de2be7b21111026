"""A wheel with more files in it, for this system alone. Source: PEP 427, PEP 376 (RECORD), PEP 425 (tags)."""

from __future__ import annotations

import base64
import hashlib
import re
import sysconfig
from collections.abc import Sequence
from pathlib import Path
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

_PLAIN = "-py3-none-any.whl"
_EARLIEST = (1980, 1, 1, 0, 0, 0)  # that a ZIP archive can say: the same files make the same wheel
_READABLE = 0o100644 << 16


def with_files(plain: Path, place: str, files: Sequence[Path]) -> Path:
    """A wheel beside a plain one, with its content and more files; returns its path.

    place   folder in the wheel that takes them, with "/" at its end
    raises  ValueError where the plain wheel is not one for every system
    """
    if not plain.name.endswith(_PLAIN):
        raise ValueError(f"{plain.name} is no wheel for every system")
    tag = f"py3-none-{re.sub(r'[-.]', '_', sysconfig.get_platform())}"
    full = plain.with_name(f"{plain.name.removesuffix(_PLAIN)}-{tag}.whl")
    record = []
    with ZipFile(plain) as old, ZipFile(full, "w", ZIP_DEFLATED) as new:

        def add(entry: ZipInfo, content: bytes) -> None:
            entry.compress_type = ZIP_DEFLATED
            new.writestr(entry, content)
            digest = base64.urlsafe_b64encode(hashlib.sha256(content).digest()).rstrip(b"=").decode()
            record.append(f"{entry.filename},sha256={digest},{len(content)}\n")

        for path in files:
            entry = ZipInfo(place + path.name, _EARLIEST)
            entry.external_attr = _READABLE
            add(entry, path.read_bytes())
        for entry in old.infolist():
            content = old.read(entry)
            if entry.filename.endswith(".dist-info/WHEEL"):
                content = re.sub(rb"(?m)^Tag: .*$", f"Tag: {tag}".encode(), content)
                content = re.sub(rb"(?m)^Root-Is-Purelib: .*$", b"Root-Is-Purelib: false", content)
            if entry.filename.endswith(".dist-info/RECORD"):
                new.writestr(entry, "".join([*record, f"{entry.filename},,\n"]), ZIP_DEFLATED)  # the last entry
            else:
                add(entry, content)
    return full
