"""Records of choice files and of decision files: what people and ``configopt choose`` may write there."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from configopt.catalog.records import Day, Identifier, Record
from configopt.scenario.records import VehicleChoiceRecord

Fingerprint = Annotated[str, Field(pattern=r"^[A-Za-z0-9_-]{10,200}$")]


class NamedVehicleChoice(VehicleChoiceRecord):
    """Packages and final drive of one vehicle, by its name."""

    name: str
    """Name of the vehicle in the scenario."""


class ChoiceFileRecord(Record):
    """A choice as a file states it."""

    scenario: str | None = None
    """Name of the scenario for which it was made: its file name without ending."""
    title: str = ""
    note: str = ""
    vehicles: Annotated[list[NamedVehicleChoice], Field(min_length=1, max_length=24)]


class Acceptance(Record):
    """Who accepted the choice, when and why."""

    scenario: str
    """File of the scenario, relative to this file."""
    by: Annotated[str, Field(min_length=1)]
    """Who accepted it."""
    date: Day
    """When it was accepted, YYYY-MM-DD."""
    why: Annotated[str, Field(min_length=1)]
    """Why it was accepted."""
    accepted_loss: Annotated[float, Field(ge=0.0, le=10.0)] = 0.0
    """By which share of the best aim the choice may be worse without being found beaten."""


class TightLimit(Record):
    """A limit of the choice with what it reached."""

    limit: str
    terrain: str | None = None
    position: str | None = None
    condition: str | None = None
    value: float
    required: float
    unit: str


class VehicleFigures(Record):
    """What one vehicle came to."""

    name: str
    mass_kg: float
    cost: float
    rolling_loss_wh_per_km: float
    energy_wh_per_km: float
    range_km: float
    tightest: Annotated[list[TightLimit], Field(max_length=50)] = Field(default_factory=list)
    """Limits with least to spare."""


class DecisionFigures(Record):
    """The figures that mattered when the choice was accepted."""

    aim: float
    """Value of the aim; of aims in order, of the last one."""
    currency: str
    vehicles: Annotated[list[VehicleFigures], Field(min_length=1, max_length=24)]


class Dependencies(Record):
    """What the choice depended on."""

    configopt: str
    """Version of the program."""
    scenario: Annotated[dict[str, Fingerprint], Field(max_length=1_000)]
    """Fingerprints of the scenario, group by group."""
    parts: Annotated[dict[Identifier, Fingerprint], Field(max_length=50_000)]
    """Fingerprints of all parts that could be chosen, and of the surfaces ridden on."""


class DecisionRecord(ChoiceFileRecord):
    """A recorded decision."""

    decision: Acceptance
    figures: DecisionFigures
    depends_on: Dependencies
