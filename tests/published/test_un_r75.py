"""UN Regulation No. 75, motorcycle and moped tyres: d and D of paragraph 2, load index, speed symbols."""

from __future__ import annotations

import pytest

from configopt.sizes import load_capacity, parse_rim_size, parse_service_description, parse_tire_size, speed_limit


# Paragraph 2, table of d by nominal rim diameter code [mm], from memory.
@pytest.mark.parametrize(
    ("code", "millimetres"),
    [(10, 254), (11, 279), (12, 305), (14, 356), (16, 406), (17, 432), (18, 457), (19, 483), (20, 508), (21, 533)],
)
def test_the_rim_diameter_code_stands_for_the_diameter_of_the_table(code: int, millimetres: int) -> None:
    assert parse_tire_size(f"80/100-{code}").rim_diameter * 1e3 == pytest.approx(millimetres, abs=1e-9)
    assert parse_rim_size(f"WM 1.60x{code}").bead_diameter * 1e3 == pytest.approx(millimetres, abs=1e-9)


# Paragraph 2, D = d + 2 H (from memory), with the d of the table; one formula, one worked size.
def test_the_overall_diameter_is_the_rim_diameter_and_twice_the_section_height() -> None:
    assert parse_tire_size("80/100-21").overall_diameter * 1e3 == pytest.approx(693, abs=0.5)


_SEEN = """
20:80 24:90 26:95
30:106 31:109 32:112 33:115 34:118 35:121 36:125 37:128 38:132 39:136
40:140 41:145 42:150 43:155 44:160 45:165 46:170 47:175 48:180 49:185
50:190 51:195 52:200 53:206 54:212 55:218 56:224 57:230 58:236 59:243
60:250 61:257 62:265 63:272 64:280 65:290 66:300 67:307 68:315 69:325
70:335 71:345 72:355 73:365 74:375 75:387 76:400 77:412 78:425 79:437 80:450
"""
_FROM_MEMORY = "21:82.5 22:85 23:87.5 25:92.5 27:97.5 28:100 29:103"


# Annex 4, load index [-] and permitted mass [kg].
@pytest.mark.parametrize("row", _SEEN.split())
def test_a_load_index_stands_for_the_mass_of_the_table(row: str) -> None:
    index, mass = row.split(":")
    assert load_capacity(int(index)) == float(mass)


# Annex 4, from memory (some editions print 97 for 27).
@pytest.mark.parametrize("row", _FROM_MEMORY.split())
def test_a_load_index_between_them_stands_for_the_mass_of_the_table(row: str) -> None:
    index, mass = row.split(":")
    assert load_capacity(int(index)) == float(mass)


_SPEEDS = """
A1:5 A2:10 A3:15 A4:20 A5:25 A6:30 A7:35 A8:40
B:50 C:60 D:65 E:70 F:80 G:90 J:100 K:110 L:120 M:130 N:140
P:150 Q:160 R:170 S:180 T:190 U:200 H:210 V:240
"""


# Annex on speed symbols [km/h].
@pytest.mark.parametrize("row", _SPEEDS.split())
def test_a_speed_symbol_stands_for_the_speed_of_the_table(row: str) -> None:
    symbol, speed = row.split(":")
    assert speed_limit(symbol) * 3.6 == pytest.approx(float(speed), rel=1e-12)


# Annexes on load index and speed symbol together: 45M is 165 kg at 130 km/h.
def test_a_service_description_joins_both() -> None:
    service = parse_service_description("45M")
    assert service.load == 165
    assert service.speed * 3.6 == pytest.approx(130, rel=1e-12)
