"""Reading recorded rides: GPX 1.1 (and 1.0) files, safe against hostile ones, with the place of every point.

The points are taken from the events of expat, the parser of the standard library.  A general GPX library was measured
first on 1,000,000 points with speeds: gpxpy 1.6 took 32 s and 2.4 GB, because every point becomes an object and every
extension a tree; these events take about 11 s and 0.4 GB, of which the file itself is most.  They also give line and
column, so that a mistake can be told where it stands, and see a document type before anything of it is read.  gpxpy is
the independent check in the tests.

References
----------
GPX 1.1 Schema Documentation, TopoGrafix, 2004: elements, units (degrees of WGS84, metres, UTC).  GPX 1.1 has no speed;
recorders put it into extensions, GPX 1.0 had it as an element of the point; both in m/s.
"""

from __future__ import annotations

import hashlib
import math
from array import array
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from xml.parsers import expat

import numpy as np
from numpy.typing import NDArray

from configopt.errors import Finding, FindingsError
from configopt.files.reading import read_start

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

#: Bytes of one file: a million points with speed, heart rate and cadence take about 250 MB.
BYTE_LIMIT = 400_000_000
#: Points of one file: 23 days of riding at one point a second.
POINT_LIMIT = 2_000_000
DEPTH_LIMIT = 30
#: Bytes of one tag, comment or instruction; the parser reads an unfinished one again with every piece it is handed.
TAG_LIMIT = 4_000_000
FINDING_LIMIT = 20
_PIECE = 1 << 20
#: Encodings that expat knows by itself; for others Python's own are asked, which are many and odd.
_ENCODINGS = frozenset({"utf-8", "utf-16", "us-ascii", "iso-8859-1"})
_TEXT_LIMIT = 100
_OTHER_END = "save the ride as GPX once more, without a document type"


@dataclass(frozen=True)
class Recording:
    """The points of one file in file order.

    Attributes
    ----------
    path, sha256
        The file, and the hash of its bytes.
    latitude, longitude
        WGS84 [deg], shape (n,).
    elevation
        Above the sea [m], shape (n,); NaN where there is none.
    time
        Since 1970 in UTC [s], shape (n,); NaN where there is none.
    speed
        As the recorder stated it [m/s], shape (n,); NaN where it did not.
    line, column
        Where the point stands in the file, 1-based, shape (n,).
    """

    path: str
    sha256: str
    latitude: Floats
    longitude: Floats
    elevation: Floats
    time: Floats
    speed: Floats
    line: Whole
    column: Whole

    def finding(self, point: int, rule: str, message: str, fix: str = "") -> Finding:
        """An error at a point."""
        return Finding(self.path, int(self.line[point]), int(self.column[point]), rule, "error", message, fix)

    def whole(self, rule: str, message: str, fix: str = "") -> FindingsError:
        """An error about the file as a whole."""
        return _one(self.path, rule, message, fix)


def load_gpx(path: str | Path) -> Recording:
    """Read the track points of a file.

    Parameters
    ----------
    path
        The file; a symbolic link to one is followed.

    Returns
    -------
    Recording
        All points of all tracks and segments.  Routes and waypoints are planned, not ridden, and stay out.

    Raises
    ------
    FindingsError
        If the file cannot be read, is too large or no GPX, declares a document type, or holds a number or time that
        is none.
    """
    name = str(path)
    try:
        raw = read_start(path, BYTE_LIMIT + 1)
    except FileNotFoundError:
        raise _one(name, "GPX-FILE", "there is no such file", "check the name and the folder") from None
    except IsADirectoryError:
        raise _one(name, "GPX-FILE", "this is a folder, wanted is a file", "name the file in it") from None
    except (OSError, ValueError) as error:  # ValueError: a NUL in the name
        reason = getattr(error, "strerror", None) or str(error)
        raise _one(name, "GPX-FILE", f"the file cannot be read: {reason}") from None
    if len(raw) > BYTE_LIMIT:
        raise _one(name, "GPX-LIMIT", f"a ride has at most {BYTE_LIMIT:,} bytes, this one has more", "split it")
    return parse_gpx(raw, name)


