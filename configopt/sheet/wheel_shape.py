"""What the drawing of one wheel shows, in millimetres: taken from the parts chosen, with what had to be assumed."""

from __future__ import annotations

from dataclasses import dataclass

from configopt.appraisal.packages import Package
from configopt.catalog.records import Hub
from configopt.fit.rules import tire_diameter, tire_width_on
from configopt.scenario.records import Vehicle

#: Room drawn around a rotor for its caliper, beyond the rotor's edge and to each side of it [mm]; an estimate.
CALIPER_ROOM, CALIPER_SIDE = 12.0, 22.0
#: Depth of the well of a rim or disc wheel below its bead seat where no nipple seat says so [mm]; an estimate.
WELL_DEPTH = 12.0
#: Sizes that differ by no more are drawn as one line [mm].
SAME = 0.5
#: Metal outside the spoke holes of a flange, and between flange and rotor [mm]; estimates.
FLANGE_EDGE, ROTOR_GAP = 3.0, 7.0
#: Between the caliper's room and the spokes or the disc wheel as drawn [mm]; an estimate.
SPOKE_GAP = 2.0


@dataclass(frozen=True)
class Spoking:
    """Spokes between a hub and a rim; diameters of the hole circles, offsets from the middle of the rim [mm]."""

    holes: int
    crossings: int
    left_circle: float
    right_circle: float
    left_offset: float
    right_offset: float
    nipple_seat: float
    """Diameter on which the nipple seats lie."""


@dataclass(frozen=True)
class WheelShape:
    """One wheel from above and from the side; lengths in mm, offsets along the axle from the middle of the rim.

    Left is the rotor's side of a spoked wheel and the inside of a disc wheel.
    """

    tire_diameter: float
    tire_width: float
    casing: float
    """Thickness of the casing."""
    lug_depth: float
    flat_tread: bool
    bead_diameter: float
    rim_width: float
    flange_height: float
    well_diameter: float
    """Diameter of the bottom of the rim: its nipple seats, or its well."""
    hub_width: float
    axle: float
    spoking: Spoking | None
    studs: tuple[int, float] | None
    """Studs and their circle."""
    stud_face: float
    """Where the studs' face lies; 0 for a spoked wheel."""
    rotor_diameter: float
    rotor_on_axle: bool
    """Whether the rotor sits on a solid axle, away from the wheel: then only the side view shows it."""
    rotor_thickness: float
    track_height: float
    rotor_bolts: tuple[int, float]
    rotor_offset: float
    """Where the rotor's middle is drawn; the catalogs do not say."""
    pad_height: float
    chain_line: float | None
    frame_diameter: float
    """Largest tire diameter that the frame takes."""
    frame_width: float

    @property
    def rim_edge(self) -> float:
        """Diameter over the rim's flanges."""
        return self.bead_diameter + 2.0 * self.flange_height

    def same_tire(self, other: WheelShape) -> bool:
        """Whether another wheel's tire has the same section."""
        mine = (self.tire_diameter, self.tire_width, self.bead_diameter, self.rim_width)
        theirs = (other.tire_diameter, other.tire_width, other.bead_diameter, other.rim_width)
        return all(abs(one - two) <= SAME for one, two in zip(mine, theirs, strict=True))

    def same_outlines(self, other: WheelShape) -> bool:
        """Whether tire, rim and rotor of another wheel have the same size."""
        rotors = (self.rotor_diameter, other.rotor_diameter)
        edges = (self.rim_edge, other.rim_edge)
        return self.same_tire(other) and all(abs(one - two) <= SAME for one, two in (rotors, edges))

    @property
    def caliper_sides(self) -> tuple[float, float]:
        """From where to where the caliper's room is drawn along the axle.

        Outside, to the fork end at most; inside, no farther than the spokes or the face of the disc wheel: whether a
        caliper clears them is not known.
        """
        half = 0.5 * self.rotor_thickness
        end = self.hub_middle - 0.5 * self.hub_width
        left = min(max(self.rotor_offset - CALIPER_SIDE, end), self.rotor_offset - half)
        if self.spoking is None:
            inside = self.stud_face
        else:
            # The spokes lean inward towards the rim: they are nearest at the lower edge of the room.
            flange, seat = 0.5 * self.spoking.left_circle, 0.5 * self.spoking.nipple_seat
            share = min(max((0.5 * self.rotor_diameter - self.pad_height - 2.0 - flange) / (seat - flange), 0.0), 1.0)
            inside = -(self.spoking.left_offset + (2.0 - self.spoking.left_offset) * share)
        return left, max(min(self.rotor_offset + CALIPER_SIDE, inside - SPOKE_GAP), self.rotor_offset + half)

    @property
    def hub_middle(self) -> float:
        """Where the middle between the fork ends lies: the middle of the rim, or inside a disc wheel's stud face."""
        return 0.0 if self.studs is None else self.stud_face - 0.5 * self.hub_width


