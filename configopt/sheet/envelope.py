"""The outlines of the wheels as DXF, in millimetres and full size, for the chassis designer's own drawing."""

from __future__ import annotations

import io
from collections.abc import Sequence
from importlib.util import find_spec

from configopt.errors import UsageError
from configopt.sheet.drawing_section import tire_outline
from configopt.sheet.wheel_shape import CALIPER_ROOM, WheelShape

#: Layers and their AutoCAD colour numbers; line types tell them apart too.
LAYERS = {
    "TIRE": (7, "CONTINUOUS"),
    "RIM": (5, "CONTINUOUS"),
    "HUB": (3, "CONTINUOUS"),
    "HUB_BODY_ESTIMATE": (3, "DASHED"),
    "ROTOR": (4, "CONTINUOUS"),
    "ROTOR_PLACE_ESTIMATE": (4, "DASHED"),
    "CALIPER_ESTIMATE": (6, "DASHED"),
    "FRAME": (1, "DASHED"),
    "GROUND": (8, "CONTINUOUS"),
    "TEXT": (7, "CONTINUOUS"),
}
#: Room between the drawings of two wheels, and between the two views of one [mm].
_APART, _BETWEEN = 400.0, 250.0
#: DXF R2010: what every program of the last years reads.
_VERSION = "R2010"


def require_ezdxf() -> None:
    """Refuse before any long computation where no DXF can be written.

    Raises
    ------
    UsageError
        If ezdxf is not installed.
    """
    if find_spec("ezdxf") is None:
        raise UsageError("the outlines as DXF need ezdxf: pip install 'configopt[dxf]'")


def envelope_dxf(wheels: Sequence[tuple[str, WheelShape, float]], fails: Sequence[str] = ()) -> bytes:
    """Side view and section of every wheel, one below the other.

    Parameters
    ----------
    wheels : name, shape and loaded radius [mm] of each
    fails : rules of fit and limits that the packages miss; they stand above the first wheel

    Returns
    -------
    bytes
        DXF text; units are millimetres, one to one; the axle of a wheel lies at y = 0, -(n x spacing), ...
    """
    from ezdxf._options import options

    # With its fixed dates and marks in place of those of the moment: the same wheels give the same bytes.
    fixed = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        return _drawn(wheels, fails)
    finally:
        options.write_fixed_meta_data_for_testing = fixed


def _drawn(wheels: Sequence[tuple[str, WheelShape, float]], fails: Sequence[str]) -> bytes:
    import ezdxf
    from ezdxf import units

    drawing = ezdxf.new(_VERSION, setup=True)  # type: ignore[attr-defined]
    drawing.units = units.MM
    for name, (colour, kind) in LAYERS.items():
        drawing.layers.add(name, color=colour, linetype=kind)
    space = drawing.modelspace()
    for line, words in enumerate(fails):
        space.add_text(words, height=20.0, dxfattribs={"layer": "TEXT", "insert": (0.0, 100.0 + 30.0 * line)})
    below = 0.0
    for name, shape, loaded_radius in wheels:
        reach = 0.5 * max(shape.tire_diameter, shape.frame_diameter)
        middle = below - reach
        _side(space, shape, (reach, middle), loaded_radius)
        _section(space, shape, (2.0 * reach + _BETWEEN, middle))
        words = (
            f"{name}: side view from the rotor's side, section through the axle; mm; pre-selection by calculation; "
            "what lies on a layer named ESTIMATE is one"
        )
        space.add_text(words, height=20.0, dxfattribs={"layer": "TEXT", "insert": (0.0, middle + reach + 40.0)})
        below = middle - reach - _APART
    stream = io.StringIO()
    drawing.write(stream)
    return stream.getvalue().encode("utf-8")


def _side(space: object, shape: WheelShape, at: tuple[float, float], loaded_radius: float) -> None:
    circles = [
        ("FRAME", shape.frame_diameter),
        ("TIRE", shape.tire_diameter),
        ("RIM", shape.rim_edge),
        ("RIM", shape.well_diameter),
        ("HUB", shape.axle),
    ]
    if shape.spoking is not None:
        circles += [("HUB", shape.spoking.left_circle), ("HUB", shape.spoking.right_circle)]
    if shape.studs is not None:
        circles.append(("HUB", shape.studs[1]))
    circles += [("ROTOR", shape.rotor_diameter), ("ROTOR", shape.rotor_bolts[1])]
    circles.append(("CALIPER_ESTIMATE", shape.rotor_diameter + 2.0 * CALIPER_ROOM))
    for layer, diameter in circles:
        space.add_circle(at, 0.5 * diameter, dxfattribs={"layer": layer})  # type: ignore[attr-defined]
    ground, half = at[1] - loaded_radius, 0.6 * shape.tire_diameter
    space.add_line((at[0] - half, ground), (at[0] + half, ground), dxfattribs={"layer": "GROUND"})  # type: ignore[attr-defined]


def _section(space: object, shape: WheelShape, at: tuple[float, float]) -> None:
    x, y = at

    def ring(layer: str, points: Sequence[tuple[float, float]]) -> None:
        for up in (1.0, -1.0):
            placed = [(x + across, y + up * out) for across, out in points]
            space.add_lwpolyline(placed, close=True, dxfattribs={"layer": layer})  # type: ignore[attr-defined]

    def box(layer: str, left: float, right: float, low: float, high: float) -> None:
        ring(layer, [(left, low), (right, low), (right, high), (left, high)])

    ring("TIRE", tire_outline(shape))
    half = 0.5 * shape.rim_width
    box("RIM", -half, half, 0.5 * shape.well_diameter, 0.5 * shape.rim_edge)
    box(
        "FRAME",
        -0.5 * shape.frame_width,
        0.5 * shape.frame_width,
        0.5 * shape.bead_diameter,
        0.5 * shape.frame_diameter,
    )
    box(
        "HUB_BODY_ESTIMATE",
        shape.hub_middle - 0.5 * shape.hub_width,
        shape.hub_middle + 0.5 * shape.hub_width,
        0.0,
        0.5 * shape.axle,
    )
    if not shape.rotor_on_axle:
        rotor, thick = 0.5 * shape.rotor_diameter, 0.5 * shape.rotor_thickness
        offset = shape.rotor_offset
        box("ROTOR_PLACE_ESTIMATE", offset - thick, offset + thick, 0.5 * shape.rotor_bolts[1], rotor)
        low, high = rotor - shape.pad_height, rotor + CALIPER_ROOM
        left, right = shape.caliper_sides
        box("CALIPER_ESTIMATE", left, right, low, high)