def parse_gpx(raw: bytes, name: str) -> Recording:
    """Read GPX from memory; as :func:`load_gpx`, with ``name`` standing for the file in findings.

    Examples
    --------
    >>> text = b'<gpx><trk><trkseg><trkpt lat="54.1" lon="-2.2"><ele>310</ele></trkpt></trkseg></trk></gpx>'
    >>> parse_gpx(text, "ride.gpx").elevation.tolist()
    [310.0]
    """
    reader = _Reader(name)
    reader.read(raw)
    return Recording(
        path=name,
        sha256=hashlib.sha256(raw).hexdigest(),
        latitude=np.array(reader.latitude),
        longitude=np.array(reader.longitude),
        elevation=np.array(reader.elevation),
        time=np.array(reader.time),
        speed=np.array(reader.speed),
        line=np.array(reader.line, dtype=np.int64),
        column=np.array(reader.column, dtype=np.int64) + 1,
    )


class _Stop(Exception):
    """Reading ends here; the finding is noted."""


@dataclass
class _Reader:
    """Takes the points from the parser's events; only numbers are kept."""

    name: str
    latitude: array[float] = field(default_factory=lambda: array("d"))
    longitude: array[float] = field(default_factory=lambda: array("d"))
    elevation: array[float] = field(default_factory=lambda: array("d"))
    time: array[float] = field(default_factory=lambda: array("d"))
    speed: array[float] = field(default_factory=lambda: array("d"))
    line: array[int] = field(default_factory=lambda: array("l"))
    column: array[int] = field(default_factory=lambda: array("l"))
    findings: list[Finding] = field(default_factory=list)
    depth: int = 0
    point_depth: int = 0  # 0 outside a point
    wanted: str = ""  # what the text now read is
    text: list[str] = field(default_factory=list)
    place: tuple[int, int] = (0, 0)  # where it begins
    routes: bool = False

    def read(self, raw: bytes) -> None:
        parser = expat.ParserCreate()
        self.parser = parser
        parser.buffer_text = True
        parser.StartElementHandler = self.start
        parser.EndElementHandler = self.end
        parser.CharacterDataHandler = self.characters
        parser.StartDoctypeDeclHandler = self.document_type
        parser.XmlDeclHandler = self.declaration
        try:
            for begin in range(0, len(raw) or 1, _PIECE):
                piece = raw[begin : begin + _PIECE]
                parser.Parse(piece, begin + _PIECE >= len(raw))
                if begin + len(piece) - parser.CurrentByteIndex > TAG_LIMIT:
                    self.stop("GPX-LIMIT", f"a tag or comment has more than {TAG_LIMIT:,} bytes")
        except _Stop:
            pass
        except expat.ExpatError as error:
            message = expat.errors.messages.get(error.code, "not readable")
            where = error.lineno, error.offset + 1
            fix = "name a GPX file; if it is one, it may have been cut off: save the ride once more"
            self.findings.append(Finding(self.name, *where, "GPX-XML", "error", f"no sound XML: {message}", fix))
        if self.findings:
            raise FindingsError(self.findings)
        if not self.latitude:
            message = "there is no track point in it"
            fix = "routes and waypoints are planned: name a recorded track" if self.routes else "name a recorded ride"
            raise _one(self.name, "GPX-EMPTY", message, fix)

    def note(self, rule: str, message: str, fix: str = "", *, place: tuple[int, int] | None = None) -> None:
        where = place or (self.parser.CurrentLineNumber, self.parser.CurrentColumnNumber + 1)
        self.findings.append(Finding(self.name, *where, rule, "error", message, fix))
        if len(self.findings) == FINDING_LIMIT:
            last = f"reading ends here, after {FINDING_LIMIT} findings"
            self.findings.append(Finding(self.name, *where, "MORE", "error", last, "correct those first"))
            raise _Stop

    def stop(self, rule: str, message: str, fix: str = "") -> None:
        self.note(rule, message, fix)
        raise _Stop

    def document_type(self, *_: object) -> None:
        self.stop("GPX-DOCTYPE", "a document type or entity is declared, which a ride does not need", _OTHER_END)

    def declaration(self, version: str, encoding: str | None, standalone: int) -> None:
        if encoding is not None and encoding.lower() not in _ENCODINGS:
            self.stop("GPX-XML", f'the encoding "{encoding[:40]}" is not read', "save the ride as UTF-8")

    def start(self, tag: str, attributes: Mapping[str, str]) -> None:
        self.depth += 1
        name = tag.rpartition(":")[2]
        if self.depth == 1 and name != "gpx":
            self.stop("GPX-XML", f'this is a file of another kind: it begins with "{tag[:40]}"', "name a GPX file")
        if self.depth > DEPTH_LIMIT:
            self.stop("GPX-LIMIT", f"elements nest at most {DEPTH_LIMIT} deep, these nest deeper")
        self.wanted = ""
        if name == "trkpt":
            self.begin_point(attributes)
        elif self.point_depth and (name == "speed" or (name in ("ele", "time") and self.depth == self.point_depth + 1)):
            self.wanted = name
            self.place = self.parser.CurrentLineNumber, self.parser.CurrentColumnNumber + 1
            self.text.clear()
        elif name == "rte":
            self.routes = True

    def begin_point(self, attributes: Mapping[str, str]) -> None:
        if self.point_depth:
            self.stop("GPX-XML", "a track point stands inside another")
        if len(self.latitude) == POINT_LIMIT:
            self.stop("GPX-LIMIT", f"a ride has at most {POINT_LIMIT:,} points, this one has more", "split it")
        self.point_depth = self.depth
        self.latitude.append(self.degrees(attributes, "lat", 90.0))
        self.longitude.append(self.degrees(attributes, "lon", 180.0))
        for values in (self.elevation, self.time, self.speed):
            values.append(math.nan)
        self.line.append(self.parser.CurrentLineNumber)
        self.column.append(self.parser.CurrentColumnNumber)

    def degrees(self, attributes: Mapping[str, str], key: str, most: float) -> float:
        text = attributes.get(key)
        if text is None:
            self.note("GPX-VALUE", f"the track point has no {key}", "remove the point")
            return 0.0
        value = _number(text)
        if not -most <= value <= most:  # NaN, too
            self.note("GPX-VALUE", f'{key} is "{text[:40]}", allowed are -{most:g} to {most:g} degrees')
            return 0.0
        return value

    def characters(self, text: str) -> None:
        if self.wanted:
            self.text.append(text)
            if len(self.text) > _TEXT_LIMIT:
                self.stop("GPX-VALUE", f"the text of {self.wanted} is too long for a figure")

    def end(self, tag: str) -> None:
        if self.wanted:
            self.take(self.wanted, "".join(self.text).strip())
            self.wanted = ""
        if self.depth == self.point_depth:
            self.point_depth = 0
        self.depth -= 1

    def take(self, wanted: str, text: str) -> None:
        if wanted == "time":
            self.time[-1] = _seconds(text)
            if math.isnan(self.time[-1]):
                message = f'the time is "{text[:40]}", wanted is one such as 2026-03-01T08:30:00Z'
                self.note("GPX-VALUE", message, place=self.place)
            return
        value = _number(text)
        low, high, unit = (-1000.0, 20_000.0, "m") if wanted == "ele" else (0.0, 1000.0, "m/s")
        if not low <= value <= high:
            what = "elevation" if wanted == "ele" else "speed"
            message = f'the {what} is "{text[:40]}", allowed are {low:g} to {high:g} {unit}'
            self.note("GPX-VALUE", message, place=self.place)
        elif wanted == "ele":
            self.elevation[-1] = value
        else:
            self.speed[-1] = value


def _number(text: str) -> float:
    # float() takes 1_0 and digits of any script, which no recorder writes.
    if "_" in text or not text.isascii():
        return math.nan
    try:
        return float(text)
    except ValueError:
        return math.nan


def _seconds(text: str) -> float:
    if len(text) > 40 or text[4:5] != "-" or text[10:11] != "T":
        return math.nan
    try:
        moment = datetime.fromisoformat(text)
        # Without a zone it is UTC, which GPX asks for.
        return (moment if moment.tzinfo is not None else moment.replace(tzinfo=UTC)).timestamp()
    except (ValueError, OverflowError):
        return math.nan


def _one(name: str, rule: str, message: str, fix: str = "") -> FindingsError:
    return FindingsError([Finding(name, 0, 0, rule, "error", message, fix)])
