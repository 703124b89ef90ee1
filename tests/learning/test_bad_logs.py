"""Bad logs: every mistake is a finding at its line and column, or is told; never a traceback."""

from __future__ import annotations

import random
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from made_logs import (
    brake_rows,
    climb_rows,
    coast_down_runs,
    cooling_rows,
    energy_rows,
    head,
    plate_rows,
    ridden_in,
    static_rows,
    tread_rows,
    write,
)

from configopt.errors import Finding, FindingsError
from configopt.learning.learn import READERS, Lesson, learn
from configopt.learning.log_reading import read_log
from configopt.learning.reading import Reads
from configopt.scenario.case import Case, load

SCENARIO = Path(__file__).parents[2] / "scenarios" / "upland-wardens.yaml"
SURFACE = "loose-gravel"


@cache
def case() -> Case:
    return load(SCENARIO)


@pytest.fixture(scope="module")
def good(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """A good log of every kind."""
    one = ridden_in(case(), tmp_path_factory.mktemp("good"))
    tires = [one.packages[position].mount.tire.id for position in ("front", "rear")]
    return {
        "coast-down": head("coast-down", surface=SURFACE, drive_drag="0 N")
        + coast_down_runs(one, SURFACE, pairs=3, fast=12.0, slow=3.0, noise=0.05),
        "climb": head("climb", surface="wet-grass") + climb_rows(one, "wet-grass"),
        "brake": head("brake", surface=SURFACE) + brake_rows(one, SURFACE),
        "cooling": head("cooling", position="front") + cooling_rows(one, "front", noise=1.0),
        "ground": head("ground", surface="lete-sand") + plate_rows(case(), "lete-sand", noise=0.1),
        "static": head("static") + static_rows(case(), one),
        "energy": head("energy", surface=SURFACE) + energy_rows(one, SURFACE),
        "tread": head("tread") + tread_rows(case(), tires),
    }


def reads_of(path: Path) -> Reads:
    log = read_log(path)
    return READERS[log.kind.name](log, case())


def findings_of(path: Path) -> list[Finding]:
    with pytest.raises(FindingsError) as raised:
        reads_of(path)
    assert all(finding.path == str(path) for finding in raised.value.findings)
    return list(raised.value.findings)


def place_of(text: str, line_of: str, cell: str) -> tuple[int, int]:
    """Line and column of a cell, found in the text by itself."""
    for number, line in enumerate(text.splitlines(), 1):
        if line == line_of:
            return number, line.index(cell) + 1
    raise AssertionError(line_of)


COAST = """\
# kind: coast-down
# when: 2026-05-14
# surface: loose-gravel
time (s),speed (km/h),run,way
0,30,1,out
1,28,1,out
2,26,1,out
"""


@pytest.mark.parametrize(
    ("old", "new", "line", "column", "rule", "words"),
    [
        ("time (s),speed (km/h)", "time (s),pace (km/h)", 4, 10, "LOG-COLUMN", 'no column "pace"'),
        ("time (s),speed (km/h)", "time,speed (km/h)", 4, 1, "LOG-UNIT", 'the column "time" has no unit'),
        ("speed (km/h)", "speed (km)", 4, 10, "LOG-UNIT", '"km" is no unit of'),
        ("speed (km/h)", "speed ()", 4, 10, "LOG-UNIT", '"" is no unit of'),
        ("1,28,1,out", "1,NaN,1,out", 6, 3, "LOG-NUMBER", "no finite number"),
        ("1,28,1,out", "1,inf,1,out", 6, 3, "LOG-NUMBER", "no finite number"),
        ("1,28,1,out", "1,1e999,1,out", 6, 3, "LOG-NUMBER", "no finite number"),
        ("1,28,1,out", "1,fast,1,out", 6, 3, "LOG-NUMBER", '"fast" is no number'),
        ("1,28,1,out", "1,2_8,1,out", 6, 3, "LOG-NUMBER", '"2_8"'),
        ("1,28,1,out", "1,,1,out", 6, 3, "LOG-NUMBER", "the cell is empty"),
        ("1,28,1,out", "1,-28,1,out", 6, 3, "LOG-NUMBER", "-28"),
        ("1,28,1,out", "1,28,,out", 6, 6, "LOG-CELL", '"run" is empty'),
        ("1,28,1,out", "1,28,1,", 6, 8, "LOG-CELL", '"way" is empty'),
        ("1,28,1,out", "1,28,1,left", 6, 8, "LOG-CELL", '"left" is no way'),
        ("2,26,1,out", "1,26,1,out", 7, 1, "LOG-TIME", "does not go on"),
        ("2,26,1,out", "0.5,26,1,out", 7, 1, "LOG-TIME", "does not go on"),
        ("1,28,1,out", "1,28,1,out,7", 6, 1, "SHEET-SYNTAX", "5 cells"),
        ("1,28,1,out", '1,"28,1,out', 6, 1, "SHEET-SYNTAX", "not readable as CSV"),
        ("kind: coast-down", "kind: coast-dwn", 1, 1, "LOG-HEAD", 'no kind "coast-dwn"'),
        ("kind: coast-down", "sort: coast-down", 1, 1, "LOG-HEAD", "does not say which kind"),
        ("when: 2026-05-14", "when: 14 May", 2, 1, "LOG-HEAD", '"14 May" is no day'),
        ("# when: 2026-05-14\n", "", 1, 1, "LOG-HEAD", 'lacks "when"'),
        ("when: 2026-05-14", "when:", 2, 1, "LOG-HEAD", '"when" says nothing'),
        ("surface: loose", "surfce: loose", 3, 1, "LOG-HEAD", 'no key "surfce"'),
        ("surface: loose-gravel", "surface: cheese", 3, 1, "REFERENCE", 'no surface "cheese"'),
        ("# surface: loose-gravel\n", "", 1, 1, "LOG-HEAD", 'lacks "surface"'),
        ("surface: loose-gravel", "vehicle: tram\n# surface: loose-gravel", 3, 1, "REFERENCE", 'no vehicle "tram"'),
        ("surface: loose-gravel", "rider_mass: 80\n# surface: loose-gravel", 3, 1, "LOG-HEAD", "rider_mass"),
        ("surface: loose-gravel", "rider_mass: -80 kg\n# surface: loose-gravel", 3, 1, "LOG-HEAD", "rider_mass"),
        ("surface: loose-gravel", "final_drive: x\n# surface: loose-gravel", 3, 1, "REFERENCE", "final drive"),
        ("surface: loose-gravel", "tire_front: x\n# surface: loose-gravel", 3, 1, "REFERENCE", '"x"'),
        ("surface: loose-gravel", "pressure_rear: 2 m\n# surface: loose-gravel", 3, 1, "LOG-HEAD", "pressure_rear"),
        ("surface: loose-gravel", "ridden: none.yaml\n# surface: loose-gravel", 3, 1, "REFERENCE", "there is no file"),
        ("surface: loose-gravel", "kind: climb\n# surface: loose-gravel", 3, 1, "LOG-HEAD", "a second time"),
        ("time (s),speed (km/h),run,way", "time (s),speed (km/h),run,run", 4, 1, "LOG-COLUMN", "two columns"),
        ("time (s),speed (km/h),run,way", "time (s),speed (km/h),speed (m/s),way", 4, 23, "LOG-COLUMN", "here twice"),
    ],
)
def test_a_mistake_is_found_at_its_line_and_column(
    old: str, new: str, line: int, column: int, rule: str, words: str, tmp_path: Path
) -> None:
    assert COAST.count(old) == 1
    path = write(tmp_path / "bad.csv", COAST.replace(old, new))
    with pytest.raises(FindingsError) as raised:
        reads_of(path)
    found = [(one.line, one.column, one.rule) for one in raised.value.findings if words in one.message]
    assert found == [(line, column, rule)], raised.value.findings
    assert all(finding.severity == "error" and finding.fix for finding in raised.value.findings)


def test_every_missing_column_is_found(tmp_path: Path) -> None:
    path = write(tmp_path / "bad.csv", "# kind: coast-down\n# when: 2026-05-14\nrun\n1\n")
    found = findings_of(path)
    assert [(one.line, one.rule) for one in found] == [(3, "LOG-COLUMN")] * 3
    assert {word for one in found for word in ("time", "speed", "way") if f'"{word}"' in one.message} == {
        "time",
        "speed",
        "way",
    }


def test_all_mistakes_of_all_logs_come_at_once(good: dict[str, str], tmp_path: Path) -> None:
    one = write(tmp_path / "one.csv", COAST.replace("1,28", "1,x").replace("2,26", "2,y"))
    two = write(tmp_path / "two.csv", good["climb"].replace("yes", "maybe"))
    three = write(tmp_path / "three.csv", good["tread"])
    with pytest.raises(FindingsError) as raised:
        learn(case(), [one, three, two])
    assert {Path(found.path).name for found in raised.value.findings} == {"one.csv", "two.csv"}
    assert [found.line for found in raised.value.findings if found.path == str(one)] == [6, 7]


def test_a_million_wrong_cells_do_not_print_a_novel(tmp_path: Path) -> None:
    rows = {"climb": "grade (%),held\n" + "x,perhaps\n" * 2_000}
    rows["coast-down"] = "time (s),speed (km/h),run,way\n" + "x,y,,\n" * 2_000
    for kind, text in rows.items():
        assert len(findings_of(write(tmp_path / f"{kind}.csv", head(kind, surface=SURFACE) + text))) < 60


@pytest.mark.parametrize(
    ("content", "rule"),
    [
        (b"", "SHEET-EMPTY"),
        (b"\n\n\n", "SHEET-EMPTY"),
        (b"# kind: climb\n", "SHEET-EMPTY"),
        (b"\xff\xfea\x00", "SHEET-ENCODING"),
        (b"PK\x03\x04rest", "SHEET-ENCODING"),
        (b"# kind: climb\ngrade,h\xe4ld\n", "SHEET-ENCODING"),
        (b"# kind: climb\n\0\n", "SHEET-ENCODING"),
        (bytes(range(256)) * 40, "SHEET-ENCODING"),
    ],
)
def test_what_is_no_table_is_found(content: bytes, rule: str, tmp_path: Path) -> None:
    path = tmp_path / "bad.csv"
    path.write_bytes(content)
    assert [found.rule for found in findings_of(path)] == [rule]


def test_a_folder_and_a_missing_file_are_found(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "missing.csv"):
        assert [found.rule for found in findings_of(path)] == ["FILE"]


def test_a_log_without_rows_is_found(tmp_path: Path) -> None:
    text = head("climb", surface=SURFACE) + "grade (%),held\n"
    assert [(one.line, one.rule) for one in findings_of(write(tmp_path / "bad.csv", text))] == [(4, "LOG-EMPTY")]


def test_a_huge_cell_is_found_at_its_row(tmp_path: Path) -> None:
    for length, rule in ((3_000, "SHEET-LIMIT"), (200_000, "SHEET-SYNTAX")):
        path = write(tmp_path / "bad.csv", COAST.replace("1,28,1,out", f"1,28,{'7' * length},out"))
        assert [(one.line, one.rule) for one in findings_of(path)] == [(6, rule)]


def test_the_same_log_twice_is_found(good: dict[str, str], tmp_path: Path) -> None:
    one, two = (write(tmp_path / name, good["tread"]) for name in ("one.csv", "two.csv"))
    with pytest.raises(FindingsError) as raised:
        learn(case(), [one, two])
    assert [(found.path, found.rule) for found in raised.value.findings] == [(str(two), "LOG-TWICE")]


def other_writing(text: str, how: str) -> bytes:
    """The same log as other programs write it."""
    lines = text.splitlines()
    table = next(number for number, line in enumerate(lines) if not line.startswith("#"))
    if how == "semicolons and decimal commas":
        changed = [line.replace(".", "\0").replace(",", ";").replace("\0", ",") for line in lines[table:]]
        return "\n".join([*lines[:table], *changed, ""]).encode()
    if how == "tabs":
        return "\n".join([*lines[:table], *(line.replace(",", "\t") for line in lines[table:]), ""]).encode()
    if how == "byte order mark":
        return b"\xef\xbb\xbf" + text.encode()
    if how == "lines as on other systems":
        return text.replace("\n", "\r\n").encode()
    if how == "a spreadsheet's padding":
        padded = [f"{line},,," if number < table else f"{line},," for number, line in enumerate(lines)]
        return "\n".join([*padded, ",,,,", ""]).encode()
    raise AssertionError(how)


@pytest.mark.parametrize(
    "how",
    [
        "semicolons and decimal commas",
        "tabs",
        "byte order mark",
        "lines as on other systems",
        "a spreadsheet's padding",
    ],
)
@pytest.mark.parametrize("kind", ["coast-down", "ground"])
def test_other_ways_of_writing_give_the_same_readings(
    kind: str, how: str, good: dict[str, str], tmp_path: Path
) -> None:
    plain = reads_of(write(tmp_path / "plain.csv", good[kind])).readings
    path = tmp_path / "other.csv"
    path.write_bytes(other_writing(good[kind], how))
    other = reads_of(path).readings
    assert [(one.line, one.value, one.uncertainty) for one in other] == [
        (one.line, one.value, one.uncertainty) for one in plain
    ]
    assert plain


def test_the_place_of_a_mistake_is_right_in_other_ways_of_writing(tmp_path: Path) -> None:
    """Line and column count in the file as it is written."""
    bad = COAST.replace("1,28,1,out", "1,x8,1,out")
    for how, column in (("semicolons and decimal commas", 3), ("byte order mark", 3), ("lines as on other systems", 3)):
        path = tmp_path / "bad.csv"
        path.write_bytes(other_writing(bad, how))
        assert [(one.line, one.column) for one in findings_of(path)] == [(6, column)]


def told_of(path: Path) -> str:
    return " | ".join(told.text for told in reads_of(path).told)


def of_run(text: str, keep: Callable[[list[str]], bool]) -> str:
    """A coast-down log with only some of its rows."""
    lines = text.splitlines()
    table = next(number for number, line in enumerate(lines) if line.startswith("time"))
    return "\n".join([*lines[: table + 1], *(line for line in lines[table + 1 :] if keep(line.split(","))), ""])


def test_runs_one_way_only_are_told_and_not_used(good: dict[str, str], tmp_path: Path) -> None:
    path = write(tmp_path / "log.csv", of_run(good["coast-down"], lambda cells: cells[3] == "out"))
    reads = reads_of(path)
    assert reads.readings == ()
    assert "run 2 has no usable run back" in told_of(path)


def test_runs_that_are_too_short_are_told_and_not_used(good: dict[str, str], tmp_path: Path) -> None:
    path = write(tmp_path / "log.csv", of_run(good["coast-down"], lambda cells: float(cells[0]) < 3.0))
    assert reads_of(path).readings == ()
    assert "too short" in told_of(path)


def test_a_windy_test_is_told_and_not_used(good: dict[str, str], tmp_path: Path) -> None:
    path = write(tmp_path / "log.csv", good["coast-down"].replace("# surface", "# wind: 5 m/s\n# surface"))
    assert reads_of(path).readings == ()
    assert "too windy" in told_of(path)


def test_a_gap_is_told_and_changes_nothing_beyond_the_noise(good: dict[str, str], tmp_path: Path) -> None:
    whole = reads_of(write(tmp_path / "whole.csv", good["coast-down"])).readings[0]
    path = write(tmp_path / "gap.csv", of_run(good["coast-down"], lambda cells: not 6.0 < float(cells[0]) < 10.0))
    gap = reads_of(path).readings[0]
    assert "has a gap of" in told_of(path)
    assert gap.value == pytest.approx(whole.value, abs=3.0 * np.hypot(gap.uncertainty, whole.uncertainty))


def test_ten_and_a_thousand_readings_a_second_give_the_same(tmp_path: Path) -> None:
    one = ridden_in(case(), tmp_path)
    found = []
    for rate in (10.0, 1000.0):
        rows = coast_down_runs(one, SURFACE, pairs=3, fast=12.0, slow=3.0, rate=rate, noise=0.1, seed=int(rate))
        path = write(tmp_path / f"{rate}.csv", head("coast-down", surface=SURFACE, drive_drag="0 N") + rows)
        found.append(reads_of(path).readings[0])
    few, many = found
    assert many.value == pytest.approx(few.value, abs=3.0 * np.hypot(few.uncertainty, many.uncertainty))
    assert many.uncertainty <= 1.2 * few.uncertainty


def test_unsorted_times_of_a_cooling_rotor_are_found(good: dict[str, str], tmp_path: Path) -> None:
    lines = good["cooling"].splitlines()
    lines[8], lines[9] = lines[9], lines[8]
    path = write(tmp_path / "log.csv", "\n".join(lines) + "\n")
    assert [(one.line, one.column, one.rule) for one in findings_of(path)] == [(10, 1, "LOG-TIME")]


@pytest.mark.parametrize(
    ("kind", "old", "new", "rule"),
    [
        ("static", "heron-moor-80-100-21", "heron-mor-80", "REFERENCE"),
        ("tread", "heron-moor-80-100-21", "no-such-tire", "REFERENCE"),
        ("cooling", "position: front", "position: middle", "LOG-HEAD"),
        ("energy", "1.0,", "0,", "LOG-NUMBER"),
        ("climb", "yes", "perhaps", "LOG-CELL"),
        ("brake", "grip", "tiredness", "LOG-CELL"),
    ],
)
def test_what_a_kind_does_not_know_is_found(
    kind: str, old: str, new: str, rule: str, good: dict[str, str], tmp_path: Path
) -> None:
    text = good[kind].replace(old, new)
    assert text != good[kind]
    found = findings_of(write(tmp_path / "bad.csv", text))
    assert {one.rule for one in found} == {rule}
    first = next(number for number, line in enumerate(text.splitlines(), 1) if new in line)
    line = text.splitlines()[first - 1]
    assert (found[0].line, found[0].column) == (first, 1 if line.startswith("#") else line.index(new) + 1)


def mutated(text: str, rng: random.Random) -> str:
    """One or two random changes: characters, cells, lines."""
    cells = ["", "x", "-1", "0", "1e300", "1e-300", "nan", '"', "1;2", "9" * 30, "yes", "é", "\t", "1,5", "2026-01-01"]
    for _ in range(rng.randint(1, 2)):
        lines = text.split("\n")
        number = rng.randrange(len(lines))
        what = rng.choice(["cell", "cell", "cell", "drop", "double", "swap", "character", "cut"])
        if what == "cell":
            parts = lines[number].split(",")
            parts[rng.randrange(len(parts))] = rng.choice(cells)
            lines[number] = ",".join(parts)
        elif what == "drop":
            del lines[number]
        elif what == "double":
            lines.insert(number, lines[number])
        elif what == "swap":
            other = rng.randrange(len(lines))
            lines[number], lines[other] = lines[other], lines[number]
        elif what == "character" and lines[number]:
            at = rng.randrange(len(lines[number]))
            lines[number] = lines[number][:at] + rng.choice('#,";:().-e0z\u2028') + lines[number][at + 1 :]
        elif what == "cut":
            lines = lines[: number + 1]
        text = "\n".join(lines)
    return text


def require_sane(path: Path) -> bool:
    """Findings with a place inside the file, or finite readings; whether there were readings."""
    try:
        lesson: Lesson = learn(case(), [path])
    except FindingsError as error:
        size = len(path.read_text(encoding="utf-8").splitlines())
        assert all(0 <= finding.line <= max(size, 1) and finding.message for finding in error.findings), error.findings  # noqa: PT017
        return False
    for judged in lesson.combined.judged:
        assert np.isfinite([judged.reading.value, judged.reading.uncertainty, judged.before, judged.off]).all(), judged
    for learned in lesson.combined.learned:
        assert np.isfinite(learned.after).all(), learned
    lesson.corrected  # noqa: B018 - what is written can be read
    return bool(lesson.combined.judged)


KINDS = ["coast-down", "climb", "brake", "cooling", "ground", "static", "energy", "tread"]


@pytest.mark.parametrize(
    ("kind", "count"),
    [
        *((kind, 16) for kind in KINDS),
        *(pytest.param(kind, 200, marks=pytest.mark.slow) for kind in KINDS),
    ],
)
def test_random_changes_of_a_good_log_end_cleanly(kind: str, count: int, good: dict[str, str], tmp_path: Path) -> None:
    rng = random.Random(f"{kind} {count}")
    used = 0
    for number in range(count):
        text = mutated(good[kind], rng)
        path = write(tmp_path / "log.csv", text)
        try:
            used += require_sane(path)
        except Exception as error:
            kept = write(tmp_path / f"broken-{number}.csv", text)
            raise AssertionError(f"change {number} of {kind} ({kept}): {error!r}") from error
    assert 0 < used < count
