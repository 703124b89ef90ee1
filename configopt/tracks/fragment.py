"""The terrain part of a scenario as YAML."""

from __future__ import annotations

from typing import Any

from configopt.errors import one_line
from configopt.files.yaml_text import yaml_text
from configopt.tracks.classes import SHARE_UNITS
from configopt.tracks.terrain import TerrainResult


def fragment(result: TerrainResult) -> str:
    """Terrains and descents, ready to stand under a vehicle, with a head that says where they come from.

    Parameters
    ----------
    result
        A result with terrains.

    Returns
    -------
    str
        YAML with the keys ``terrains`` and, where there are any, ``descents``.

    Notes
    -----
    Shares are written in ten-thousandths of a percent, of which they hold whole numbers; grades to the same digit,
    which is a millimetre of climb in a kilometre.
    """
    lines = [
        "Terrain from recorded rides: replace terrains and descents of a vehicle by it, indented like its other keys.",
        f"Made with configopt {result.to_json()['made_with']['configopt']}.",
    ]
    for number, ride in enumerate(result.rides, start=1):
        figures = result.to_json()["rides"][number - 1]
        lines += [
            f"Ride {number}: {ride.path}, counted {ride.weight:g} {'time' if ride.weight == 1.0 else 'times'}",
            f"  sha256 {ride.sha256}",
            f"  {figures['length_km']:.3f} km, climb {figures['climb_m']:.1f} m, descent {figures['descent_m']:.1f} m",
            *(f"  {note.text}" for note in ride.notes),
        ]
    lines += result.remarks
    data: dict[str, Any] = {
        "terrains": [
            {
                "name": part.name,
                "surface": part.surface,
                "share": f"{_percent(part.units)} %",
                "speed": _speed(part.speed),
                "grade": f"{100.0 * part.grade:.4f} %",
                "direction": part.direction,
                "stops_per_km": round(part.stops_per_km, 4),
            }
            for part in result.terrains
        ]
    }
    if result.descents:
        data["descents"] = [
            {
                "name": part.name,
                "surface": part.surface,
                "grade": f"{100.0 * part.grade:.2f} %",
                "speed": _speed(part.speed),
                "height": f"{part.height:.1f} m",
            }
            for part in result.descents
        ]
    # Nothing of a file's name may end its comment.
    return "".join(f"# {one_line(line)}\n" for line in lines) + yaml_text(data)


def _speed(speed: float) -> str:
    # Creeping is written as the least speed that a scenario takes.
    return f"{max(3.6 * speed, 0.01):.2f} km/h"


def _percent(units: int) -> str:
    whole, rest = divmod(units, SHARE_UNITS // 100)
    return f"{whole}.{rest:04d}"
