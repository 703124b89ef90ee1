"""A scenario loaded with its catalogs: a case."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from difflib import get_close_matches
from pathlib import Path

from configopt.catalog.catalog import Catalog, load_catalog
from configopt.catalog.corrections import CorrectionsFile, corrected
from configopt.errors import Finding, FindingsError, UsageError
from configopt.files.validation import validate
from configopt.files.yaml_source import Document, load_yaml
from configopt.scenario.conditions import condition_findings, named_surfaces, vehicle_in
from configopt.scenario.limit_findings import limit_findings
from configopt.scenario.records import PackageRecord, Scenario, Vehicle

#: Family of each part a package names, by field.
PACKAGE_PARTS = {
    "tire": "tires",
    "inner": "inners",
    "rim_lock": "rim-locks",
    "rim": "rims",
    "spokes": "spokes",
    "disc_wheel": "disc-wheels",
    "hub": "hubs",
    "rotor": "rotors",
    "caliper": "calipers",
    "pad": "pads",
}


@dataclass(frozen=True)
class Case:
    """A scenario and the catalogs it chooses from."""

    path: Path
    scenario: Scenario
    catalog: Catalog
    as_written: Catalog | None = None
    """The catalogs as their files say, where corrections stand over them."""

    @property
    def without_corrections(self) -> Case:
        """The same case with the catalogs as their files say."""
        return self if self.as_written is None else replace(self, catalog=self.as_written, as_written=None)

    @property
    def name(self) -> str:
        """Name of the scenario: its file name without ending."""
        return self.path.stem

    @property
    def vehicle(self) -> Vehicle:
        """The first vehicle."""
        return self.scenario.vehicles[0]

    @property
    def together(self) -> bool:
        """Whether vehicles are chosen together: there are several, or parts are shared front and rear."""
        return len(self.scenario.vehicles) > 1 or self.scenario.sharing is not None

    def only(self, name: str) -> Case:
        """The same case with one of its vehicles, for itself.

        Raises
        ------
        UsageError
            A vehicle that the scenario does not have.
        """
        found = [vehicle for vehicle in self.scenario.vehicles if vehicle.name == name]
        if not found:
            known = ", ".join(vehicle.name for vehicle in self.scenario.vehicles)
            raise UsageError(f'the scenario has no vehicle "{name}"; it has {known}')
        return replace(self, scenario=self.scenario.model_copy(update={"vehicles": found, "sharing": None}))


def load(path: str | Path) -> Case:
    """Load a scenario and its catalogs.

    Raises
    ------
    FindingsError
        With every mistake of the scenario and of its catalogs.
    """
    file = Path(path)
    document = load_yaml(file)
    scenario = validate(document, Scenario)
    catalog = load_catalog(file.parent / scenario.catalogs)
    findings = reference_findings(document, scenario, catalog)
    layered = catalog
    if scenario.corrections is not None:
        layered, wrong = load_corrected(catalog, file.parent / scenario.corrections)
        findings += [finding for finding in wrong if finding.severity == "error"]
    if findings:
        raise FindingsError(findings)
    return Case(file, scenario, layered, None if scenario.corrections is None else catalog)


def load_corrected(
    catalog: Catalog, path: Path, read: Callable[[Path], Document] = load_yaml
) -> tuple[Catalog, list[Finding]]:
    """A catalog with the corrections of a file over it, and what is wrong with them (errors and warnings).

    Raises
    ------
    FindingsError
        If the file cannot be read or is no file of corrections.
    """
    document = read(path)
    return corrected(catalog, document, validate(document, CorrectionsFile))


def reference_findings(document: Document, scenario: Scenario, catalog: Catalog) -> list[Finding]:
    """Names in a scenario that its catalogs do not have, limits that hold nowhere, and a currency that differs."""
    findings = []
    if scenario.currency != catalog.currency:
        findings.append(
            document.finding(
                ("currency",),
                "CURRENCY",
                f"found {scenario.currency}, the catalogs are in {catalog.currency}",
                f"write {catalog.currency}",
            )
        )
    surfaces = {surface.id: surface for surface in catalog.surfaces}
    for number, vehicle in enumerate(scenario.vehicles):
        base = ("vehicles", number)
        named = {
            "terrains": [terrain.surface for terrain in vehicle.terrains],
            "descents": [descent.surface for descent in vehicle.descents],
        }
        for group, names in named.items():
            for index, name in enumerate(names):
                if name not in surfaces:
                    findings.append(
                        document.finding(
                            (*base, group, index, "surface"),
                            "REFERENCE",
                            f'there is no surface "{name}"',
                            "see configopt parts surfaces",
                        )
                    )
        findings += condition_findings(document, base, vehicle, surfaces)
        if named_surfaces(vehicle) <= surfaces.keys():
            # A limit that holds nowhere as the vehicle is stated may hold in one of its conditions.
            every = [vehicle, *(vehicle_in(vehicle, condition) for condition in vehicle.conditions)]
            wrong = [limit_findings(document, base, one, surfaces) for one in every]
            findings += [finding for finding in wrong[0] if all(finding in others for others in wrong)]
        if vehicle.baseline is not None:
            for position in ("front", "rear"):
                at = (*base, "baseline", position)
                findings += package_findings(document, at, getattr(vehicle.baseline, position), catalog)
            drives = [option.id for option in vehicle.drive.final_drives]
            if vehicle.baseline.final_drive not in drives:
                findings.append(
                    document.finding(
                        (*base, "baseline", "final_drive"),
                        "REFERENCE",
                        f'there is no final drive "{vehicle.baseline.final_drive}"',
                        f"one of {', '.join(drives)}",
                    )
                )
    return findings


def package_findings(
    document: Document, at: tuple[str | int, ...], package: PackageRecord, catalog: Catalog
) -> list[Finding]:
    """Parts of a package that the catalogs do not have."""
    findings = []
    for field, family in PACKAGE_PARTS.items():
        identifier = getattr(package, field)
        known = {part.id: None for part in catalog.family(family)}
        if identifier is not None and identifier not in known:
            near = get_close_matches(identifier, known, n=1, cutoff=0.8)
            fix = f'did you mean "{near[0]}"?' if near else f"see configopt parts {family}"
            findings.append(document.finding((*at, field), "REFERENCE", f'there is no "{identifier}" in {family}', fix))
    return findings
