"""One choice through the full model many times, each row with other values of its uncertain figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.forces import Side
from configopt.appraisal.model import Evaluation
from configopt.appraisal.packages import Package, side_of_rows
from configopt.appraisal.uncertain import UncertainFigure, assumed_rows, variants
from configopt.appraisal.vehicle import POSITIONS, VehicleModel
from configopt.catalog.records import Position

Array = NDArray[np.float64]


def evaluation_of_rows(
    base: VehicleModel,
    packages: dict[Position, Package],
    drive: int,
    figures: Sequence[UncertainFigure],
    values: Array,
) -> Evaluation:
    """The full model with other figures in each row.

    Parameters
    ----------
    base : the vehicle
    packages : of both positions
    drive : number of the final drive in the vehicle's list
    figures : what differs from row to row; all else is as in the catalog
    values : of the figures [SI], (rows, figures)

    Returns
    -------
    Evaluation
        With one row per row of values.
    """
    used = {ground.surface.id: ground.surface for ground in base.grounds.values()}
    model = VehicleModel(
        base.vehicle,
        base.catalog,
        without=base.without,
        assumed=assumed_rows(figures, values),
        variants={name: variants(surface, ("surfaces", name), figures, values) for name, surface in used.items()},
    )
    sides = {p: _side(packages[p], model, figures, values) for p in POSITIONS}
    return Evaluation(model, sides["front"], sides["rear"], np.full(len(values), drive, dtype=np.int64))


def _side(package: Package, model: VehicleModel, figures: Sequence[UncertainFigure], values: Array) -> Side:
    """One package, once per row."""

    def rows(family: str, part: Any) -> tuple[Any, ...]:
        return variants(part, (family, getattr(part, "id", "")), figures, values)

    mount, wheel, brake = package.mount, package.wheel, package.brake
    parts = zip(
        rows("tires", mount.tire),
        rows("inners", mount.inner),
        rows("rim-locks", mount.lock),
        rows("hubs", wheel.hub),
        rows("rims", wheel.rim),
        rows("spokes", wheel.spokes),
        rows("disc-wheels", wheel.disc_wheel),
        rows("rotors", brake.rotor),
        rows("calipers", brake.caliper),
        rows("pads", brake.pad),
        strict=True,
    )
    packages = [
        replace(
            package,
            mount=replace(mount, tire=tire, inner=inner, lock=lock),
            wheel=replace(wheel, hub=hub, rim=rim, spokes=spokes, disc_wheel=disc),
            brake=replace(brake, rotor=rotor, caliper=caliper, pad=pad),
        )
        for tire, inner, lock, hub, rim, spokes, disc, rotor, caliper, pad in parts
    ]
    return side_of_rows(packages, model, assumed_rows(figures, values, mount.tire.id))
