"""What one cell says."""

import math
import struct
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.intake import cells


@pytest.mark.parametrize("cell", ["", " ", "NULL", "n/a", "-", "nan"])
def test_an_empty_cell_is_unknown(cell: str) -> None:
    assert math.isnan(cells.number(cell))


@pytest.mark.parametrize("cell", ["Clump", "1_000", "1e400", "inf", "-inf", "12 cm", "1,5", "12.5.1"])
def test_what_is_no_number_is_unreadable_and_not_guessed(cell: str) -> None:
    assert math.isinf(cells.number(cell))


@given(st.floats(-1e9, 1e9))
def test_a_number_is_read_as_it_was_written(value: float) -> None:
    assert cells.number(repr(value)) == value
    assert cells.number(repr(value).replace(".", ","), ",") == value


@given(st.dates(date(1600, 1, 1), date(2100, 12, 31)))
def test_a_day_is_read_in_each_order(day: date) -> None:
    both = (day.toordinal(), day.toordinal())
    assert cells.days(day.isoformat(), "ymd") == both
    assert cells.days(f"{day:%Y-%m-%d}T00:00:00.000", "ymd") == both
    assert cells.days(f"{day:%d/%m/%Y}", "dmy") == both
    assert cells.days(f"{day:%m/%d/%Y}", "mdy") == both


def test_a_bare_year_is_the_whole_year() -> None:
    assert cells.days("1998", "year") == (date(1998, 1, 1).toordinal(), date(1998, 12, 31).toordinal())


@pytest.mark.parametrize("cell", ["31/02/2020", "2020-13-01", "soon", "99999", "12.05"])
def test_a_day_that_does_not_exist_is_unreadable(cell: str) -> None:
    assert cells.days(cell, "dmy") == (cells.UNREAD, cells.UNREAD)


def test_zero_and_empty_dates_are_unknown() -> None:
    assert cells.days("0", "year") == cells.days("", "ymd") == (cells.UNKNOWN, cells.UNKNOWN)


@given(st.floats(-180, 180), st.floats(-90, 90))
def test_a_point_is_the_same_in_every_form(lon: float, lat: float) -> None:
    lon, lat = round(lon, 9), round(lat, 9)
    assert cells.point(f"{lat:.9f}, {lon:.9f}", "lat_lon") == pytest.approx((lon, lat), abs=1e-12)
    assert cells.point(f"{lon:.9f};{lat:.9f}", "lon_lat") == pytest.approx((lon, lat), abs=1e-12)
    assert cells.point(f"POINT ({lon!r} {lat!r})", "lon_lat") == (lon, lat)
    # EWKB as PostGIS writes it: byte order, type with SRID flag, SRID 4326, x, y.
    ewkb = struct.pack("<BIIdd", 1, 0x20000001, 4326, lon, lat).hex()
    assert cells.point(ewkb.upper(), "lon_lat") == (lon, lat)


@pytest.mark.parametrize("cell", ["48.8", "here", "POINT (nan 1)", "POINT (1e400 1)", "0101000020E6100000", "1,2,3"])
def test_what_is_no_point_is_unreadable(cell: str) -> None:
    assert any(map(math.isinf, cells.point(cell, "lon_lat")))


@pytest.mark.parametrize(
    ("cell", "number", "street"),
    [
        ("423 17th Ave", "423", "17th Ave"),
        ("2190X North Point St", "2190X", "North Point St"),
        ("12, rue Gros", "12", "rue Gros"),
        ("Mühlgasse 7a", "7a", "Mühlgasse"),
        ("17th Ave", "", "17th Ave"),
        ("", "", ""),
    ],
)
def test_an_address_is_parted_without_losing_anything(cell: str, number: str, street: str) -> None:
    assert cells.address(cell) == (number, street)


def test_the_smaller_side_of_a_growing_space_counts() -> None:
    assert cells.smaller_side("3x6") == 3.0
    assert cells.smaller_side("Width 4ft") == 4.0
    assert math.isnan(cells.smaller_side("Width 0ft"))
    assert math.isnan(cells.smaller_side("TR"))
