"""Stiffness, first slack spokes and folding of spoked wheels, against single spokes on a ring and exact limits."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from configopt.errors import DomainError
from configopt.physics.slack_spokes import (
    first_slack_radial_load,
    first_slack_side_load,
    first_slack_torque_one_flange,
    first_slack_torque_two_flanges,
    radial_load_shares,
    side_load_shares,
)
from configopt.physics.spoke_foundation import Foundation, SpokeSide, spoke_foundation, spoke_side
from configopt.physics.spokes import torque_arm, torque_tension_change
from configopt.physics.wheel_buckling import best_tension, buckling_reserve, critical_pull, rim_buckling_load
from configopt.physics.wheel_stiffness import (
    Compliance,
    radial_stiffness,
    rim_compliance,
    rim_mode,
    tangential_stiffness,
)

Sides = tuple[SpokeSide, SpokeSide]
RIM = {"rim_radius": 0.26, "radial_rigidity": 700.0, "lateral_rigidity": 3500.0, "torsional_rigidity": 60.0}
RIGIDITIES = ["radial_rigidity", "lateral_rigidity", "torsional_rigidity"]


def wheel(tension: Any = 1500.0, *, left: float = 0.030, right: float = 0.030, crossings: int = 3) -> Sides:
    """36 spokes; ``tension`` of the tighter side, that of the other one from the balance of the sideways pulls."""
    geometry = {"flange_radius": 0.05, "rim_radius": 0.26, "crossings": crossings}
    sides = [spoke_side(18, rigidity=7e5, tension=1.0, flange_offset=o, **geometry) for o in (left, right)]
    slope = [float(side.lateral) for side in sides]
    near = min(slope)
    first, second = (
        spoke_side(18, rigidity=7e5, tension=np.multiply(tension, near / c), flange_offset=o, **geometry)
        for o, c in zip((left, right), slope, strict=True)
    )
    return first, second


def moved(sides: Sides, rim: dict[str, float] = RIM) -> Compliance:
    return rim_compliance(spoke_foundation(*sides, rim_radius=rim["rim_radius"]), **rim)


def ring_waves(waves: int, rim: dict[str, float], pull: float) -> NDArray[np.float64]:
    """Stiffness of the bare rim against waves in u, v, w, twist; its centre line all but keeps its length."""
    r, n = rim["rim_radius"], waves
    strains = (
        (1e11, [0.0, -1.0 / r, n / r, 0.0]),
        (rim["radial_rigidity"], [0.0, -n * n / r**2, n / r**2, 0.0]),
        (rim["lateral_rigidity"], [-n * n / r**2, 0.0, 0.0, 1.0 / r]),
        (rim["torsional_rigidity"], [-n / r**2, 0.0, 0.0, n / r]),
        (-pull / r, [float(n), 0.0, 0.0, 0.0]),
    )
    around = np.pi * r * (2.0 if n == 0 else 1.0)
    return around * sum(stiffness * np.outer(strain, strain) for stiffness, strain in strains)


def spoke_tensor(side: SpokeSide, along: NDArray[np.float64]) -> NDArray[np.float64]:
    string = float(side.tension / side.length)
    return (float(side.stiffness) - string) * np.outer(along, along) + string * np.eye(3)


def spokes_in_turn(sides: Sides) -> list[tuple[float, SpokeSide, NDArray[np.float64]]]:
    """Angle, side and direction of every spoke: left and right in turn, pulling and pushing in pairs."""
    left, right = sides
    turn = []
    for k in range(36):
        side, sign, lead = (right, -1.0, 1.0 - (k & 2)) if k & 1 else (left, 1.0, 1.0 - (k & 2))
        turn.append((k * np.pi / 18, side, np.array([sign * side.lateral, side.radial, lead * side.tangential])))
    return turn


def single_spokes(sides: Sides, *, rim: dict[str, float] = RIM, modes: int = 40) -> tuple[Any, ...]:
    """Movements and lost tensions of a wheel of 36 single spokes under unit loads at its first left spoke."""
    pull = float(spoke_foundation(*sides, rim_radius=rim["rim_radius"]).pull)

    def shape(angle: float) -> NDArray[np.float64]:
        rows = np.zeros((4, 8 * (modes + 1)))
        for n in range(modes + 1):
            c, s = np.cos(n * angle), np.sin(n * angle)
            rows[range(4), range(8 * n, 8 * n + 4)] = c, c, s, c
            rows[range(4), range(8 * n + 4, 8 * n + 8)] = s, s, -c, s
        return rows

    stiffness = np.zeros((8 * (modes + 1),) * 2)
    for n in range(modes + 1):
        for start in (8 * n, 8 * n + 4):
            stiffness[start : start + 4, start : start + 4] = ring_waves(n, rim, pull)
    for angle, side, along in spokes_in_turn(sides):
        rows = shape(angle)[:3]
        stiffness += rows.T @ spoke_tensor(side, along) @ rows
    angle, side, along = spokes_in_turn(sides)[0]
    rows = shape(angle)[:3]
    answer = np.linalg.lstsq(stiffness, rows.T, rcond=1e-13)[0]
    movement = rows @ answer
    return movement, float(side.stiffness) * along @ movement


# The foundation


@pytest.mark.parametrize("crossings", [0, 3])
def test_the_foundation_is_the_mean_of_the_single_spokes(crossings: int) -> None:
    sides = wheel(1500.0, left=0.020, right=0.040, crossings=crossings)
    mean = sum(spoke_tensor(side, along) for _, side, along in spokes_in_turn(sides)) / (2.0 * np.pi * 0.26)
    found = spoke_foundation(*sides, rim_radius=0.26)
    expected = np.array(
        [
            [found.lateral, found.coupling, 0.0],
            [found.coupling, found.radial, 0.0],
            [0.0, 0.0, found.tangential],
        ]
    )
    np.testing.assert_allclose(mean, expected, rtol=1e-12, atol=1e-6)


def test_the_direction_cosines_are_those_of_a_unit_vector_along_the_torque_arm() -> None:
    side, _ = wheel()
    assert float(side.lateral**2 + side.radial**2 + side.tangential**2) == pytest.approx(1.0, rel=1e-12)
    arm = float(torque_arm(0.05, rim_radius=0.26, crossings=3, spokes_per_side=18))
    assert float(0.26 * side.tangential) == pytest.approx(arm * np.sqrt(1.0 - float(side.lateral) ** 2), rel=1e-12)


def test_equal_sides_do_not_couple_and_unequal_ones_change_sign_with_the_side() -> None:
    coupling = [float(spoke_foundation(*wheel(left=a, right=b), rim_radius=0.26).coupling) for a, b in
                ((0.03, 0.03), (0.02, 0.04), (0.04, 0.02))]  # fmt: skip
    assert coupling[0] == 0.0
    assert coupling[1] == pytest.approx(-coupling[2], rel=1e-12)
    assert coupling[1] < 0.0


# Radial stiffness


@given(st.floats(-6.0, 9.0))
def test_the_radial_formula_is_the_sum_of_its_waves(decades: float) -> None:
    # Rim of fixed length: n waves cost pi E I (n^2 - 1)^2/R^3, n = 0 nothing moves.  Beyond the last wave 1/n^4.
    ratio = 10.0**decades
    n = np.arange(1.0, 20001.0)
    waves = np.sum(1.0 / (ratio + (n * n - 1.0) ** 2)) + 1.0 / (3.0 * 20000.5**3)
    got = radial_stiffness(ratio, rim_radius=1.0, radial_rigidity=1.0)
    assert float(got) == pytest.approx(float(np.pi / waves), rel=1e-9)


def test_the_radial_formula_runs_from_the_rigid_rim_to_the_long_beam() -> None:
    rigid, beam = radial_stiffness([1e-12, 1e24], rim_radius=1.0, radial_rigidity=1.0)
    assert float(rigid) == pytest.approx(np.pi * 1e-12, rel=1e-9)
    assert float(beam) == pytest.approx((64.0 * 1e72) ** 0.25, rel=1e-5)


# Compliance


@pytest.mark.parametrize(("left", "right"), [(0.030, 0.030), (0.020, 0.040), (0.048, 0.012)])
@pytest.mark.parametrize("tension", [0.0, 1500.0])
def test_the_compliance_is_that_of_the_ring_on_its_foundation(left: float, right: float, tension: float) -> None:
    sides = wheel(tension, left=left, right=right)
    found = spoke_foundation(*sides, rim_radius=0.26)
    spokes = np.zeros((4, 4))
    spokes[:2, :2] = [[found.lateral, found.coupling], [found.coupling, found.radial]]
    spokes[2, 2] = float(found.tangential)
    expected = np.zeros((2, 2))
    for n in range(400):
        stiffness = ring_waves(n, RIM, float(found.pull)) + np.pi * 0.26 * (2.0 if n == 0 else 1.0) * spokes
        expected += np.linalg.inv(stiffness)[:2, :2]
    got = moved(sides)
    # 1e-4 is what the sum beyond the last wave is good to; the oracle's rim stretches by less.
    assert float(got.lateral) == pytest.approx(expected[0, 0], rel=1e-4)
    assert float(got.cross) == pytest.approx(expected[0, 1], rel=1e-4, abs=1e-12)
    assert float(got.radial) == pytest.approx(expected[1, 1], rel=1e-4)


@pytest.mark.parametrize("bending", [200.0, 3500.0])
@pytest.mark.parametrize("torsion", [12.0, 300.0])
def test_the_waves_left_out_are_good_to_a_ten_thousandth(bending: float, torsion: float) -> None:
    rim = {**RIM, "lateral_rigidity": bending, "torsional_rigidity": torsion}
    found = Foundation(3e5, 0.0, 3.5e7, 1e6, 5e3)
    n = np.arange(2.0, 4001.0)
    rims = np.pi / 0.26**3 * (n * n - 1.0) ** 2 / (1.0 / bending + 1.0 / (torsion * n * n))
    modes = np.pi * 0.26 * 3e5 + rims - np.pi * n * n * 5e3
    first = np.pi * 0.26 * 3e5 - np.pi * 5e3
    expected = 1.0 / (2.0 * np.pi * 0.26 * 3e5) + 1.0 / first + np.sum(1.0 / modes)
    assert float(rim_compliance(found, **rim).lateral) == pytest.approx(float(expected), rel=1e-4)


@pytest.mark.parametrize(("left", "right"), [(0.030, 0.030), (0.020, 0.040), (0.040, 0.020)])
def test_single_spokes_move_and_slacken_like_the_smeared_ones_to_a_few_per_cent(left: float, right: float) -> None:
    sides = wheel(1500.0, left=left, right=right)
    movement, lost = single_spokes(sides)
    got = moved(sides)
    assert float(got.lateral) == pytest.approx(movement[0, 0], rel=0.04)
    assert float(got.radial) == pytest.approx(movement[1, 1], rel=0.04)
    assert float(side_load_shares(*sides, compliance=got)[0]) == pytest.approx(lost[0], rel=0.04)
    assert float(radial_load_shares(*sides, compliance=got)[0]) == pytest.approx(lost[1], rel=0.04)


@given(st.floats(0.0, 0.9))
def test_a_dished_wheel_is_between_the_uncoupled_foundation_and_the_one_of_a_limp_rim(share: float) -> None:
    lateral, radial = 3e5, 3e7
    coupling = share * np.sqrt(lateral * radial)
    limp = lateral - coupling**2 / radial
    stiff, got, soft = (
        float(rim_compliance(Foundation(k, c, radial, 1e6, 0.0), **RIM).lateral)
        for k, c in ((lateral, 0.0), (lateral, coupling), (limp, 0.0))
    )
    assert stiff <= got * (1.0 + 1e-12)
    assert got <= soft * (1.0 + 1e-12)


def test_a_rigid_rim_on_slack_spokes_gives_two_thirds_of_pi_r_k() -> None:
    rigid = {"rim_radius": 0.26, **{key: 1e12 for key in RIM if key != "rim_radius"}}
    got = rim_compliance(Foundation(3e5, 0.0, 3e7, 0.0, 0.0), **rigid)
    assert float(1.0 / got.lateral) == pytest.approx(2.0 / 3.0 * np.pi * 0.26 * 3e5, rel=1e-6)


@given(st.sampled_from(RIGIDITIES), st.floats(1.0, 5.0))
def test_a_stiffer_rim_moves_less(which: str, factor: float) -> None:
    sides = wheel(1500.0, left=0.02, right=0.04)
    before, after = moved(sides), moved(sides, {**RIM, which: RIM[which] * factor})
    assert after.lateral <= before.lateral * (1.0 + 1e-12)
    assert after.radial <= before.radial * (1.0 + 1e-12)


@given(st.sampled_from(["lateral", "radial", "tangential", "pull"]), st.floats(1.0, 5.0))
def test_stiffer_spokes_move_less_and_their_pull_moves_more(which: str, factor: float) -> None:
    figures = {"lateral": 3e5, "coupling": 1e6, "radial": 3e7, "tangential": 1e6, "pull": 5e3}
    before, after = (
        rim_compliance(Foundation(**found), **RIM) for found in (figures, {**figures, which: figures[which] * factor})
    )
    if which == "pull":
        before, after = after, before
    assert after.lateral <= before.lateral * (1.0 + 1e-12)
    assert after.radial <= before.radial * (1.0 + 1e-12)


@given(st.floats(0.01, 100.0), st.floats(0.01, 100.0))
def test_compliance_and_critical_pull_scale_with_length_and_force(length: float, force: float) -> None:
    found = Foundation(3e5, 1e6, 3e7, 1e6, 5e3)
    scaled = Foundation(*(x * force / length**2 for x in (3e5, 1e6, 3e7, 1e6)), 5e3 * force / length)
    rim = {key: value * (length if key == "rim_radius" else force * length**2) for key, value in RIM.items()}
    before, after = rim_compliance(found, **RIM), rim_compliance(scaled, **rim)
    for name in ("lateral", "cross", "radial"):
        assert float(getattr(after, name)) == pytest.approx(float(getattr(before, name)) * length / force, rel=1e-9)
    geometry = {"flange_offset": 0.03, "flange_radius": 0.05, "rim_radius": 0.26}
    small = spoke_side(18, rigidity=7e5, tension=900.0, crossings=2, **geometry)
    large = spoke_side(
        18, rigidity=7e5 * force, tension=900.0 * force, crossings=2, **{k: v * length for k, v in geometry.items()}
    )
    pulls = critical_pull(small, small, **RIM), critical_pull(large, large, **rim)
    assert float(pulls[1]) == pytest.approx(float(pulls[0]) * force / length, rel=1e-9)


# Equal against unequal flanges, at equal spacing, spokes and highest tension


def test_without_tension_equal_and_unequal_flanges_differ_in_lateral_stiffness_by_the_square_of_the_dish() -> None:
    stiffness = [float(1.0 / moved(wheel(0.0, left=0.03 - d, right=0.03 + d)).lateral) for d in (0.0, 0.002, 0.004)]
    first, second = stiffness[1] - stiffness[0], stiffness[2] - stiffness[0]
    assert second / first == pytest.approx(4.0, rel=0.01)
    assert 0.0 < second < 0.005 * stiffness[0]


@given(st.floats(0.001, 0.025))
def test_unequal_flanges_are_no_softer_but_their_first_spoke_slackens_earlier(dish: float) -> None:
    even, dished = wheel(), wheel(left=0.03 - dish, right=0.03 + dish)
    soft, stiff = moved(even), moved(dished)
    assert stiff.lateral < soft.lateral
    ratio = float(dished[1].tension / dished[0].tension)
    for load in (first_slack_side_load, first_slack_radial_load):
        assert load(*dished, compliance=stiff) < load(*even, compliance=soft)
    # About in the ratio of the tensions: that is what the slacker side has to give.
    share = first_slack_side_load(*dished, compliance=stiff) / first_slack_side_load(*even, compliance=soft)
    assert float(share) == pytest.approx(ratio, rel=0.15)


def test_turning_the_wheel_around_changes_nothing() -> None:
    one, other = wheel(left=0.02, right=0.04), wheel(left=0.04, right=0.02)
    for load in (first_slack_side_load, first_slack_radial_load):
        assert load(*one, compliance=moved(one)) == pytest.approx(float(load(*other, compliance=moved(other))))
    assert float(critical_pull(*one, **RIM)) == pytest.approx(float(critical_pull(*other, **RIM)), rel=1e-12)


# Torque


def test_one_driven_flange_gives_its_tension_over_the_change_by_torque() -> None:
    side, _ = wheel()
    change = torque_tension_change(1.0, spokes=18, flange_radius=0.26 * side.tangential)
    torque = first_slack_torque_one_flange(side, rim_radius=0.26)
    assert float(torque) == pytest.approx(1500.0 / float(change), rel=1e-12)


def test_two_equal_flanges_bear_twice_the_torque_of_one() -> None:
    sides = wheel()
    both = first_slack_torque_two_flanges(*sides, rim_radius=0.26)
    assert float(both) == pytest.approx(
        2.0 * float(first_slack_torque_one_flange(sides[0], rim_radius=0.26)), rel=1e-12
    )


def test_two_unequal_flanges_bear_less_than_the_sum_and_more_than_either_share() -> None:
    sides = wheel(left=0.02, right=0.04)
    left, right = (float(first_slack_torque_one_flange(side, rim_radius=0.26)) for side in sides)
    both = float(first_slack_torque_two_flanges(*sides, rim_radius=0.26))
    assert min(left, right) < both < left + right


def test_radial_spokes_bear_no_torque() -> None:
    sides = wheel(crossings=0)
    assert float(first_slack_torque_one_flange(sides[0], rim_radius=0.26)) == 0.0
    assert float(first_slack_torque_two_flanges(*sides, rim_radius=0.26)) == 0.0
    tangent = wheel()[1]
    mixed = first_slack_torque_two_flanges(sides[0], tangent, rim_radius=0.26)
    assert float(mixed) == pytest.approx(float(first_slack_torque_one_flange(tangent, rim_radius=0.26)), rel=1e-12)


def test_the_wheel_winds_up_with_its_tangential_foundation() -> None:
    assert float(tangential_stiffness(1e5, rim_radius=0.26)) == pytest.approx(2.0 * np.pi * 0.26 * 1e5)


# Folding


@pytest.mark.parametrize(("left", "right", "within"), [(0.03, 0.03, 1e-6), (0.02, 0.04, 0.01)])
def test_the_lateral_stiffness_vanishes_at_the_critical_tension(left: float, right: float, within: float) -> None:
    sides = wheel(1000.0, left=left, right=right)
    critical = critical_pull(*sides, **RIM)
    reserve = float(buckling_reserve(*sides, rim_radius=0.26, critical=critical))
    below, above = (wheel(1000.0 * reserve * (1.0 + s * within), left=left, right=right) for s in (-1.0, 1.0))
    assert np.isfinite(moved(below).lateral)
    assert np.isinf(moved(above).lateral)
    assert float(first_slack_side_load(*above, compliance=moved(above))) == 0.0
    assert float(first_slack_radial_load(*above, compliance=moved(above))) == 0.0


@given(st.sampled_from(RIGIDITIES), st.floats(1.0, 5.0))
def test_a_stiffer_rim_folds_later(which: str, factor: float) -> None:
    sides = wheel(left=0.02, right=0.04)
    later = critical_pull(*sides, **{**RIM, which: RIM[which] * factor})
    assert later >= critical_pull(*sides, **RIM) * (1.0 - 1e-12)


def test_the_critical_pull_does_not_depend_on_the_tension_it_is_asked_at() -> None:
    pulls = critical_pull(*wheel([100.0, 1500.0, 9000.0]), **RIM)
    np.testing.assert_allclose(pulls, pulls[0], rtol=1e-12)


def test_spokes_so_short_that_they_turn_faster_than_the_rim_folds_keep_few_waves_from_folding() -> None:
    short = spoke_side(
        18, rigidity=7e5, tension=900.0, flange_offset=0.0, flange_radius=0.21, rim_radius=0.26, crossings=0
    )
    ring = np.array([float(rim_mode(n, **{k: v for k, v in RIM.items() if k != "radial_rigidity"})) for n in (2, 3)])
    kappa = 0.26 / 0.05
    assert kappa > 4.0
    assert float(critical_pull(short, short, **RIM)) == pytest.approx(ring[1] / (np.pi * (9.0 - kappa)), rel=1e-12)


@pytest.mark.parametrize("torsion", [12.0, 60.0, 300.0, 3500.0])
@pytest.mark.parametrize("bending", [300.0, 3500.0])
def test_half_the_critical_tension_bears_three_quarters_of_the_largest_side_load(
    torsion: float, bending: float
) -> None:
    rim = {**RIM, "torsional_rigidity": torsion, "lateral_rigidity": bending}
    sides = wheel(1000.0)
    reserve = buckling_reserve(*sides, rim_radius=0.26, critical=critical_pull(*sides, **rim))
    half = float(best_tension(1000.0, reserve=reserve))
    tensions = half * np.linspace(0.02, 2.0, 100)
    tight = wheel(tensions)
    loads = first_slack_side_load(*tight, compliance=moved(tight, rim))
    best = int(loads.argmax())
    assert 0.6 * 2.0 * half < tensions[best] < 0.8 * 2.0 * half
    assert float(np.interp(half, tensions, loads)) > 0.75 * loads[best]
    assert np.all(np.diff(loads[: best + 1]) > 0.0)
    assert np.all(np.diff(loads[best:]) < 0.0)


def test_a_wheel_at_its_critical_tension_bears_no_radial_load_and_a_slack_one_k_r() -> None:
    loads = rim_buckling_load(1e5, rim_radius=0.26, reserve=[0.5, 1.0, 2.0, np.inf])
    np.testing.assert_allclose(loads, [0.0, 0.0, 0.5 * 1e5 * 0.26, 1e5 * 0.26])


# Shapes and refusals


def test_arrays_broadcast_through_all_of_it() -> None:
    sides = wheel(np.linspace(200.0, 2000.0, 5)[:, None], left=0.02, right=0.04)
    rim = {**RIM, "torsional_rigidity": np.array([40.0, 60.0, 80.0])}
    got = rim_compliance(spoke_foundation(*sides, rim_radius=0.26), **rim)
    assert got.lateral.shape == got.cross.shape == got.radial.shape == (5, 3)
    assert first_slack_side_load(*sides, compliance=got).shape == (5, 3)
    assert critical_pull(*sides, **rim).shape == (5, 3)
    one = wheel(650.0, left=0.02, right=0.04)
    assert float(got.lateral[1, 2]) == pytest.approx(
        float(moved(one, {**RIM, "torsional_rigidity": 80.0}).lateral), rel=1e-12
    )


@pytest.mark.parametrize("name", ["rim_radius", "radial_rigidity", "lateral_rigidity", "torsional_rigidity"])
@pytest.mark.parametrize("value", [0.0, -1.0, float("nan")])
def test_a_rim_without_radius_or_rigidity_is_refused(name: str, value: float) -> None:
    found = Foundation(3e5, 0.0, 3e7, 0.0, 0.0)
    with pytest.raises(DomainError, match=name):
        rim_compliance(found, **{**RIM, name: value})
    with pytest.raises(DomainError, match=name):
        critical_pull(*wheel(), **{**RIM, name: value})


@pytest.mark.parametrize(
    ("name", "value"), [("lateral", 0.0), ("radial", 0.0), ("tangential", -1.0), ("pull", -1.0), ("coupling", np.nan)]
)
def test_a_foundation_that_is_none_is_refused(name: str, value: float) -> None:
    figures = {"lateral": 3e5, "coupling": 0.0, "radial": 3e7, "tangential": 0.0, "pull": 0.0, name: value}
    with pytest.raises(DomainError, match=rf"foundation\.{name}"):
        rim_compliance(Foundation(**figures), **RIM)


def test_spokes_without_tension_have_no_reserve_against_folding() -> None:
    with pytest.raises(DomainError, match="pull is 0 N/m"):
        critical_pull(*wheel(0.0), **RIM)


@pytest.mark.parametrize(("name", "value"), [("rigidity", 0.0), ("tension", -1.0), ("spokes", 1.0)])
def test_a_side_without_spokes_is_refused(name: str, value: float) -> None:
    figures = {"spokes": 18.0, "rigidity": 7e5, "tension": 900.0, name: value}
    with pytest.raises(DomainError, match=name):
        spoke_side(
            figures.pop("spokes"), flange_offset=0.03, flange_radius=0.05, rim_radius=0.26, crossings=3, **figures
        )
