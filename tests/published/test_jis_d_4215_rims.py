"""JIS D 4215:1995 (corresponds to ISO 4249-3:1990).

Table 1: the bead seats of motorcycle rims.  Clause 3, Tables 2 and 3: at which deflection a rim pressed on a flat base
must bear which load.
"""

from __future__ import annotations

import pytest

from configopt.physics.rim_press import press_deflection, press_load
from configopt.sizes import parse_rim_size


# WM: cylindrical bead seat; MT: 5 degree tapered bead seat.
@pytest.mark.parametrize(("text", "family"), [("WM 1.60x21", "WM"), ("MT 2.15x18", "MT")])
def test_the_letters_of_a_rim_name_its_bead_seat(text: str, family: str) -> None:
    assert parse_rim_size(text).family == family


# ISO 4249-3 (from memory): the code is the width in inches, and the widths are printed to half a millimetre.
def test_the_width_code_is_the_width_in_inches() -> None:
    millimetres = {"1.40": 35.6, "1.60": 40.6, "1.85": 47.0, "2.15": 54.6, "2.50": 63.5, "2.75": 69.9, "3.00": 76.2}
    for code, width in millimetres.items():
        assert parse_rim_size(f"WM {code}x18").width * 1e3 == pytest.approx(width, abs=0.25)


# Table 2: diameter codes, deflection [mm].
@pytest.mark.parametrize(("codes", "millimetres"), [((10, 14, 15), 10), ((16, 17, 18), 15), ((19, 21), 20)])
def test_the_deflection_goes_by_the_rim_diameter(codes: tuple[int, ...], millimetres: int) -> None:
    assert (press_deflection(codes) * 1e3).tolist() == pytest.approx([millimetres] * len(codes))


# Table 3: width code, least load [kN].
@pytest.mark.parametrize(
    ("width", "kilonewtons"),
    [
        (1.10, 0.98),
        (1.20, 1.47),
        (1.40, 1.96),
        (1.50, 2.45),
        (1.60, 3.43),
        (1.85, 4.41),
        (2.15, 4.90),
        (2.50, 6.37),
        (2.75, 6.37),
        (3.00, 6.37),
        (5.50, 6.37),
    ],
)
def test_the_least_load_goes_by_the_rim_width(width: float, kilonewtons: float) -> None:
    assert float(press_load(width)) / 1e3 == pytest.approx(kilonewtons)
