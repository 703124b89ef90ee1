"""Built wheels as structures: stiffness, first slack spoke and spoke stress of many wheels at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from configopt.fit.layers import Wheels
from configopt.physics.slack_spokes import (
    first_slack_radial_load,
    first_slack_side_load,
    first_slack_torque_one_flange,
    first_slack_torque_two_flanges,
    radial_load_shares,
)
from configopt.physics.spoke_foundation import SpokeSide, spoke_foundation, spoke_side
from configopt.physics.spokes import effective_spoke_diameter, spoke_rigidity, tension_ratio
from configopt.physics.wheel_buckling import BEST_TENSION_SHARE, buckling_reserve, critical_pull
from configopt.physics.wheel_stiffness import rim_compliance

Array = NDArray[np.float64]
#: Margins beyond this are shown as this.
MOST_MARGIN = 1000.0
#: What a disc wheel's figures are shown as where only spokes have them.
RIGID = 1e12
COLUMNS = (
    "lateral_stiffness",
    "radial_stiffness",
    "slack_load",
    "slack_side_load",
    "slack_torque",
    "tension_high",
    "tension_low",
    "load_share",
    "spoke_section",
    "tensile_strength",
    "buckling_reserve",
)


def structure(wheels: Wheels) -> dict[str, Array]:
    """Columns of the wheel table that follow from the spokes; disc wheels have none and get values no limit meets.

    The tighter side is taken as built to what the rim permits, or to half the tension at which the rim would fold
    where that is less; the other side follows from the balance of the rim.  Stiffnesses [N/m] are those at the rim
    without tire, loads [N], torque [N m], ``load_share`` the tension lost over the radial load [1], ``spoke_section``
    the thinnest cross-section [m2].
    """
    columns = {name: np.full(len(wheels), RIGID) for name in COLUMNS}
    columns["tension_high"][:] = columns["tension_low"][:] = columns["load_share"][:] = 0.0
    columns["spoke_section"][:] = columns["tensile_strength"][:] = 1.0
    columns["buckling_reserve"][:] = MOST_MARGIN
    rows = np.flatnonzero(wheels.rim.number >= 0)
    if rows.size:
        for name, values in _spoked(wheels.take(rows)).items():
            columns[name][rows] = values
    return columns


def _spoked(wheels: Wheels) -> dict[str, Array]:
    rim, hub, spokes = wheels.rim.values, wheels.hub.values, wheels.spokes.values

    radius, permitted = rim("effective_diameter") / 2, rim("maximum_spoke_tension")
    rigidities = {name: rim(name) for name in ("radial_rigidity", "lateral_rigidity", "torsional_rigidity")}
    lengths = {
        "left": wheels.length_left,
        "right": wheels.length_right,
    }
    ratio = tension_ratio(
        left_offset=hub("flange_offset_left"),
        right_offset=hub("flange_offset_right"),
        left_length=lengths["left"],
        right_length=lengths["right"],
    )
    relative = {"left": np.minimum(ratio, 1.0), "right": np.minimum(1.0 / ratio, 1.0)}

    def side(name: str, tension: Array) -> SpokeSide:
        diameter = effective_spoke_diameter(
            spokes("end_diameter"),
            middle_diameter=spokes("middle_diameter"),
            length=lengths[name],
            middle_length=np.maximum(lengths[name] - spokes("ends_length"), 0.0),
        )
        return spoke_side(
            rim("holes") / 2,
            rigidity=spoke_rigidity(diameter),
            tension=tension * relative[name],
            flange_offset=hub(f"flange_offset_{name}"),
            flange_radius=hub(f"flange_diameter_{name}") / 2,
            rim_radius=radius,
            crossings=wheels.crossings.astype(np.float64),
        )

    trial = [side(name, permitted) for name in ("left", "right")]
    critical = critical_pull(trial[0], trial[1], rim_radius=radius, **rigidities)
    folding = buckling_reserve(trial[0], trial[1], rim_radius=radius, critical=critical)
    tension = permitted * np.minimum(1.0, BEST_TENSION_SHARE * folding)
    left, right = (side(name, tension) for name in ("left", "right"))
    compliance = rim_compliance(spoke_foundation(left, right, rim_radius=radius), rim_radius=radius, **rigidities)
    # The rotor sits on the left; a hub that drives one flange passes brake and drive through that one.
    torque = np.where(
        hub("driven_flanges") == 2.0,
        first_slack_torque_two_flanges(left, right, rim_radius=radius),
        first_slack_torque_one_flange(left, rim_radius=radius),
    )
    return {
        "lateral_stiffness": 1.0 / compliance.lateral,
        "radial_stiffness": 1.0 / compliance.radial,
        "slack_load": first_slack_radial_load(left, right, compliance=compliance),
        "slack_side_load": first_slack_side_load(left, right, compliance=compliance),
        "slack_torque": torque,
        "tension_high": tension,
        "tension_low": tension * np.minimum(relative["left"], relative["right"]),
        "load_share": np.maximum(*radial_load_shares(left, right, compliance=compliance)),
        "spoke_section": 0.25 * np.pi * np.minimum(spokes("end_diameter"), spokes("middle_diameter")) ** 2,
        "tensile_strength": spokes("tensile_strength"),
        "buckling_reserve": buckling_reserve(left, right, rim_radius=radius, critical=critical),
    }
