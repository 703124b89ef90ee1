"""J. D. Priddy, W. E. Willoughby, "Clarification of vehicle cone index with reference to mean maximum pressure",
Journal of Terramechanics 43 (2006) 85-96.
"""

from __future__ import annotations

import pytest

from configopt.physics import vehicle_cone_index as vci

PSI = 6894.757


@pytest.mark.parametrize("indices", [pytest.param([10.0, 60.0, 115.0], id="11.48 + 0.2 MI - 39.2/(MI + 3.74)")])
def test_one_pass_index_up_to_a_mobility_index_of_115(indices: list[float]) -> None:
    book = [11.48 + 0.2 * mi - 39.2 / (mi + 3.74) for mi in indices]
    assert vci.one_pass_cone_index(indices) / PSI == pytest.approx(book, rel=1e-6)


@pytest.mark.parametrize("indices", [pytest.param([116.0, 200.0, 500.0], id="4.1 MI^0.446")])
def test_one_pass_index_beyond_a_mobility_index_of_115(indices: list[float]) -> None:
    book = [4.1 * mi**0.446 for mi in indices]
    assert vci.one_pass_cone_index(indices) / PSI == pytest.approx(book, rel=1e-6)


@pytest.mark.parametrize("ratios", [pytest.param([0.10, 0.25, 0.37], id="DCF = (0.15/(delta/h))^0.25")])
def test_deflection_correction_factor(ratios: list[float]) -> None:
    assert vci.deflection_correction(ratios) == pytest.approx([(0.15 / r) ** 0.25 for r in ratios], rel=1e-12)


@pytest.mark.parametrize("ratio", [pytest.param(0.15, id="no correction at 15 % deflection")])
def test_the_relation_is_normalised_to_its_own_deflection(ratio: float) -> None:
    assert vci.deflection_correction(ratio) == pytest.approx(1.0)
    assert vci.one_pass_cone_index(80.0, deflection_ratio=ratio) == pytest.approx(vci.one_pass_cone_index(80.0))


@pytest.mark.parametrize("ratio", [pytest.param(0.37, id="DCF multiplies the one-pass index")])
def test_the_correction_multiplies_both_branches(ratio: float) -> None:
    for index in (50.0, 200.0):
        corrected = vci.one_pass_cone_index(index, deflection_ratio=ratio)
        assert corrected == pytest.approx(vci.one_pass_cone_index(index) * (0.15 / ratio) ** 0.25)
