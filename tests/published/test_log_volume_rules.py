"""Log volumes by the textbook rules of Smalian, Huber and Newton (any forest mensuration text); worked by hand.

12 ft log, ends 16 and 20 in, middle 18.2 in; 3.0 m log, ends 40 and 52 cm, middle 46.5 cm.
"""

import pytest

from assessments.methods.log_volume import huber_m3, newton_m3, smalian_m3

IN, FT = 2.54, 0.3048


def test_the_log_in_feet_and_inches() -> None:
    lower, middle, upper, length = 20 * IN, 18.2 * IN, 16 * IN, 12 * FT
    assert float(smalian_m3(lower, upper, length)) / FT**3 == pytest.approx(21.468, abs=1e-3)
    assert float(huber_m3(middle, length)) / FT**3 == pytest.approx(21.680, abs=1e-3)
    assert float(newton_m3(lower, middle, upper, length)) / FT**3 == pytest.approx(21.609, abs=1e-3)


def test_its_weight_at_48_pounds_a_cubic_foot() -> None:
    lower, middle, upper, length = 20 * IN, 18.2 * IN, 16 * IN, 12 * FT
    volumes = smalian_m3(lower, upper, length), huber_m3(middle, length), newton_m3(lower, middle, upper, length)
    assert [48 * float(volume) / FT**3 for volume in volumes] == pytest.approx([1030.4, 1040.6, 1037.2], abs=0.06)


def test_the_log_in_metres() -> None:
    assert float(smalian_m3(52, 40, 3)) == pytest.approx(0.50705, abs=1e-5)
    assert float(huber_m3(46.5, 3)) == pytest.approx(0.50947, abs=1e-5)
    assert float(newton_m3(52, 46.5, 40, 3)) == pytest.approx(0.50866, abs=1e-5)
    assert 833 * float(newton_m3(52, 46.5, 40, 3)) == pytest.approx(423.7, abs=0.1)
