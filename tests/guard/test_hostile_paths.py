"""A check reads the project and what it is pointed at: no link, path, pipe or name leads it anywhere else."""

from __future__ import annotations

import os
import shutil
import socket
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from unittest import mock

import pytest
from small_project import small_project

from configopt.decisions.choice_file import load_choice
from configopt.decisions.json_source import load_json
from configopt.errors import Finding, FindingsError
from configopt.files import within
from configopt.files.yaml_source import load_yaml
from configopt.guard.checking import check_paths
from configopt.guard.file_rules import RULES

SCENARIO = "scenarios/upland-wardens.yaml"
#: Rules of reading; what rules of catalogs say of so small a project is nothing to these tests.
READING = {rule.id for rule in RULES}
SECRET = "sesame-" + "k7" * 8


class Opened:
    """What the process asks the system to open, list or run while it watches."""

    def __init__(self) -> None:
        self.names: list[str] | None = None
        sys.addaudithook(self._note)  # such a hook stays for the life of the process

    def _note(self, event: str, arguments: tuple[object, ...]) -> None:
        if self.names is None:
            return
        if event in ("open", "os.listdir", "os.scandir"):
            self.names.append(os.path.realpath(str(arguments[0])))
        elif event in ("subprocess.Popen", "os.system", "os.exec", "os.posix_spawn", "os.fork", "socket.connect"):
            self.names.append(event)


WATCH = Opened()


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small sound project; not to be changed."""
    folder = small_project(tmp_path_factory.mktemp("small"))
    (folder / "scenarios" / "upland-wardens.variants.yaml").unlink()
    return folder


@pytest.fixture
def project(made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of it as the working folder, and beside it a folder with a secret."""
    folder = tmp_path / "project"
    shutil.copytree(made, folder)
    outside = tmp_path / "outside"
    shutil.copytree(folder / "catalogs", outside / "catalogs")
    (outside / "secret.yaml").write_text(f"family: {SECRET}\ntitle: {SECRET}\nparts: [{SECRET}]\n")
    monkeypatch.chdir(folder)
    return folder


def checked(*paths: str | Path) -> list[Finding]:
    """What a check finds while it reads; nothing outside was opened or listed, nothing run, and no secret shows."""
    WATCH.names = []
    try:
        findings = sorted(check_paths([Path(path) for path in paths]).findings)
    finally:
        names, WATCH.names = WATCH.names, None
    assert not [name for name in names if "/outside" in name or not name.startswith("/")]
    assert not {"/etc", "/etc/passwd", "/dev/zero"} & set(names)
    assert SECRET not in str(findings)
    return [finding for finding in findings if finding.rule in READING]


def only(findings: list[Finding]) -> Finding:
    (finding,) = findings
    return finding


def test_the_untouched_project_is_sound(project: Path) -> None:
    assert checked() == []


def test_links_that_stay_inside_are_followed(project: Path) -> None:
    (project / "catalogs" / "pads.yaml").rename(project / "kept.yaml")
    (project / "catalogs" / "pads.yaml").symlink_to("../kept.yaml")
    (project / "catalogs").rename(project / "parts")
    (project / "catalogs").symlink_to(project / "parts")
    (project / "scenarios" / "also.yaml").symlink_to(project / SCENARIO)
    assert checked() == []


OUT = {
    "relative": "../../outside/secret.yaml",
    "not there": "../../outside/nothing.yaml",
    "through a folder that is not there": "../../outside/nothing/../secret.yaml",
    "home and away": "../../outside/../outside/secret.yaml",
    "the system's": "/etc/passwd",
    "endless": "/dev/zero",
    "of this process": "/proc/self/environ",
}


NAMES = (
    "catalogs/tires.yaml",
    "catalogs/sources.yaml",
    SCENARIO,
    "scenarios/other.yaml",
    "scenarios/upland-wardens.variants.yaml",
    "scenarios/upland-wardens.decision.yaml",
)


@pytest.mark.parametrize(
    ("name", "target"),
    [*((NAMES[0], target) for target in OUT.values()), *((name, OUT["relative"]) for name in NAMES[1:])],
)
def test_a_link_that_leads_out_is_a_finding_at_the_file_and_nothing_else(project: Path, name: str, target: str) -> None:
    (project / name).unlink(missing_ok=True)
    (project / name).symlink_to(target)
    finding = next(one for one in checked() if one.path == name)
    assert (finding.line, finding.rule, finding.severity) == (0, "PATH", "error")
    # The same words whether there is something or not.
    assert finding.message == "the path leads out of the folders that are checked"
    assert target not in str(finding)


