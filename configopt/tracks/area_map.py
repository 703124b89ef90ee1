"""A map of surfaces: areas of a GeoJSON file, and which of them a point lies in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.decisions.json_source import load_json
from configopt.errors import Finding, FindingsError
from configopt.files.yaml_source import Document, KeyPath

Floats = NDArray[np.float64]
_FINDING_LIMIT = 50
_KIND = "a map is a GeoJSON feature collection of areas"


@dataclass(frozen=True)
class Area:
    """One area: its surface, where that is stated, and its rings: longitude and latitude [deg], shape (n, 2)."""

    surface: str
    rings: tuple[Floats, ...]
    path: str = ""
    line: int = 0
    column: int = 0


def load_map(path: Path) -> tuple[Area, ...]:
    """Read a map of surfaces.

    Parameters
    ----------
    path
        A GeoJSON file: a feature collection (or one feature) of polygons and multipolygons, each with the property
        ``surface``.

    Returns
    -------
    tuple of Area
        In file order.

    Raises
    ------
    FindingsError
        If the file cannot be read or is no such map, with every mistake.

    References
    ----------
    RFC 7946, The GeoJSON Format, 2016: positions are longitude and latitude in WGS84 degrees; rings are closed; the
    first ring of a polygon bounds it, the others are holes; what crosses the antimeridian is cut there.
    """
    try:
        document = load_json(path)
    except FindingsError as error:
        raise FindingsError([replace(finding, fix=_KIND) for finding in error.findings]) from None
    data = document.data
    findings: list[Finding] = []
    if isinstance(data, dict) and data.get("type") == "Feature":
        features: list[tuple[KeyPath, Any]] = [((), data)]
    elif isinstance(data, dict) and data.get("type") == "FeatureCollection" and isinstance(data.get("features"), list):
        features = [(("features", number), feature) for number, feature in enumerate(data["features"])]
    else:
        raise FindingsError([_finding(document, (), "this is no map", _KIND)])
    areas = [area for at, feature in features if (area := _area(document, at, feature, findings)) is not None]
    if findings:
        raise FindingsError(findings[:_FINDING_LIMIT])
    if not areas:
        raise FindingsError([_finding(document, (), "the map has no area", "draw areas, each with its surface")])
    return tuple(areas)


def _area(document: Document, at: KeyPath, feature: Any, findings: list[Finding]) -> Area | None:
    geometry = feature.get("geometry") if isinstance(feature, dict) else None
    properties = feature.get("properties") if isinstance(feature, dict) else None
    surface = properties.get("surface") if isinstance(properties, dict) else None
    kind = geometry.get("type") if isinstance(geometry, dict) else None
    if not isinstance(surface, str) or not surface:
        fix = 'add it: "properties": {"surface": "loose-gravel"}'
        findings.append(_finding(document, (*at, "properties"), 'an area needs the property "surface", a text', fix))
        return None
    if not isinstance(geometry, dict) or kind not in ("Polygon", "MultiPolygon"):
        shown = f'"{str(kind)[:40]}"' if kind is not None else "nothing"
        message = f"an area is a Polygon or MultiPolygon, found {shown}"
        findings.append(_finding(document, (*at, "geometry"), message, "draw the ground as an area"))
        return None
    given = geometry.get("coordinates")
    polygons = [given] if kind == "Polygon" else given
    before = len(findings)
    rings: list[Floats] = []
    place = (*at, "geometry", "coordinates")
    for polygon in polygons if isinstance(polygons, list) else [None]:
        if not isinstance(polygon, list) or not polygon:
            findings.append(_finding(document, place, "a polygon is a list of rings", "see RFC 7946, section 3.1.6"))
            continue
        made = [_ring(ring) for ring in polygon]
        if any(ring is None for ring in made):
            message = "a ring is a list of at least four positions [longitude, latitude], the last like the first"
            findings.append(_finding(document, place, message, "see RFC 7946, section 3.1.6"))
        rings += [ring for ring in made if ring is not None]
    if len(findings) > before:
        return None
    return Area(surface, tuple(rings), document.path, *document.position((*at, "properties", "surface")))


def _ring(ring: Any) -> Floats | None:
    if not isinstance(ring, list) or len(ring) < 4:
        return None
    positions = []
    for position in ring:
        if not isinstance(position, list) or not 2 <= len(position) <= 4:
            return None
        longitude, latitude = position[:2]
        for value, most in ((longitude, 180.0), (latitude, 90.0)):
            if isinstance(value, bool) or not isinstance(value, int | float) or not -most <= value <= most:
                return None
        positions.append((float(longitude), float(latitude)))
    return np.array(positions) if positions[0] == positions[-1] else None


def surfaces_at(areas: tuple[Area, ...], longitude: Floats, latitude: Floats) -> list[tuple[str, NDArray[np.bool_]]]:
    """Which points lie on which surface; of several areas the first that holds a point counts.

    Parameters
    ----------
    areas
        The map.
    longitude, latitude
        Points [deg], shape (n,).

    Returns
    -------
    list of tuple
        Surfaces in file order, each with which points lie on it, shape (n,).

    Notes
    -----
    Crossings of the rings with the parallel of the point, counted to its east: odd is inside, so holes are outside.
    Points are sorted by latitude once, so that an edge meets only those that lie beside it.
    """
    order = np.argsort(latitude, kind="stable")
    x, y = longitude[order], latitude[order]
    free = np.ones(len(x), dtype=bool)
    found: dict[str, NDArray[np.bool_]] = {}
    for area in areas:
        inside = np.zeros(len(x), dtype=bool)
        for x1, y1, x2, y2 in _edges(area):
            low, high = np.searchsorted(y, (min(y1, y2), max(y1, y2)), side="left")
            if low < high:
                part = slice(int(low), int(high))
                inside[part] ^= x[part] < x1 + (y[part] - y1) * ((x2 - x1) / (y2 - y1))
        taken = found.setdefault(area.surface, np.zeros(len(x), dtype=bool))
        taken[order[inside & free]] = True
        free &= ~inside
    return list(found.items())


def _edges(area: Area) -> Iterator[tuple[float, float, float, float]]:
    """Edges that are not along a parallel, the lower end first, so that neighbours meet at one rounded place."""
    for ring in area.rings:
        for (x1, y1), (x2, y2) in zip(ring[:-1].tolist(), ring[1:].tolist(), strict=True):
            if y1 < y2:
                yield x1, y1, x2, y2
            elif y2 < y1:
                yield x2, y2, x1, y1


def _finding(document: Document, at: KeyPath, message: str, fix: str) -> Finding:
    return document.finding(at, "MAP", message, fix)
