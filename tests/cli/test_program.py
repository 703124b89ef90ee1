"""How the program starts, helps and ends."""

from __future__ import annotations

import errno
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner, Result

from configopt.cli import main, output
from configopt.errors import AuditError, ConfigoptError, ExitCode, Finding, FindingsError, UsageError

COMMANDS = ["choose", "appraise", "compare", "parts", "fits", "check", "schema"]
Run = Callable[..., Result]


def program(*arguments: str, cwd: Path, **options: Any) -> subprocess.CompletedProcess[str]:
    """The program in a process of its own."""
    environment = {**os.environ, "NO_COLOR": "", **options.pop("env", {})}
    return subprocess.run(
        [sys.executable, "-c", "from configopt.cli import main; main(prog_name='configopt')", *arguments],
        cwd=cwd,
        env=environment,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        **options,
    )


def test_the_help_lists_every_command_and_exit_code(run: Run) -> None:
    result = run("--help")
    assert result.exit_code == 0
    for name in COMMANDS:
        assert f"\n  {name} " in result.stdout
    for code in ExitCode:
        assert f"\n    {code.value}  " in result.stdout


@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.parametrize("flag", ["-h", "--help"])
def test_every_command_helps_with_an_example(run: Run, name: str, flag: str) -> None:
    result = run(name, flag)
    assert result.exit_code == 0
    assert f"Example:\n    configopt {name}" in result.stdout
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_help_loads_neither_pyomo_nor_numpy_nor_pydantic(tmp_path: Path) -> None:
    code = (
        "import sys\n"
        "from configopt.cli import main\n"
        "try:\n    main(['choose', '--help'])\nexcept SystemExit:\n    pass\n"
        "heavy = sorted({'numpy', 'pyomo', 'pydantic', 'highspy', 'yaml', 'pytest'} & set(sys.modules))\n"
        "sys.exit(', '.join(heavy) or None)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")


def test_the_package_itself_loads_nothing_before_its_first_use(tmp_path: Path) -> None:
    code = (
        "import sys, configopt\n"
        "assert 'choose' in dir(configopt)\n"
        "heavy = sorted({'numpy', 'pyomo', 'pydantic', 'yaml'} & set(sys.modules))\n"
        "sys.exit(', '.join(heavy) or None)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")


def test_the_public_names_lead_to_what_they_promise() -> None:
    import configopt
    from configopt.scenario.case import Case, load

    assert configopt.load is load
    assert configopt.Case is Case
    with pytest.raises(AttributeError, match="no attribute 'chose'"):
        configopt.chose  # noqa: B018


@pytest.mark.parametrize(
    ("arguments", "hint"),
    [
        (["chose"], "did you mean 'choose'?"),
        (["frobnicate"], "there are: choose, appraise"),
        (["parts", "tyres"], "did you mean 'tires'?"),
        (["parts", "gearboxes"], "there are: tires, inners"),
        (["schema", "scenarios"], "did you mean 'scenario'?"),
        (["choose"], "Missing argument 'SCENARIO'"),
        (["choose", "nowhere.yaml"], "does not exist"),
        (["choose", "scenarios"], "is a directory"),
        (["choose", "scenarios/upland-wardens.yaml", "--time-limit", "nan"], "allowed is a number above 0 s"),
        (["choose", "scenarios/upland-wardens.yaml", "--time-limit", "0"], "allowed is a number above 0 s"),
        (["choose", "scenarios/upland-wardens.yaml", "--gap", "-1"], "allowed is a number at least 0"),
        (["choose", "scenarios/upland-wardens.yaml", "--threads", "0"], "0 is not in the range"),
        (["choose", "scenarios/upland-wardens.yaml", "--format", "xml"], "'xml' is not one of"),
        (["choose", "scenarios/upland-wardens.yaml", "-o", "scenarios"], "is a folder"),
        (["choose", "scenarios/upland-wardens.yaml", "-o", "nowhere/a.json"], "there is no folder nowhere"),
        (["choose", "scenarios/upland-wardens.yaml", "-o", "scenarios/upland-wardens.yaml"], "would overwrite"),
        (["choose", "scenarios/upland-wardens.yaml", "-o", "catalogs/tires.yaml"], "would overwrite a YAML file"),
        (["fits", "heron-moor-80-100-12"], "did you mean heron-moor-80-100-21"),
        (["fits", "wet-peat"], "is a surface to ride on"),
        (["fits", "heron-moor-80-100-21", "scenarios/upland-wardens.yaml", "--catalogs", "catalogs"], "leave out"),
        (["check", "nowhere"], "does not exist"),
    ],
)
def test_wrong_usage_ends_with_2_and_a_hint(run: Run, project: Path, arguments: list[str], hint: str) -> None:
    result = run(*arguments)
    assert result.exit_code == 2
    assert hint in " ".join(result.stderr.split())
    assert result.stdout == ""


