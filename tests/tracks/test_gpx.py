"""Reading GPX: what a general library reads, every mistake at its place, and nothing that a hostile file can do."""

from __future__ import annotations

import random
import re
from pathlib import Path

import gpxpy
import numpy as np
import pytest
from rides import hills, ridden

from configopt.errors import FindingsError
from configopt.tracks.gpx import FINDING_LIMIT, load_gpx, parse_gpx

HEAD = '<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>\n'
TAIL = "</trkseg></trk></gpx>"


def points(*rows: str) -> bytes:
    return (HEAD + "\n".join(rows) + TAIL).encode()


def wrong(raw: bytes) -> list[str]:
    with pytest.raises(FindingsError) as caught:
        parse_gpx(raw, "ride.gpx")
    return [str(finding) for finding in caught.value.findings]


def test_a_general_library_reads_the_same_points(tmp_path: Path) -> None:
    ride = ridden(2000.0, height=hills, start=(54.2, 179.99))
    ride = ride.changed(speed=np.full(len(ride.time), 6.0))
    read = load_gpx(ride.write(tmp_path / "ride.gpx"))
    (segment,) = gpxpy.parse(ride.gpx()).tracks[0].segments
    assert len(read.time) == len(segment.points) == len(ride.time)
    np.testing.assert_array_equal(read.latitude, [point.latitude for point in segment.points])
    np.testing.assert_array_equal(read.longitude, [point.longitude for point in segment.points])
    np.testing.assert_array_equal(read.elevation, [point.elevation for point in segment.points])
    np.testing.assert_array_equal(read.time, [point.time.timestamp() for point in segment.points])
    np.testing.assert_array_equal(read.speed, 6.0)


def test_the_older_form_with_a_speed_in_the_point_is_read() -> None:
    row = '<trkpt lat="1" lon="2"><ele>3</ele><time>2026-03-01T08:00:00Z</time><speed>4.5</speed></trkpt>'
    text = '<gpx version="1.0" xmlns="http://www.topografix.com/GPX/1/0"><trk><trkseg>' + row + TAIL
    assert parse_gpx(text.encode(), "ride.gpx").speed.tolist() == [4.5]


def test_all_tracks_and_segments_are_read_and_planned_points_stay_out() -> None:
    point = '<{0} lat="1" lon="2"><ele>3</ele></{0}>'
    text = (
        f"<gpx>{point.format('wpt')}<rte>{point.format('rtept')}</rte>"
        f"<trk><trkseg>{point.format('trkpt')}</trkseg><trkseg>{point.format('trkpt')}</trkseg></trk>"
        f"<trk><trkseg>{point.format('trkpt')}</trkseg></trk></gpx>"
    )
    assert len(parse_gpx(text.encode(), "ride.gpx").time) == 3


def test_what_a_point_lacks_is_not_a_number_and_times_of_other_zones_are_the_same_moments() -> None:
    read = parse_gpx(
        points(
            '<trkpt lat="1" lon="2"/>',
            '<trkpt lat="1" lon="2"><time>2026-03-01T08:00:00Z</time></trkpt>',
            '<trkpt lat="1" lon="2"><time> 2026-03-01T09:00:00.500+01:00 </time></trkpt>',
            '<trkpt lat="1" lon="2"><time>2026-03-01T08:00:00</time></trkpt>',
        ),
        "ride.gpx",
    )
    assert np.isnan(read.elevation).all()
    assert np.isnan(read.speed).all()
    np.testing.assert_array_equal(read.time - read.time[1], [np.nan, 0.0, 0.5, 0.0])


def test_elevations_inside_extensions_are_not_those_of_the_point() -> None:
    row = '<trkpt lat="1" lon="2"><ele>3</ele><extensions><x:ele xmlns:x="u">9</x:ele></extensions></trkpt>'
    assert parse_gpx(points(row), "ride.gpx").elevation.tolist() == [3.0]


@pytest.mark.parametrize(
    ("row", "place", "said"),
    [
        ('<trkpt lat="abc" lon="2"/>', "2:1", 'lat is "abc", allowed are -90 to 90 degrees'),
        ('<trkpt lat="90.1" lon="2"/>', "2:1", "allowed are -90 to 90"),
        ('<trkpt lat="nan" lon="2"/>', "2:1", 'lat is "nan"'),
        ('<trkpt lat="1_0" lon="2"/>', "2:1", 'lat is "1_0"'),
        ('<trkpt lat="1" lon="-1e999"/>', "2:1", "allowed are -180 to 180"),
        ('<trkpt lon="2"/>', "2:1", "has no lat"),
        ('<trkpt lat="1" lon="2"><ele>3 m</ele></trkpt>', "2:24", 'the elevation is "3 m"'),
        ('<trkpt lat="1" lon="2"><ele>inf</ele></trkpt>', "2:24", "allowed are -1000 to 20000 m"),
        ('<trkpt lat="1" lon="2"><ele/></trkpt>', "2:24", 'the elevation is ""'),
        ('<trkpt lat="1" lon="2"><time>yesterday</time></trkpt>', "2:24", 'the time is "yesterday"'),
        ('<trkpt lat="1" lon="2"><time>2026-13-01T08:00:00Z</time></trkpt>', "2:24", 'the time is "2026-13-01T'),
        ('<trkpt lat="1" lon="2"><speed>-1</speed></trkpt>', "2:24", 'the speed is "-1"'),
        ('<trkpt lat="1" lon="2"><trkpt lat="1" lon="2"/></trkpt>', "2:24", "stands inside another"),
    ],
)
def test_a_wrong_figure_is_told_where_it_stands(row: str, place: str, said: str) -> None:
    (finding,) = wrong(points(row))
    assert finding.startswith(f"ride.gpx:{place}: GPX-")
    assert said in finding


