"""Every figure of an appraisal with the model behind it and the inputs that went into it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from configopt.appraisal.assumptions import RANGES
from configopt.appraisal.explain_chassis import CHASSIS_RULES
from configopt.appraisal.explain_cost import COST_RULES
from configopt.appraisal.explain_energy import ENERGY_RULES
from configopt.appraisal.explain_ground import GROUND_RULES
from configopt.appraisal.explain_heat import HEAT_RULES
from configopt.appraisal.explain_loads import LOAD_RULES
from configopt.appraisal.explain_resistance import RESISTANCE_RULES
from configopt.appraisal.explain_spokes import SPOKE_RULES
from configopt.appraisal.explain_thrust import THRUST_RULES
from configopt.appraisal.explain_tire import TIRE_RULES
from configopt.appraisal.explain_torque import TORQUE_RULES
from configopt.appraisal.explain_vehicle import VEHICLE_RULES
from configopt.appraisal.explain_wheel import WHEEL_RULES
from configopt.appraisal.explained import Explanation, Input, Place, Reading, Rule, in_unit
from configopt.appraisal.models import LIMIT_MODELS, MODELS
from configopt.appraisal.one_vehicle import VehicleAppraisal
from configopt.appraisal.report import finite
from configopt.appraisal.vehicle import POSITIONS, REPEATED_STOPS
from configopt.physics.rolling import PRESSURE_SWITCH
from configopt.scenario.limits import LIMITS

__all__ = ["Explanation", "Input", "explain_figures", "explanations_report"]

_RULES: tuple[Rule, ...] = (
    *LOAD_RULES,
    *TIRE_RULES,
    *WHEEL_RULES,
    *SPOKE_RULES,
    *GROUND_RULES,
    *RESISTANCE_RULES,
    *THRUST_RULES,
    *TORQUE_RULES,
    *HEAT_RULES,
    *VEHICLE_RULES,
    *CHASSIS_RULES,
    *ENERGY_RULES,
    *COST_RULES,
)
#: Models of one end that look at the tires of both: through the clearance, or what helps to hold a descent.
_BOTH_ENDS = frozenset({"bogging", "descent_heat", "rotor_temperature", "rotor_temperature_margin"})


def explain_figures(appraised: VehicleAppraisal) -> tuple[Explanation, ...]:
    """Explain every limit's value and the main figures of packages and terrains.

    Parameters
    ----------
    appraised : one vehicle with its packages through the full model

    Returns
    -------
    tuple of Explanation
        In the order of the models, from the tire to the cost; each figure once per place.
    """
    reading = Reading(appraised)
    order = list(MODELS)
    found = [_explanation(reading, rule, place) for rule in _RULES for place in _places(reading, rule)]
    return tuple(sorted(found, key=lambda one: order.index(one.model)))


def explanations_report(appraised: VehicleAppraisal) -> list[dict[str, Any]]:
    """The explanations of one vehicle as JSON, each with what is known about its model."""
    assumed = appraised.model.assumed
    rows = []
    for one in explain_figures(appraised):
        model = MODELS[one.model]
        rows.append(
            {
                "figure": one.figure,
                "position": one.position,
                "terrain": one.terrain,
                "value": one.value,
                "unit": one.unit,
                "model": one.model,
                "subject": model.subject,
                "quantity": model.quantity,
                "formula": model.formula,
                "inputs": [{"name": row.name, "value": row.value, "unit": row.unit} for row in one.inputs],
                "sources": [cited.text for cited in model.sources],
                "validity": model.validity,
                "estimates": model.estimates,
                "not_modelled": model.not_modelled,
                "checks": list(model.checks),
                "assumed": [
                    {
                        "name": name,
                        "wording": RANGES[name].wording,
                        "value": float(np.ravel(getattr(assumed, name))[0]),
                        "low": RANGES[name].low,
                        "high": RANGES[name].high,
                    }
                    for name in one.assumed
                ],
                "remarks": list(one.remarks),
            }
        )
    return rows


def _places(reading: Reading, rule: Rule) -> list[Place]:
    """Where a figure is shown: always, and for a limit wherever it is asked for."""
    found = list(rule.places(reading))
    if rule.value is None:
        found += [(b.position, b.terrain) for b in reading.model.bounds if b.limit.key == rule.figure]
    return list(dict.fromkeys(found))


def _explanation(reading: Reading, rule: Rule, place: Place) -> Explanation:
    position, terrain = place
    if rule.value is None:
        value, unit = _limit_value(reading, rule.figure, place)
        model = LIMIT_MODELS[rule.figure]
        if terrain == REPEATED_STOPS and model == "rotor_temperature":
            model = "repeated_stops"
    else:
        unit = reading.currency if rule.unit == "currency" else rule.unit
        value, model = in_unit(rule.value(reading, place), unit, reading.currency), rule.model
    return Explanation(
        figure=rule.figure,
        position=position,
        terrain=terrain,
        value=value,
        unit=unit,
        model=model,
        inputs=tuple(rule.inputs(reading, place)),
        assumed=tuple(_assumed(reading, model, place)),
        remarks=() if rule.remarks is None else tuple(dict.fromkeys(rule.remarks(reading, place))),
    )


def _limit_value(reading: Reading, key: str, place: Place) -> tuple[float | None, str]:
    """Value of a limit in its own unit, as its margin has it where it is asked for."""
    limit = LIMITS[key]
    number = finite(reading.limit_value(key, place))
    unit = reading.currency if limit.unit == "currency" else limit.unit
    return None if number is None else finite(limit.shown(number)), unit


def _assumed(reading: Reading, model: str, place: Place) -> Iterator[str]:
    """Assumed figures behind a figure, without those that the parts' own tests or the ground leave no room for."""
    position = None if model in _BOTH_ENDS else place[0]
    positions = POSITIONS if position is None else (position,)
    terrains = reading.terrains if place[1] is None else (place[1],)
    grounds = [reading.model.grounds[name] for name in terrains if name in reading.model.grounds]
    soft_air = any(
        tire.pressure_exponent is None and min(float(f.pressure[0]), float(f.rolling_pressure[0])) < PRESSURE_SWITCH
        for tire, f in ((reading.appraised.packages[p].mount.tire, reading.footing(p)) for p in positions)
    )
    for name in MODELS[model].assumed:
        open_to_it = {
            "carcass_share": not reading.own_reading(position, "carcass_pressure"),
            "rolling_exponent": soft_air,
            "convection": any(
                reading.appraised.packages[p].brake.rotor is not None
                and reading.appraised.packages[p].brake.rotor.convection_factor is None
                for p in positions
            ),
            "rut_factor": any(ground.soft for ground in grounds),
            "envelopment": any(ground.obstacles for ground in grounds),
        }.get(name, True)
        if open_to_it:
            yield name
