"""NAME.exr: luminances as float32, with what one needs to trust them."""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np

from ....scenes.leavings import work_folder
from ...measuring.colour import luminance


def exr_bytes(cd_m2: np.ndarray, notes: dict[str, str]) -> bytes:
    """OpenEXR file of luminances (H, W, 3) [cd/m2]: channels R, G, B and Y, 32-bit float, lossless.

    notes  text attributes by name
    Source: OpenEXR, standard attribute whiteLuminance: cd/m2 of (1, 1, 1); primaries are its default, BT.709 with D65.
    """
    import OpenEXR

    channels = {name: np.ascontiguousarray(cd_m2[..., i], np.float32) for i, name in enumerate("RGB")}
    channels["Y"] = np.ascontiguousarray(luminance(cd_m2), np.float32)
    header = {"compression": OpenEXR.ZIP_COMPRESSION, "type": OpenEXR.scanlineimage, "whiteLuminance": 1.0, **notes}
    with work_folder(Path(tempfile.gettempdir())) as folder:  # what a killed run leaves there goes with the next picture
        path = folder / "picture.exr"
        with OpenEXR.File(header, channels) as file:
            file.write(str(path))
        return path.read_bytes()