def test_a_chain_of_links_is_left_at_its_first_step_outside(project: Path, tmp_path: Path) -> None:
    (tmp_path / "outside" / "back.yaml").symlink_to(project / SCENARIO)
    (project / "scenarios" / "one.yaml").symlink_to("two.yaml")
    (project / "scenarios" / "two.yaml").symlink_to("../../outside/back.yaml")
    assert {one.path for one in checked()} == {"scenarios/one.yaml", "scenarios/two.yaml"}


@pytest.mark.parametrize("name", ["catalogs", "scenarios"])
def test_a_folder_that_is_a_link_outwards_is_not_entered(project: Path, tmp_path: Path, name: str) -> None:
    shutil.move(project / name, project / f"old-{name}")
    (project / name).symlink_to(tmp_path / "outside")
    assert (name, "PATH") in {(one.path, one.rule) for one in checked()}
    assert only(checked(name)).path == name


@pytest.mark.parametrize("named", ["scenarios/out", "scenarios/out.yaml", "scenarios/out.json"])
def test_what_a_shell_writes_out_of_a_pattern_is_not_trusted(project: Path, tmp_path: Path, named: str) -> None:
    target = tmp_path / "outside" / ("" if named.endswith("out") else "secret.yaml")
    (project / named).symlink_to(target)
    assert (only(checked(named)).path, only(checked(named)).rule) == (named, "PATH")


@pytest.mark.parametrize(
    "stated",
    [
        "../../outside/catalogs",
        "../catalogs/../../outside/catalogs",
        "/etc",
        "../linked",
        "../linked/../../outside/catalogs",
        "../../../../../../../../../../../../../../../../etc",
        "x" * 199,
        "../" * 66,
    ],
)
def test_a_catalogs_entry_that_leads_out_is_a_finding_at_its_line(project: Path, tmp_path: Path, stated: str) -> None:
    (project / "linked").symlink_to(tmp_path / "outside" / "catalogs")
    text = (project / SCENARIO).read_text()
    (project / SCENARIO).write_text(text.replace("catalogs: ../catalogs", f"catalogs: {stated}"))
    line = text[: text.index("catalogs: ../catalogs")].count("\n") + 1
    found = [one for one in checked() if one.path == SCENARIO]
    assert (only(found).line, only(found).column) == (line, 11)
    assert only(found).rule == ("REFERENCE" if stated.startswith("x") else "PATH")


def test_an_absolute_catalogs_entry_inside_is_fine(project: Path) -> None:
    text = (project / SCENARIO).read_text()
    (project / SCENARIO).write_text(text.replace("catalogs: ../catalogs", f"catalogs: {project}/catalogs"))
    assert checked() == []


def test_links_in_circles_end(project: Path) -> None:
    pads = project / "catalogs" / "pads.yaml"
    pads.unlink()
    pads.symlink_to("pads.yaml")
    (project / "scenarios" / "a.yaml").symlink_to("b.yaml")
    (project / "scenarios" / "b.yaml").symlink_to("./a.yaml")
    (project / "loop").symlink_to("loop/loop/loop")
    (project / "scenarios" / "c.yaml").symlink_to("../loop/x.yaml")
    found = {one.path: one for one in checked() if one.rule == "PATH"}
    assert set(found) == {"catalogs/pads.yaml", *(f"scenarios/{name}.yaml" for name in "abc")}
    assert {one.message for one in found.values()} == {"the links lead in circles"}


def test_forty_links_are_followed_and_no_more(project: Path) -> None:
    (project / "scenarios" / "a00.yaml").symlink_to("upland-wardens.yaml")
    for number in range(1, 41):
        (project / "scenarios" / f"a{number:02}.yaml").symlink_to(f"a{number - 1:02}.yaml")
    assert only(checked()).path == "scenarios/a40.yaml"


def make_pipe(path: Path) -> None:
    os.mkfifo(path)


def make_socket(path: Path) -> None:
    listening = socket.socket(socket.AF_UNIX)
    here = os.getcwd()
    os.chdir(path.parent)  # the system allows few characters in a socket's name
    try:
        listening.bind(path.name)
    finally:
        os.chdir(here)
    listening.close()


@pytest.fixture
def no_waiting() -> Iterator[None]:
    began = time.perf_counter()
    yield
    assert time.perf_counter() - began < 30


@pytest.mark.usefixtures("no_waiting")
@pytest.mark.parametrize("make", [make_pipe, make_socket])
@pytest.mark.parametrize("name", ["catalogs/tires.yaml", SCENARIO, "scenarios/upland-wardens.variants.yaml"])
def test_a_pipe_or_socket_with_the_name_of_a_file_is_not_waited_for(
    project: Path, name: str, make: Callable[[Path], None]
) -> None:
    (project / name).unlink(missing_ok=True)
    make(project / name)
    finding = next(one for one in checked() if one.path == name)
    assert (finding.line, finding.rule) == (0, "YAML-FILE")
    assert "no plain file" in finding.message


