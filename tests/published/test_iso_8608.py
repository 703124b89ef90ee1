"""ISO 8608:2016, "Mechanical vibration - Road surface profiles - Reporting of measured data"."""

from __future__ import annotations

import pytest

from configopt.physics import roughness


@pytest.mark.parametrize(
    ("letter", "printed"),
    [
        pytest.param("A", 16.0, id="class A: 16e-6 m3 at 0.1 cycle/m"),
        pytest.param("B", 64.0, id="class B: 64e-6 m3 at 0.1 cycle/m"),
        pytest.param("C", 256.0, id="class C: 256e-6 m3 at 0.1 cycle/m"),
        pytest.param("D", 1024.0, id="class D: 1024e-6 m3 at 0.1 cycle/m"),
        pytest.param("E", 4096.0, id="class E: 4096e-6 m3 at 0.1 cycle/m"),
    ],
)
def test_geometric_mean_of_a_class(letter: str, printed: float) -> None:
    density = roughness.displacement_density(0.1, roughness=roughness.roughness_constant(letter))
    assert density * 1e6 == pytest.approx(printed, rel=1e-12)


@pytest.mark.parametrize(
    ("letter", "lower", "upper"),
    [
        pytest.param("B", 32.0, 128.0, id="class B: limits 32 and 128e-6 m3 - from memory"),
        pytest.param("C", 128.0, 512.0, id="class C: limits 128 and 512e-6 m3 - from memory"),
        pytest.param("D", 512.0, 2048.0, id="class D: limits 512 and 2048e-6 m3 - from memory"),
        pytest.param("E", 2048.0, 8192.0, id="class E: limits 2048 and 8192e-6 m3 - from memory"),
    ],
)
def test_the_mean_of_a_class_is_the_geometric_mean_of_its_limits(letter: str, lower: float, upper: float) -> None:
    assert roughness.ROAD_CLASSES[letter] * 1e6 == pytest.approx((lower * upper) ** 0.5, rel=1e-12)


@pytest.mark.parametrize(
    ("letter", "printed", "precision"),
    [
        pytest.param("A", 1.0, 0.5, id="class A: 1e-6 m3 at 1 rad/m"),
        pytest.param("B", 4.0, 0.5, id="class B: 4e-6 m3 at 1 rad/m"),
        pytest.param("C", 16.0, 0.5, id="class C: 16e-6 m3 at 1 rad/m"),
        pytest.param("D", 64.0, 0.5, id="class D: 64e-6 m3 at 1 rad/m"),
        # Printed as four times the figure of class D, so only as good as four times that figure's last digit.
        pytest.param("E", 256.0, 2.0, id="class E: 256e-6 m3 at 1 rad/m"),
    ],
)
def test_angular_form_of_a_class(letter: str, printed: float, precision: float) -> None:
    density = roughness.angular_displacement_density(1.0, roughness=roughness.roughness_constant(letter))
    assert density * 1e6 == pytest.approx(printed, abs=precision)


@pytest.mark.parametrize("waviness", [pytest.param(2.0, id="Gd(n) = Gd(n0) (n/n0)^-w with w = 2")])
def test_waviness(waviness: float) -> None:
    near, far = roughness.displacement_density([0.1, 1.0], roughness=roughness.roughness_constant("B"))
    assert near / far == pytest.approx(10.0**waviness, rel=1e-12)
