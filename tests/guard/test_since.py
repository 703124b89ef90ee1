"""What a change did: reported exactly as by two whole checks, though only what it can touch is decided again."""

from __future__ import annotations

import random
import re
import shutil
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import pytest
import yaml
from decision_project import DECISION
from edits import entry_span, scale_prices, set_key, take_away

from configopt.errors import Finding
from configopt.guard.checking import Check, check_paths
from configopt.guard.since import _Text, decide_touched, new_findings
from configopt.guard.verdict import Verdict, judge

pytestmark = pytest.mark.usefixtures("no_catalog_rules")
#: Changes that are tried, and of them the quick ones.
CHANGES, QUICK = 200, 3
_FAMILIES = ("tires", "rims", "hubs", "rotors", "inners", "pads", "calipers", "spokes")
_NUMBER = re.compile(r"^( +(?:- )?(?!id|name|size)[a-z_]+: )([0-9.]+)(.*)$")


@dataclass
class Counting:
    """Decides, and counts how often."""

    times: int = 0
    seen: list[Verdict] = field(default_factory=list)

    def __call__(self, *case: object, **more: object) -> Verdict:
        self.times += 1
        self.seen.append(judge(*case, **more))  # type: ignore[arg-type]
        return self.seen[-1]


def _ids(path: Path) -> list[str]:
    return [str(part["id"]) for part in yaml.safe_load(path.read_text())["parts"]]


def _another_figure(folder: Path, draw: random.Random) -> str:
    path = folder / "catalogs" / f"{draw.choice(_FAMILIES)}.yaml"
    lines = path.read_text().splitlines(keepends=True)
    rows = [row for row, line in enumerate(lines) if _NUMBER.match(line)]
    row = draw.choice(rows)
    match = _NUMBER.match(lines[row])
    assert match is not None
    value = float(match[2]) * draw.choice((0.5, 0.8, 0.97, 1.03, 1.3, 2.0))
    lines[row] = f"{match[1]}{value:.6g}{match[3]}\n"
    path.write_text("".join(lines))
    return "figure"


def _cheaper_or_dearer(folder: Path, draw: random.Random) -> str:
    path = folder / "catalogs" / f"{draw.choice(_FAMILIES)}.yaml"
    scale_prices(path, draw.choice(_ids(path)), draw.choice((0.5, 0.9, 1.1, 1.5, 4.0)))
    return "price"


def _one_part_less(folder: Path, draw: random.Random) -> str:
    path = folder / "catalogs" / f"{draw.choice(_FAMILIES)}.yaml"
    take_away(path, draw.choice(_ids(path)))
    return "gone"


def _one_part_more(folder: Path, draw: random.Random) -> str:
    path = folder / "catalogs" / f"{draw.choice(_FAMILIES)}.yaml"
    text, name = path.read_text(), draw.choice(_ids(path))
    begin, end = entry_span(text, name)
    copy = text[begin:end].replace(f"id: {name}\n", f"id: {name}-b\n")
    mass = re.compile(r"(\n    mass: )([0-9.]+)")
    copy = mass.sub(lambda match: f"{match[1]}{float(match[2]) * draw.choice((0.7, 0.95, 1.0, 1.2)):.4g}", copy)
    path.write_text(text[:end].rstrip("\n") + "\n" + copy.rstrip("\n") + "\n" + text[end:])
    return "new"


def _words_only(folder: Path, draw: random.Random) -> str:
    path = folder / "catalogs" / f"{draw.choice(_FAMILIES)}.yaml"
    set_key(path, draw.choice(_ids(path)), "name", "Something else")
    return "words"


def _another_limit(folder: Path, draw: random.Random) -> str:
    path = folder / "scenarios" / "upland-wardens.yaml"
    text = path.read_text()
    matches = list(re.finditer(r"at_(?:least|most): ([0-9.]+)", text))
    match = draw.choice(matches)
    value = float(match[1]) * draw.choice((0.8, 0.98, 1.02, 1.2))
    path.write_text(text[: match.start(1)] + f"{value:.5g}" + text[match.end(1) :])
    return "limit"


def _another_scenario(folder: Path, draw: random.Random) -> str:
    path = folder / "scenarios" / "upland-wardens.yaml"
    old, new = draw.choice(
        (
            ("title: ", "title: New "),
            ("mass: 1 per kg", "mass: 1.4 per kg"),
            ("cargo_mass: 12 kg", "cargo_mass: 9 kg"),
            ("quantity: 120", "quantity: 500"),
            ("share: 0.20", "share: 0.30"),
            ("surface: wet-peat", "surface: wet-pete"),
            ("    baseline:\n      final_drive: drive-9-2", "    baseline:\n      final_drive: drive-9"),
        )
    )
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new, 1))
    return "scenario"


def _another_decision(folder: Path, draw: random.Random) -> str:
    path = folder / DECISION
    text = path.read_text()
    old, new = draw.choice(
        (
            (r"why: .*", "why: another reason"),
            (r"  why: (.*)", r"  why: \1\n  accepted_loss: 0.05"),
            (r"pressure: [0-9]+ kPa", "pressure: 205 kPa"),
            (r"aim: .*", "aim: 1.0"),
        )
    )
    changed, count = re.subn(old, new, text, count=1)
    assert count == 1
    path.write_text(changed)
    return "decision"


EDITS: tuple[Callable[[Path, random.Random], str], ...] = (
    *(_another_figure, _another_figure, _another_figure, _cheaper_or_dearer, _one_part_less, _one_part_more),
    *(_words_only, _another_limit, _another_scenario, _another_decision),
)


def _whole(folder: Path) -> Check:
    check = check_paths([folder])
    check.decide(judge)
    return check