def test_all_mistakes_are_told_at_once_but_not_a_novel() -> None:
    assert len(wrong(points(*['<trkpt lat="x" lon="2"/>'] * 3))) == 3
    many = wrong(points(*['<trkpt lat="x" lon="2"/>'] * 1000))
    assert len(many) == FINDING_LIMIT + 1
    assert "MORE" in many[-1]


@pytest.mark.parametrize(
    ("text", "rule", "said"),
    [
        ('<!DOCTYPE gpx [<!ENTITY a "b">]><gpx>&a;</gpx>', "GPX-DOCTYPE", "document type or entity"),
        ('<!DOCTYPE gpx SYSTEM "file:///etc/passwd"><gpx/>', "GPX-DOCTYPE", "document type or entity"),
        ("<gpx>&undeclared;</gpx>", "GPX-XML", "undefined entity"),
        ("", "GPX-XML", "no element found"),
        ("not xml", "GPX-XML", "syntax error"),
        ("<gpx><trk>", "GPX-XML", "no element found"),
        ("<kml/>", "GPX-XML", 'begins with "kml"'),
        ("<gpx/>", "GPX-EMPTY", "no track point"),
        ('<gpx><rte><rtept lat="1" lon="1"/></rte></gpx>', "GPX-EMPTY", "routes and waypoints are planned"),
        ('<?xml version="1.0" encoding="utf-7"?><gpx/>', "GPX-XML", 'the encoding "utf-7" is not read'),
        ('<?xml version="1.0" encoding="rot13"?><gpx/>', "GPX-XML", 'the encoding "rot13" is not read'),
        ("<gpx>" + "<a>" * 40, "GPX-LIMIT", "nest at most 30 deep"),
    ],
)
def test_what_is_no_ride_or_dangerous_is_refused(text: str, rule: str, said: str) -> None:
    (finding,) = wrong(text.encode())
    assert f" {rule} error: " in finding
    assert said in finding


def test_a_declared_entity_is_refused_before_it_is_used_however_often() -> None:
    lol = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 10))
    (finding,) = wrong(f'<!DOCTYPE gpx [<!ENTITY l0 "lol">{lol}]><gpx>&l9;</gpx>'.encode())
    assert "1:1" in finding


def test_a_comment_of_many_megabytes_is_refused_and_not_read_again_and_again() -> None:
    (finding,) = wrong(b"<gpx><!--" + b"x" * 12_000_000 + b"--></gpx>")
    assert "a tag or comment has more than 4,000,000 bytes" in finding


@pytest.mark.parametrize("kind", ["absent", "folder", "nul"])
def test_a_file_that_cannot_be_read_is_a_finding(kind: str, tmp_path: Path) -> None:
    path = {"absent": tmp_path / "no.gpx", "folder": tmp_path, "nul": Path("a\0b")}[kind]
    with pytest.raises(FindingsError, match="GPX-FILE"):
        load_gpx(path)


def test_other_encodings_that_xml_knows_are_read() -> None:
    text = points('<trkpt lat="1" lon="2"><name>Höhe</name></trkpt>').decode()
    for encoding in ("utf-16", "iso-8859-1"):
        head = f'<?xml version="1.0" encoding="{encoding}"?>'
        assert len(parse_gpx((head + text).encode(encoding), "ride.gpx").time) == 1


SOUND = ridden(150.0, height=hills).gpx()
#: What 200 texts are made hostile with.
PIECES = (
    "<", ">", "&", "&#0;", "&#x110000;", "&amp;", "]]>", "<![CDATA[", "<!--", "-->", "<?xml?>", "<!DOCTYPE a>",
    "\0", "\x1b[2J", 'lat="', "nan", "1e999", "-", "\u202e", "\ufeff", "<trkpt>", "</trkpt>", "<ele>", "</gpx>",
    "<trkpt lat='1' lon='1'>", " " * 300, "9" * 5000, "xmlns:x='y'", "x:",
    "<time>0001-01-01T00:00:00+14:00</time>", "<time>9999-12-31T23:59:59-14:00</time>",
)  # fmt: skip
FINDING = re.compile(r"ride\.gpx:\d+:\d+: (GPX-[A-Z]+|MORE) error: [^\x00-\x1f]+")


@pytest.mark.parametrize("seed", range(200))
def test_no_text_however_hostile_ends_in_anything_but_points_or_findings(seed: int) -> None:
    draw = random.Random(seed)
    text = SOUND
    for _ in range(draw.randint(1, 4)):
        begin = draw.randrange(len(text))
        end = begin + draw.choice((0, 0, 1, 7, 200))
        text = text[:begin] + draw.choice(PIECES) + text[end:]
    raw = bytearray(text.encode())
    for _ in range(draw.choice((0, 0, 1, 5))):
        raw[draw.randrange(len(raw))] = draw.randrange(256)
    found: list[str] = []
    try:
        read = parse_gpx(bytes(raw), "ride.gpx")
    except FindingsError as error:
        found = [str(finding) for finding in error.findings]
    sound = bool(found) or (len(read.time) >= 1 and bool(np.isfinite(read.latitude).all()))
    assert sound
    assert all(FINDING.fullmatch(text) for text in found)
