"""Barten's contrast sensitivity. Truth: an open colour-science library, and a table computed apart."""

import numpy as np
import pytest
from halfgain.simulate.eye.barten import contrast_sensitivity, pupil_mm

from tests.needs import needs


@pytest.mark.parametrize("u", [0.1, 0.5, 4.0, 16.0])
@pytest.mark.parametrize(("luminance", "field"), [(20.0, 60.0), (1.0, 5.0), (100.0, 20.0)])
def test_agrees_with_the_colour_library(u, luminance, field):
    """colour-science, contrast_sensitivity_function_Barten1999, its own default constants."""
    contrast = needs("colour.contrast")
    d = contrast.pupil_diameter_Barten1999(luminance, field, field)
    expected = contrast.contrast_sensitivity_function_Barten1999(
        u=u,
        sigma=contrast.sigma_Barten1999(0.5 / 60, 0.08 / 60, d),
        E=contrast.retinal_illuminance_Barten1999(luminance, d, True),
        X_0=field,
        Y_0=field,
    )
    got = contrast_sensitivity(u, luminance_cd_m2=luminance, width_deg=field, height_deg=field)
    assert got == pytest.approx(float(np.squeeze(expected)), rel=1e-9)


def test_the_documented_value():
    """colour-science's documented example, also computed apart: u 4, L 20, X0 60, d 2.1 mm: S = 360.86911223."""
    got = contrast_sensitivity(4.0, luminance_cd_m2=20.0, width_deg=60.0, height_deg=60.0, pupil=2.1)
    assert got == pytest.approx(360.86911223, rel=1e-9)


@pytest.mark.parametrize(
    ("luminance", "pupil", "expected"),
    [
        (48, 3.676021, [64.0756, 127.1189, 301.1510, 512.5080, 675.6677, 620.3863, 381.1307, 143.1870]),
        (10, 4.403896, [64.0410, 126.8452, 297.2078, 488.0114, 579.6248, 444.4460, 235.9569, 82.2721]),
        (1, 5.588146, [63.7511, 124.6045, 269.1328, 364.9822, 322.2734, 195.6999, 92.7947, 29.3419]),
    ],
)
def test_the_table(luminance, pupil, expected):
    """Table computed apart, for a picture of 30 x 17 degrees."""
    assert pupil_mm(luminance, 30.0, 17.0) == pytest.approx(pupil, rel=1e-6)
    u = np.array([0.1, 0.2, 0.5, 1, 2, 4, 8, 16])
    got = contrast_sensitivity(u, luminance_cd_m2=luminance, width_deg=30.0, height_deg=17.0)
    assert got == pytest.approx(expected, rel=1e-6)


def test_no_frequency_no_sensitivity_and_no_darkness():
    assert contrast_sensitivity(0.0, luminance_cd_m2=48.0, width_deg=30.0, height_deg=17.0) == 0.0
    with pytest.raises(ValueError, match="positive"):
        contrast_sensitivity(1.0, luminance_cd_m2=0.0, width_deg=30.0, height_deg=17.0)