def _named(findings: list[Finding], folder: Path) -> list[Finding]:
    """Findings with their paths from the folder."""
    return [
        Finding(str(Path(one.path).relative_to(folder)), one.line, one.column, one.rule, one.severity, one.message)
        for one in findings
    ]


@pytest.fixture(scope="module")
def before(recorded: Path) -> Check:
    """The whole check of what there was."""
    return _whole(recorded)


def _compare(recorded: Path, folder: Path, before: Check, number: int) -> tuple[str, int, list[Finding]]:
    draw = random.Random(number)
    shutil.copytree(recorded, folder)
    kind = draw.choice(EDITS)(folder, draw)
    expected = new_findings(_whole(folder), before, folder, recorded)
    counting = Counting()
    now, earlier = check_paths([folder]), check_paths([recorded])
    decide_touched(now, earlier, folder, recorded, counting)
    found = new_findings(now, earlier, folder, recorded)
    assert _named(found, folder) == _named(expected, folder)
    shutil.rmtree(folder)
    return kind, counting.times, found


@pytest.mark.parametrize(
    "number", [pytest.param(n, marks=() if n < QUICK else pytest.mark.slow) for n in range(CHANGES)]
)
def test_what_a_change_did_is_what_two_whole_checks_say(
    recorded: Path, tmp_path: Path, before: Check, number: int
) -> None:
    kind, times, found = _compare(recorded, tmp_path / "changed", before, number)
    if kind == "words":
        assert (times, found) == (0, [])


def test_every_kind_of_change_is_tried(recorded: Path, tmp_path: Path) -> None:
    kinds: Counter[str] = Counter()
    for number in range(CHANGES):
        draw = random.Random(number)
        kinds[draw.choice(EDITS).__name__] += 1
    assert set(kinds) == {edit.__name__ for edit in EDITS}
    assert min(kinds.values()) >= 10


def test_what_was_wrong_before_is_not_what_the_change_did(recorded: Path, tmp_path: Path) -> None:
    old, new = tmp_path / "old", tmp_path / "new"
    shutil.copytree(recorded, old)
    path = Path("catalogs") / "tires.yaml"
    set_key(old / path, _ids(old / path)[0], "mass", "heavy")
    shutil.copytree(old, new)
    text = (new / path).read_text()
    (new / path).write_text("# moved down\n" + text)
    set_key(new / path, _ids(new / path)[1], "lug_depth", "deep")
    found = new_findings(check_paths([new]), check_paths([old]), new, old)
    assert [finding.rule for finding in found] == ["QUANTITY"]
    assert '"deep"' in found[0].message


def test_an_error_at_another_entry_is_new_though_its_line_says_the_same(recorded: Path, tmp_path: Path) -> None:
    old, new = tmp_path / "old", tmp_path / "new"
    shutil.copytree(recorded, old)
    path = Path("catalogs") / "tires.yaml"
    first, second = _ids(old / path)[:2]
    right = re.search(r"    lug_depth: (.*)", (old / path).read_text())
    assert right is not None
    set_key(old / path, first, "lug_depth", "deep")
    shutil.copytree(old, new)
    set_key(new / path, first, "lug_depth", right[1])
    line = set_key(new / path, second, "lug_depth", "deep")
    found = new_findings(check_paths([new]), check_paths([old]), new, old)
    assert [(finding.rule, finding.line) for finding in found] == [("QUANTITY", line)]


def test_one_old_finding_accounts_for_one_new_one_and_for_no_other_key(recorded: Path, tmp_path: Path) -> None:
    old, new = tmp_path / "old", tmp_path / "new"
    shutil.copytree(recorded, old)
    path = Path("catalogs") / "tires.yaml"
    first, second = _ids(old / path)[:2]

    def without(folder: Path, identifier: str, key: str) -> None:
        text = (folder / path).read_text()
        begin, end = entry_span(text, identifier)
        entry, count = re.subn(rf"    {key}: .*\n", "", text[begin:end], count=1)
        assert count == 1
        (folder / path).write_text(text[:begin] + entry + text[end:])

    shutil.copytree(recorded, new)
    without(old, first, "mass")
    without(new, first, "tubeless")
    without(new, second, "mass")
    found = new_findings(check_paths([new]), check_paths([old]), new, old)
    assert sorted(finding.message for finding in found) == [
        'the key "mass" is missing',
        'the key "tubeless" is missing',
    ]


def test_a_vehicle_called_like_a_key_of_the_scenario_hides_no_change(recorded: Path, tmp_path: Path) -> None:
    old, new = tmp_path / "old", tmp_path / "new"
    shutil.copytree(recorded, old)
    for name in (DECISION, "scenarios/upland-wardens.yaml"):
        path = old / name
        path.write_text(path.read_text().replace("warden-two-wheeler", "aims"))
    shutil.copytree(old, new)
    scenario = new / "scenarios" / "upland-wardens.yaml"
    scenario.write_text(scenario.read_text().replace("mass: 1 per kg", "mass: 5 per kg"))
    now, before, counting = check_paths([new]), check_paths([old]), Counting()
    decide_touched(now, before, new, old, counting)
    assert counting.times >= 1


def test_comments_and_empty_lines_do_not_part_a_key_from_its_entry() -> None:
    lines = ["parts:", "  - id: a", "# a comment", "", "    mass: 1 kg", "    prices:", "      - quantity: 1"]
    text = _Text(lines)
    assert text.keys_around(5) == ["mass", "- id: a", "parts"]
    assert text.keys_around(7) == ["- quantity: 1", "prices", "- id: a", "parts"]
    assert text.keys_around(0) == text.keys_around(9) == []
