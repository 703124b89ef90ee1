"""JIS D 4215:1995 (corresponds to ISO 4249-3:1990), Table 1: the bead seats of motorcycle rims."""

from __future__ import annotations

import pytest

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