@pytest.mark.usefixtures("no_waiting")
@pytest.mark.parametrize("load", [load_yaml, load_json, load_choice])
def test_every_loader_refuses_pipes_and_devices(tmp_path: Path, load: Callable[[Path], object]) -> None:
    os.mkfifo(tmp_path / "pipe.json")
    for path in (tmp_path / "pipe.json", Path("/dev/zero"), Path("/dev/tty")):
        if path.exists():
            with pytest.raises(FindingsError, match="it is no plain file but a pipe, a device or a socket"):
                load(path)


@pytest.mark.usefixtures("no_waiting")
def test_a_file_that_is_exchanged_for_a_pipe_just_before_it_is_opened_is_not_waited_for(tmp_path: Path) -> None:
    (tmp_path / "plain.yaml").write_text("a: b\n")
    plain = os.stat(tmp_path / "plain.yaml")
    os.mkfifo(tmp_path / "pipe.yaml")
    with mock.patch("os.stat", return_value=plain), pytest.raises(FindingsError, match="no plain file"):
        load_yaml(tmp_path / "pipe.yaml")


def test_names_that_would_write_lines_of_their_own_or_cannot_be_written_are_findings(project: Path) -> None:
    names = [b"a\n::error::b.yaml", b"a\x1b[2Jb.yaml", b"a\xffb.yaml", "a\u202eb.yaml".encode()]
    for name in names:
        with open(os.path.join(os.fsencode(project), b"scenarios", name), "wb") as stream:
            stream.write(b"title: x\n")
    found = checked()
    assert [one.rule for one in found] == ["PATH"] * len(names)
    assert all("cannot be shown" in one.message for one in found)
    text = "\n".join(map(str, found))
    assert text.count("\n") == len(names) - 1
    assert text.encode("utf-8").isascii()


def test_values_are_quoted_in_one_line_as_they_are(project: Path) -> None:
    path = project / "catalogs" / "tires.yaml"
    path.write_text(path.read_text().replace("tread: open", 'tread: "x\\n::error::pwned\\u202e"', 1))
    text = "\n".join(str(one) for one in checked() if one.rule == "CHOICE")
    assert 'found "x\\n::error::pwned\\u202e"' in text
    assert "\n" not in text


def test_tags_that_would_run_code_do_not(project: Path) -> None:
    path = project / SCENARIO
    for tag in ("!!python/object/apply:os.system", "!!python/object/new:subprocess.Popen", "!!python/name:os.system"):
        path.write_text(f"title: {tag} ['touch {project}/ran']\n")
        assert only(checked(path)).rule == "YAML-TAG"
    assert not (project / "ran").exists()


def test_too_many_files_are_a_finding_at_the_folder(project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(within, "ENTRY_LIMIT", 20)
    for number in range(21):
        (project / "scenarios" / f"n{number}.txt").touch()
    found = only(checked())
    assert (found.path, found.rule) == ("scenarios", "YAML-LIMIT")
    assert found.message == "a folder has at most 20 entries, this one has more"


def test_a_project_elsewhere_is_read_when_its_scenario_is_named(
    project: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    monkeypatch.chdir(elsewhere)
    for path in (project / SCENARIO, project / "scenarios", project, project / "catalogs", f"../project/{SCENARIO}"):
        assert checked(path) == []
    (tmp_path / "door").symlink_to(project / "scenarios")
    assert checked(tmp_path / "door" / "upland-wardens.yaml") == []
    # What lies around the project stays closed.
    (project / SCENARIO).unlink()
    (project / SCENARIO).symlink_to("../../outside/secret.yaml")
    assert only(checked(project / "scenarios")).rule == "PATH"


def test_inside_a_folder_of_the_project_the_project_around_it_is_read(
    project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(project / "scenarios")
    assert checked("upland-wardens.yaml") == []
    assert checked("../scenarios/upland-wardens.yaml", "../catalogs") == []


def test_the_search_for_the_project_around_ends_at_a_repository(
    project: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    inner = project / "inner"
    shutil.copytree(project / "scenarios", inner / "scenarios")
    monkeypatch.chdir(inner)
    text = (inner / SCENARIO).read_text().replace("catalogs: ../catalogs", "catalogs: ../../catalogs")
    (inner / SCENARIO).write_text(text)
    assert checked(SCENARIO) == []
    (inner / ".git").mkdir()
    assert only(checked(SCENARIO)).rule == "PATH"


def test_a_scenario_deep_inside_may_name_the_catalogs_of_the_project(project: Path) -> None:
    deep = project / "tests" / "fixtures" / "good"
    deep.mkdir(parents=True)
    text = (project / SCENARIO).read_text().replace("../catalogs", "../../../catalogs")
    (deep / "one.yaml").write_text(text.replace("trials: ", "trials: ../../../scenarios/"))
    assert checked(deep / "one.yaml") == []