@pytest.mark.parametrize(
    ("error", "code", "words"),
    [
        (UsageError("name one vehicle"), 2, "configopt: wrong usage: name one vehicle\n"),
        (AuditError("0.3 against 0.2"), 5, "a bug in this program; please report it: 0.3 against 0.2\n"),
        (ConfigoptError("the disk is full"), 1, "configopt: the disk is full\n"),
        (
            FindingsError([Finding("a.yaml", 3, 5, "RANGE", "error", "found 0 g", "write more")]),
            1,
            "a.yaml:3:5: RANGE error: found 0 g (write more)\n1 finding: correct the file and run again\n",
        ),
        (KeyboardInterrupt(), 4, "stopped\n"),
    ],
)
def test_every_foreseen_error_has_its_code_and_a_message_without_class_names(
    monkeypatch: pytest.MonkeyPatch, error: BaseException, code: int, words: str
) -> None:
    def fail() -> None:
        raise error

    monkeypatch.setitem(main.commands, "fail", click.Command("fail", callback=fail))  # type: ignore[attr-defined]
    result = CliRunner().invoke(main, ["fail"], catch_exceptions=False)
    assert result.exit_code == code
    assert result.stderr.endswith(words)
    assert result.stdout == ""
    assert "Error(" not in result.stderr
    assert "Traceback" not in result.stderr


def test_an_unforeseen_error_keeps_its_traceback(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail() -> None:
        raise ZeroDivisionError("a bug")

    monkeypatch.setitem(main.commands, "fail", click.Command("fail", callback=fail))  # type: ignore[attr-defined]
    with pytest.raises(ZeroDivisionError, match="a bug"):
        CliRunner().invoke(main, ["fail"], catch_exceptions=False)


def test_a_reader_that_goes_away_ends_the_program_quietly(project: Path) -> None:
    command = f"{sys.executable} -c 'from configopt.cli import main; main()' parts tires --format json"
    done = subprocess.run(
        ["bash", "-c", f"{command} | head -c 20; echo; echo ${{PIPESTATUS[0]}}"],
        cwd=project,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stderr == ""
    assert done.stdout.splitlines()[-1] == "0"


def test_a_full_disk_behind_standard_output_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    def full() -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(output.sys.stdout, "flush", full)
    with pytest.raises(ConfigoptError, match="cannot be written to standard output: No space left on device"):
        output.emit("", None)


def test_a_poor_character_set_does_not_turn_an_answer_into_an_error(project: Path) -> None:
    done = program("fits", "hythe-felt-kite", cwd=project, env={"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"})
    assert done.returncode == 0
    assert done.stderr == ""


def test_a_pipe_gets_no_colour_and_no_question_is_asked(project: Path) -> None:
    done = program("parts", "tires", cwd=project, stdin=subprocess.DEVNULL)
    assert done.returncode == 0
    assert "\x1b" not in done.stdout


@pytest.mark.parametrize(
    ("environment", "bold"),
    [({}, True), ({"NO_COLOR": "1"}, False), ({"NO_COLOR": ""}, True), ({"TERM": "dumb"}, False)],
)
def test_a_terminal_gets_bold_headings_unless_it_declines(
    monkeypatch: pytest.MonkeyPatch, environment: dict[str, str], bold: bool
) -> None:
    for name in ("NO_COLOR", "TERM"):
        monkeypatch.delenv(name, raising=False)
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    monkeypatch.setattr(output.sys.stdout, "isatty", lambda: True, raising=False)
    assert output.page(None).bold is bold
    assert output.page(Path("a.txt")).bold is False


def test_the_width_follows_the_terminal_and_a_file_gets_80(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "60")
    assert output.page(None).width == 60
    assert output.page(Path("a.txt")).width == 80


def test_a_file_is_written_whole_and_standard_output_stays_empty(run: Run, project: Path) -> None:
    result = run("parts", "pads", "--format", "json", "-o", "pads.json")
    assert (result.exit_code, result.stdout, result.stderr) == (0, "", "written: pads.json\n")
    assert json.loads((project / "pads.json").read_text())["family"] == "pads"
    assert sorted(path.name for path in project.iterdir()) == ["catalogs", "pads.json", "scenarios"]


def test_a_number_that_json_does_not_have_is_refused() -> None:
    with pytest.raises(ValueError, match="not JSON compliant"):
        output.json_text({"value": float("nan")})
