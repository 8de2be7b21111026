"""The colour of a lamp from its colour temperature, in linear RGB on BT.709 primaries."""

from __future__ import annotations

from ...materials.tint import LUMINANCE_WEIGHTS

Colour = tuple[float, float, float]
WHITE: Colour = (1.0, 1.0, 1.0)
COLDEST_K, WARMEST_K = 20_000.0, 1_700.0

# Linear R, G, B from X, Y, Z: the inverse of ITU-R BT.709-6's matrix (recomputed in the tests from the primaries).
_RGB_FROM_XYZ = (
    (3.2409699419045213, -1.5373831775700935, -0.4986107602930034),
    (-0.9692436362808798, 1.8759675015077206, 0.0415550574071756),
    (0.0556300796969936, -0.2039769588889765, 1.0569715142428786),
)


def of_luminance_one(rgb: Colour) -> Colour:
    """The same colour with a luminance of 1, so that lumens stay lumens. Source: ITU-R BT.709-6, item 3.2."""
    level = sum(weight * part for weight, part in zip(LUMINANCE_WEIGHTS, rgb, strict=True))
    return (rgb[0] / level, rgb[1] / level, rgb[2] / level)


def planckian_xy(kelvin: float) -> tuple[float, float]:
    """Chromaticity x, y [1] of a black body of 1,667 to 25,000 K.

    Source: cubic splines of Kang et al., J. Korean Phys. Soc. 41, 865 (2002) (coefficients from memory, tested against an integration).
    """
    t = 1000.0 / kelvin
    if kelvin <= 4000.0:
        x = ((-0.2661239 * t - 0.2343589) * t + 0.8776956) * t + 0.179910
    else:
        x = ((-3.0258469 * t + 2.1070379) * t + 0.2226347) * t + 0.240390
    if kelvin <= 2222.0:
        y = ((-1.1063814 * x - 1.34811020) * x + 2.18555832) * x - 0.20219683
    elif kelvin <= 4000.0:
        y = ((-0.9549476 * x - 1.37418593) * x + 2.09137015) * x - 0.16748867
    else:
        y = ((3.0817580 * x - 5.87338670) * x + 3.75112997) * x - 0.37001483
    return x, y


def of_temperature(kelvin: float) -> Colour:
    """Linear RGB of a black body, luminance 1; what lies outside the primaries' triangle (blue below about 1,900 K) is set to 0."""
    x, y = planckian_xy(kelvin)
    xyz = (x / y, 1.0, (1.0 - x - y) / y)
    rgb = [max(0.0, sum(a * b for a, b in zip(row, xyz, strict=True))) for row in _RGB_FROM_XYZ]
    return of_luminance_one((rgb[0], rgb[1], rgb[2]))
