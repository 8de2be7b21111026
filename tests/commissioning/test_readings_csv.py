"""A file of site readings: what its rows mean, and what is said where they mean nothing."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from halfgain.simulate.commissioning.meters import ASSUMED_CALIBRATION, Meter
from halfgain.simulate.commissioning.readings_csv import ReadingsErrors, read_site_csv, read_site_rows
from halfgain.simulate.commissioning.site_reading import BLACK_PATCHES, WHITE_PATCHES, ShownPicture, SiteReading, SiteReadings
from halfgain.simulate.output.check.form import readings_form

from tests.commissioning.site import site_room

SCENE = site_room()
HEAD = "picture,place,seat,light,value,unit,calibration_percent,repeat_percent\n"


def _read(tmp_path: Path, text: str) -> SiteReadings:
    file = tmp_path / "readings.csv"
    file.write_text(text, encoding="utf-8")
    return read_site_csv(file, SCENE)


def test_rows_are_readings_in_their_order(tmp_path: Path) -> None:
    found = _read(
        tmp_path, HEAD + "white,5,,,212,lx,6,2\n\noff,,,lamps on,4.90,lx,,\nblack,,side,,0.10,cd/m2,,\nwhite,,side,,,cd/m2,,\n"
    )
    assert found.blank == 1
    lux, lamps, black = found.readings
    assert (lux.meter, lux.shown, lux.place, lux.light, lux.value, lux.line) == (
        Meter.ILLUMINANCE,
        ShownPicture.WHITE,
        "5",
        "dark",
        212.0,
        2,
    )
    assert (lux.repeat, lux.digit) == (0.01, 1.0)  # 2 % at 95 % is 1 % at one standard deviation
    assert (lamps.light, lamps.digit, lamps.line) == ("lamps on", pytest.approx(0.01), 4)
    assert (black.meter, black.seat, black.digit) == (Meter.LUMINANCE, "side", pytest.approx(0.01))
    assert found.calibration[Meter.ILLUMINANCE].uncertainty == pytest.approx(0.03)
    assert found.calibration[Meter.LUMINANCE].uncertainty == ASSUMED_CALIBRATION == 0.1 / math.sqrt(3.0)


def test_columns_stand_in_any_order_and_most_may_be_left_out(tmp_path: Path) -> None:
    found = _read(tmp_path, "unit,value,picture,note\nlx,250.5,white,by the tripod\n")
    assert found.readings[0].value == 250.5
    assert found.readings[0].place == "centre"


def test_feet_are_taken(tmp_path: Path) -> None:
    # Expected: 1 fc = 10.76391 lx, 1 fL = 3.426259 cd/m2 (definitions; NIST SP 811, table B.8)
    found = _read(tmp_path, HEAD + "white,5,,,20,fc,,\nwhite,5,side,,16.0,fL,,\n")
    assert found.readings[0].value == pytest.approx(20 * 10.76391, rel=1e-6)
    assert found.readings[1].value == pytest.approx(16 * 3.426259, rel=1e-6)
    assert found.readings[1].digit == pytest.approx(0.3426259, rel=1e-6)


def test_a_calibration_is_said_once(tmp_path: Path) -> None:
    found = _read(tmp_path, HEAD + "white,1,,,200,lx,,\nwhite,2,,,201,lx,4,\nwhite,3,,,202,lx,4,\n")
    assert found.calibration[Meter.ILLUMINANCE].uncertainty == pytest.approx(0.02)


WRONG = [
    ("", "is empty"),
    ("picture;value;unit\nwhite;200;lx\n", ":1: header: has semicolons (allowed commas"),
    ("picture,value\nwhite,200\n", ':1: header: column "unit" is missing'),
    ("picture,values,unit\nwhite,200,lx\n", ':1: header: no such column, did you mean "value"? (got "values"; allowed picture, place'),
    ("picture,value,value,unit\nwhite,1,1,lx\n", "a column stands twice"),
    (HEAD + "white,1,,,200\n", ":2: has 5 cells (allowed 8, as the header)"),
    (HEAD + "whit,1,,,200,lx,,\n", ':2: picture: is none of them, did you mean white? (got "whit"; allowed white, black, checkerboard'),
    (HEAD + "white,10,,,200,lx,,\n", ':2: place: is none of them'),
    (HEAD + "checkerboard,,side,,0.4,cd/m2,,\n", ":2: place: is missing"),
    (HEAD + "checkerboard,r5c1,side,,0.4,cd/m2,,\n", ":2: place: is none of them"),
    (HEAD + "white,5,sid,,40,cd/m2,,\n", ':2: seat: is none of them, did you mean side? (got "sid"; allowed middle, side)'),
    (HEAD + "white,5,,,40,cd/m2,,\n", ":2: seat: is missing"),
    (HEAD + "white,5,side,,40,lx,,\n", ":2: seat: has no meaning: illuminance is read at the screen"),
    (HEAD + "off,,,lamp on,40,lx,,\n", ':2: light: is none of them, did you mean lamps on?'),
    (HEAD + 'white,5,,,"212,5",lx,,\n', ':2: value: is no reading (got "212,5"; allowed a number from 0 up, with a point'),
    (HEAD + "white,5,,,-3,lx,,\n", ':2: value: is no reading (got "-3"'),
    (HEAD + "white,5,,,nan,lx,,\n", ':2: value: is no reading (got "nan"'),
    (HEAD + "white,5,,,1e400,lx,,\n", ":2: value: is no reading"),
    (HEAD + "white,5,,,2000000,lx,,\n", ":2: value: is too high for a reading (got \"2000000\"; allowed 0 to 1e+06 lx)"),
    (HEAD + "white,5,,,200,lux,,\n", ':2: unit: is none of them'),
    (HEAD + "white,5,,,200,lx,0,\n", ":2: calibration_percent: is no uncertainty"),
    (HEAD + "white,5,,,200,lx,,200\n", ":2: repeat_percent: is no uncertainty"),
    (HEAD + "white,1,,,200,lx,4,\nwhite,2,,,200,lx,5,\n", ":3: calibration_percent: is not that of line 2"),
    (HEAD + "white,1,,,,lx,,\n", "value: no row has a value"),
    (HEAD + 'white,"1,,,200,lx,,\n', "is not CSV: quotation marks that do not match"),
    (HEAD + 501 * "white,1,,,200,lx,,\n", "has 501 readings (allowed at most 500)"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "said"), WRONG, ids=[said[:40] for _, said in WRONG])
def test_what_means_nothing_is_refused_with_its_place(text: str, said: str, tmp_path: Path) -> None:
    with pytest.raises(ReadingsErrors) as refused:
        _read(tmp_path, text)
    assert str(refused.value).startswith(str(tmp_path / "readings.csv"))
    assert said in str(refused.value)


def test_all_that_is_wrong_is_said_at_once(tmp_path: Path) -> None:
    with pytest.raises(ReadingsErrors) as refused:
        _read(tmp_path, HEAD + "whit,1,,,200,lx,,\nwhite,1,,,x,lx,,\nwhite,5,sid,,40,cd/m2,,\n")
    assert len(str(refused.value).splitlines()) == 3


def test_the_form_is_read_back_once_it_is_filled(tmp_path: Path) -> None:
    text = readings_form(SCENE)
    lines = text.splitlines()
    assert len(lines) == 1 + 9 + 2 + (2 + 16) + (2 + 2)
    header = lines[0].split(",")
    with pytest.raises(ReadingsErrors, match="no row has a value"):
        _read(tmp_path, text)
    at = header.index("value")
    filled = [",".join((*cells[:at], "1.5", *cells[at + 1 :])) for cells in (line.split(",") for line in lines[1:])]
    found = _read(tmp_path, "\n".join([lines[0], *filled]))
    assert len(found.readings) == 33
    assert found.readings[9].light == "dark"
    assert found.readings[10].light == "lamps on"
    places = {
        seat: [each.place for each in found.readings if each.seat == seat and each.shown is ShownPicture.CHECKERBOARD]
        for seat in ("middle", "side")
    }
    assert [len(places[seat]) for seat in ("middle", "side")] == [16, 2]


def test_patches_are_white_where_the_picture_shows_them_white() -> None:
    # Expected: top left white, 4 x 4, as the scene's contract has the checkerboard; the complement turns every patch
    def reading(shown: ShownPicture, place: str) -> SiteReading:
        return SiteReading(Meter.LUMINANCE, shown, place, "side", "dark", 1.0, 0.01)

    assert reading(ShownPicture.CHECKERBOARD, "r1c1").is_white(0)
    assert not reading(ShownPicture.CHECKERBOARD, "r1c2").is_white(1)
    assert not reading(ShownPicture.COMPLEMENT, "r1c1").is_white(0)
    assert reading(ShownPicture.CHECKERBOARD, "r2c1").points == (4,)
    assert reading(ShownPicture.CHECKERBOARD, WHITE_PATCHES).points == (0, 2, 5, 7, 8, 10, 13, 15)
    assert reading(ShownPicture.COMPLEMENT, BLACK_PATCHES).points == (0, 2, 5, 7, 8, 10, 13, 15)
    assert reading(ShownPicture.WHITE, "1").points == (16,)
    assert reading(ShownPicture.WHITE, "centre").points == (20,) == reading(ShownPicture.WHITE, "5").points


def test_no_rows_at_all_are_said_to_be_none() -> None:
    with pytest.raises(ReadingsErrors, match=r"^readings: is empty") as caught:
        read_site_rows([], site_room())
    assert len(str(caught.value).splitlines()) == 1