def wheel_shape(package: Package, vehicle: Vehicle) -> WheelShape:
    """Shape of a wheel from its parts.

    Parameters
    ----------
    package : the parts of one position
    vehicle : whose axle and frame it sits in
    """
    mount, wheel, brake = package.mount, package.wheel, package.brake
    axle, hub, seen = getattr(vehicle, package.position), wheel.hub, wheel.rim_class
    tire, disc, rim = mount.tire, wheel.disc_wheel, wheel.rim
    bead = _mm(seen.bead_diameter)
    edge = rim if rim is not None else disc
    assert edge is not None
    face = 0.0 if disc is None else -_mm(disc.offset)
    spoking = _spoking(hub, _mm(rim.effective_diameter), wheel.crossings or 0) if rim is not None else None
    thickness = _mm(brake.rotor.thickness)
    if spoking is None:
        # Inside the stud face, well clear of the rim's inner edge.
        rotor_at = min(face, -0.5 * _mm(seen.width)) - ROTOR_GAP - 0.5 * thickness
    else:
        rotor_at = -spoking.left_offset - ROTOR_GAP - 0.5 * thickness
    return WheelShape(
        tire_diameter=_mm(tire_diameter(tire)),
        tire_width=_mm(tire_width_on(tire, mount.rim_width)),
        casing=_mm(tire.casing_thickness),
        lug_depth=_mm(tire.lug_depth),
        flat_tread=tire.kind == "quad",
        bead_diameter=bead,
        rim_width=_mm(seen.width),
        flange_height=_mm(edge.flange_height),
        well_diameter=bead - 2.0 * WELL_DEPTH if spoking is None else spoking.nipple_seat,
        hub_width=_mm(hub.width),
        axle=_mm(hub.axle_diameter),
        spoking=spoking,
        studs=_circle(hub.studs) if disc is not None and hub.studs is not None else None,
        stud_face=face,
        rotor_diameter=_mm(brake.rotor.diameter),
        rotor_on_axle=axle.brake.axle_rotor_pattern is not None,
        rotor_thickness=thickness,
        track_height=_mm(brake.rotor.track_height),
        rotor_bolts=_circle(brake.rotor.pattern),
        rotor_offset=rotor_at,
        pad_height=_mm(brake.pad.height),
        chain_line=None if hub.chain_line is None or hub.drive_interface is None else _mm(hub.chain_line),
        frame_diameter=_mm(axle.tire_diameter_max),
        frame_width=_mm(axle.tire_width_max),
    )


def _spoking(hub: Hub, nipple_seat: float, crossings: int) -> Spoking:
    figures = (
        hub.flange_diameter_left,
        hub.flange_diameter_right,
        hub.flange_offset_left,
        hub.flange_offset_right,
    )
    assert hub.holes is not None
    left, right, left_offset, right_offset = (0.0 if figure is None else _mm(figure) for figure in figures)
    return Spoking(hub.holes, crossings, left, right, left_offset, right_offset, nipple_seat)


def _circle(pattern: str) -> tuple[int, float]:
    """Bolts and circle [mm] of a pattern.

    >>> _circle("6x44")
    (6, 44.0)
    """
    count, circle = pattern.split("x")
    return int(count), float(circle)


def _mm(length: float) -> float:
    return 1e3 * float(length)
