"""``configopt terrain``: recorded rides to the terrain part of a scenario."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from configopt.cli.options import CONTEXT, catalogs_option, finite, output_option, quiet_option
from configopt.cli.output import emit, json_text, page, require_writable, say
from configopt.errors import ExitCode, FindingsError, UsageError

if TYPE_CHECKING:
    from configopt.tracks.ground import Ground
    from configopt.tracks.settings import Settings
    from configopt.tracks.terrain import Ride

#: Rides of one call.
_RIDE_LIMIT = 200
_SHORT = "Terrain from recorded rides, as a part of a scenario."
_EPILOG = """\b
Example:
  configopt terrain ride.gpx
  configopt terrain ride.gpx --rest loose-gravel -o terrain.yaml
  configopt terrain ride.gpx --ground 3.2..4.6=wet-peat \\
    --rest loose-gravel
  configopt terrain daily.gpx weekly.gpx --weight 5 --weight 1 \\
    --map areas.geojson --rest loose-gravel -o terrain.yaml"""


@click.command("terrain", context_settings=CONTEXT, epilog=_EPILOG, short_help=_SHORT)
@click.argument("tracks", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="TRACK.gpx...")
@click.option(
    "--weight",
    "weights",
    type=float,
    multiple=True,
    callback=lambda ctx, param, values: tuple(
        finite(low=0.0, open_low=True, unit=" times")(ctx, param, value) for value in values
    ),
    metavar="TIMES",
    help="How often a ride counts, once for each track in their order.  [default: 1 each]",
)
@click.option(
    "--ground",
    "spans",
    multiple=True,
    metavar="[RIDE:]FROM..TO=SURFACE",
    help="Surface from one distance to another in km, on one ride (by its number) or all; either end may be left out. "
    "Of several the first counts.",
)
@click.option(
    "--map",
    "map_",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    metavar="FILE",
    help='GeoJSON areas with the property "surface"; of several the first that holds a point counts.',
)
@click.option("--rest", metavar="SURFACE", help="Surface of all that --ground and --map leave.")
@catalogs_option
@click.option(
    "--smoothing",
    type=float,
    default=40.0,
    show_default=True,
    callback=finite(low=0.0, open_low=False, unit=" m"),
    metavar="METRES",
    help="Length over which elevations are averaged, twice.",
)
@click.option(
    "--undulation",
    type=float,
    default=2.0,
    show_default=True,
    callback=finite(low=0.0, open_low=False, unit=" m"),
    metavar="METRES",
    help="Undulations lower than this are levelled.",
)
@click.option(
    "--fastest",
    type=float,
    default=120.0,
    show_default=True,
    callback=finite(low=0.0, open_low=True, unit=" km/h"),
    metavar="KM/H",
    help="Positions that would need more are mistakes of the recorder.",
)
@click.option(
    "--format",
    "format_",
    type=click.Choice(["text", "json", "yaml"]),
    help="Text for people, JSON for programs, YAML for a scenario.  [default: text; yaml for -o FILE.yaml]",
)
@quiet_option
@output_option
def command(
    tracks: tuple[Path, ...],
    weights: tuple[float, ...],
    spans: tuple[str, ...],
    map_: Path | None,
    rest: str | None,
    catalogs: Path | None,
    smoothing: float,
    undulation: float,
    fastest: float,
    format_: str | None,
    quiet: bool,
    output: Path | None,
) -> int:
    """Turn recorded rides (GPX) into terrain: grades, speeds, stops, climbs and descents.

    Mistakes of the recorder are taken out and told. With surfaces stated, the result holds the terrains and descents of
    a scenario, with the climb, descent and length of the rides; -o FILE.yaml writes them and prints the text. Surfaces
    are looked up in the catalogs, where there are any.
    """
    format_ = format_ or ("yaml" if output is not None and output.suffix in (".yaml", ".yml") else "text")
    require_writable(output, *tracks, map_)
    if len(tracks) > _RIDE_LIMIT:
        raise UsageError(f"there are {len(tracks)} tracks; name at most {_RIDE_LIMIT}")
    if any(not 1e-6 <= weight <= 1e6 for weight in weights):
        raise UsageError("--weight: allowed are 0.000001 to 1000000 times")
    if weights and len(weights) != len(tracks):
        raise UsageError(f"--weight is given {len(weights)} times for {len(tracks)} tracks: give it once for each")
    for option, value, most in (("--smoothing", smoothing, 1000.0), ("--undulation", undulation, 100.0)):
        if value > most:
            raise UsageError(
                f"{option} is {value:g} m, allowed are at most {most:g} m: little would be left of the ground"
            )
    from configopt.tracks.settings import Settings

    settings = Settings(smoothing=smoothing, undulation=undulation, fastest=fastest / 3.6)
    ground = _ground(spans, map_, rest, catalogs, len(tracks))
    if format_ == "yaml" and not ground.stated:
        raise UsageError("terrains of a scenario need surfaces: name them with --ground, --map or --rest SURFACE")
    from configopt.tracks.fragment import fragment
    from configopt.tracks.terrain import terrain

    result = terrain(_rides(tracks, weights, settings, quiet), ground, settings)
    if format_ == "json":
        emit(json_text(result.to_json()), output)
        return int(ExitCode.DONE)
    if format_ == "yaml":
        emit(fragment(result), output)
    if format_ == "text" or output is not None:
        from configopt.cli.text_terrain import write_terrain

        written = output if format_ == "text" else None
        sheet = page(written)
        write_terrain(sheet, result.to_json())
        emit(str(sheet), written)
    return int(ExitCode.DONE)


def _ground(spans: tuple[str, ...], map_: Path | None, rest: str | None, catalogs: Path | None, rides: int) -> Ground:
    from configopt.tracks.area_map import load_map
    from configopt.tracks.ground import Ground, parse_span, require_rides
    from configopt.tracks.surfaces import known_surfaces, require_surfaces

    parsed = tuple(parse_span(span) for span in spans)
    require_rides(parsed, rides)
    ground = Ground(parsed, load_map(map_) if map_ is not None else (), rest)
    folder = catalogs or Path("catalogs")
    if not ground.stated:
        return ground
    found = folder.is_dir()
    require_surfaces(ground, known_surfaces(folder) if found else None)
    if not found:
        say("note: surfaces are not checked: there is no folder 'catalogs' here; name one with --catalogs FOLDER")
    return ground


def _rides(tracks: Sequence[Path], weights: Sequence[float], settings: Settings, quiet: bool) -> list[Ride]:
    """All rides; what is wrong with one does not hide what is wrong with another."""
    from configopt.tracks.terrain import load_ride

    found: list[Ride] = []
    findings = []
    for number, path in enumerate(tracks):
        if not quiet and len(tracks) > 1:
            say(f"reading {path}")
        try:
            found.append(load_ride(path, weights[number] if weights else 1.0, settings))
        except FindingsError as error:
            findings += error.findings
    if findings:
        raise FindingsError(findings)
    return found
