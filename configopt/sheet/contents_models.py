"""What stands behind the figures: models, sources, estimates, and what is needed to compute them again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from configopt.appraisal.assumptions import RANGES
from configopt.appraisal.explanation import explain_figures
from configopt.appraisal.model_record import Cited
from configopt.appraisal.models import MODELS
from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.catalog import Catalog
from configopt.catalog.records import Part, Surface
from configopt.references import cite
from configopt.scenario.records import PackageRecord
from configopt.sheet.figures import NOT_HERE
from configopt.sheet.given import Given
from configopt.sheet.tables import Row, Table, columns
from configopt.sheet.works import Works

_ESTIMATED = "estimated"


@dataclass(frozen=True)
class Behind:
    """Models, sources, estimates and what the sheet was made with."""

    models: Table
    bibliography: tuple[str, ...]
    parts: Table
    """Sources of the parts and surfaces."""
    estimated: tuple[str, ...]
    """Parts and figures whose source is an estimate."""
    assumed: Table
    uncertainty: str
    made_with: Table
    choice_file: str
    commands: tuple[str, ...]


def behind(given: Given) -> Behind:
    """What stands behind the sheet."""
    used = list(dict.fromkeys(row.model for one in given.appraised for row in explain_figures(one)))
    keys = [key for key in MODELS if key in used]
    works = Works()
    for key in keys:
        for cited in MODELS[key].sources:
            works.add(*_work(cited))
    for text in _surface_works(given):
        works.add(text)
    rows = []
    for key in keys:
        model = MODELS[key]
        rows.append(
            Row(
                (
                    model.quantity,
                    model.formula,
                    model.validity,
                    model.estimates or "none of its own",
                    model.not_modelled or "nothing named",
                    ", ".join(dict.fromkeys(works.label(*_work(cited)) for cited in model.sources)),
                )
            )
        )
    parts, estimated = _sources(given, works)
    return Behind(
        models=Table(
            "Models in use",
            columns("gives", "formula", "valid for", "estimates in it", "left out of it", "sources"),
            tuple(rows),
            "The numbers are those of the list of sources, the letters places in a work.",
        ),
        bibliography=works.texts(),
        parts=parts,
        estimated=estimated,
        assumed=_assumed(given, keys),
        uncertainty=_uncertainty(given),
        made_with=_made_with(given),
        choice_file=choice_text(given),
        commands=_commands(given),
    )


def _work(cited: Cited) -> tuple[str, str]:
    """The work of a source, and the place in it; an own derivation is a work without places."""
    return (cited.where, "") if cited.key is None else (cite(cited.key), cited.where)


def _surface_works(given: Given) -> list[str]:
    """Works that the surfaces ridden on and braked on cite, in the order of the catalog."""
    names = _surfaces(given)
    return [cite(key) for surface in given.case.catalog.surfaces if surface.id in names for key in surface.references]


def _surfaces(given: Given) -> set[str]:
    """Surfaces of the terrains and of the descents."""
    vehicles = [one.model.vehicle for one in given.appraised]
    ridden = {terrain.surface for vehicle in vehicles for terrain in vehicle.terrains}
    return ridden | {descent.surface for vehicle in vehicles for descent in vehicle.descents}


def _sources(given: Given, works: Works) -> tuple[Table, tuple[str, ...]]:
    """Where the figures of parts and surfaces come from, and which of them are estimates."""
    catalog = given.case.catalog
    known = {source.id: source for source in catalog.sources}
    rows, estimated = [], []
    for record in _records(given, catalog):
        source = known[record.source]
        elsewhere = [f"{name.replace('_', ' ')}: {known[key].title}" for name, key in record.figure_sources.items()]
        cited = dict.fromkeys(works.label(cite(key)) for key in getattr(record, "references", ()))
        numbers = ", ".join(cited) or NOT_HERE
        told = "; ".join(elsewhere) or "all from there"
        rows.append(Row((record.id, source.title, source.grade, source.date, told, numbers)))
        named = [
            name.replace("_", " ") for name, key in record.figure_sources.items() if known[key].grade == _ESTIMATED
        ]
        if source.grade == _ESTIMATED:
            measured = [
                name.replace("_", " ") for name, key in record.figure_sources.items() if known[key].grade != _ESTIMATED
            ]
            estimated.append(f"{record.id}: every figure" + (f" but {', '.join(measured)}" if measured else ""))
        elif named:
            estimated.append(f"{record.id}: {', '.join(named)}")
    heads = columns("part or surface", "source", "grade", "date", "figures from elsewhere", "works")
    return Table("Where the figures of parts and surfaces come from", heads, tuple(rows)), tuple(estimated)


def _records(given: Given, catalog: Catalog) -> list[Part | Surface]:
    found: dict[str, Part | Surface] = {}
    for one in given.appraised:
        vehicle = one.model.vehicle
        for position in POSITIONS:
            for _, part, _ in one.packages[position].parts(vehicle):
                found[part.id] = part
    found |= {surface.id: surface for surface in catalog.surfaces if surface.id in _surfaces(given)}
    return list(found.values())


def _assumed(given: Given, keys: Sequence[str]) -> Table:
    names = [name for name in RANGES if any(name in MODELS[key].assumed for key in keys)]
    rows = [
        Row((RANGES[name].wording, f"{RANGES[name].middle:g}", f"{RANGES[name].low:g} to {RANGES[name].high:g}"))
        for name in names
    ]
    note = "Nothing was published for these; middle and range are estimates of our own, and ratios have no unit."
    return Table("Assumed figures", columns("figure", "#middle", "range"), tuple(rows), note)


def _uncertainty(given: Given) -> str:
    spread = given.choice["vehicles"][0].get("uncertainty")
    if spread is None:
        return "The uncertainty of the margins was not computed."
    low, high = (f"{end:g}" for end in spread["interval_percent"])
    return (
        f"Every margin was computed {spread['draws']} times, with {spread['figures']} uncertain figures of catalogs "
        f"and models drawn together. The intervals run from the {low} % to the {high} % value. Figures of the scenario "
        "are taken as given, and what the models leave out is in no interval."
    )


def _made_with(given: Given) -> Table:
    made = given.choice["made_with"]
    rows = [
        Row(("configopt", made["configopt"])),
        Row(("HiGHS", made["highs"])),
        Row(("Pyomo", made["pyomo"])),
        Row(("catalogs, SHA-256", made["catalogs_sha256"])),
        *(Row((f"{name}, SHA-256", digest)) for name, digest in given.files.items()),
    ]
    return Table("Made with", columns("", "version or hash"), tuple(rows))


def choice_text(given: Given) -> str:
    """The packages as a choice file that ``configopt appraise`` reads."""
    lines = [f"scenario: {given.choice['scenario']}", "vehicles:"]
    for entry in given.choice["vehicles"]:
        lines += [f"  - name: {entry['name']}", f"    final_drive: {entry['final_drive']}"]
        for package in entry["packages"]:
            lines.append(f"    {package['position']}:")
            for key in PackageRecord.model_fields:
                value = _written(package, key)
                if value:
                    lines.append(f"      {key}: {value}")
    return "\n".join(lines) + "\n"


def _written(package: dict[str, object], key: str) -> str:
    if key == "pressure":
        return f"{package['pressure_kpa']:.10g} kPa"
    if key == "crossings":
        lacing = str(package["lacing"] or "")
        return "" if not lacing else "0" if lacing == "radial" else lacing.split("-")[0]
    value = package[key]
    return "" if value in (None, 0) else str(value)


def _commands(given: Given) -> tuple[str, ...]:
    name = given.case.path.name
    only = "" if given.vehicle is None else f" --vehicle {given.vehicle}"
    search = [f"configopt choose {name}{only}"] if given.searched else []
    if only:
        # appraise looks at all vehicles of a scenario.
        return (*search, f"configopt sheet {name} --packages choice.yaml{only} -o sheet.html")
    return (*search, f"configopt appraise {name} choice.yaml --detail")
