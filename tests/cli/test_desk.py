"""``configopt desk``: serves the project of the working folder, prints the address, ends with Ctrl-C."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest
from click.testing import CliRunner

from configopt.cli import main

COMMAND = [sys.executable, "-c", "from configopt.cli import main; main()", "desk"]


def test_it_serves_at_the_printed_address_until_it_is_ended(project: Path) -> None:
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    process = subprocess.Popen(
        [*COMMAND, "--port", "0"],
        cwd=project,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        assert process.stdout is not None
        address = process.stdout.readline().strip()
        assert address.startswith("http://127.0.0.1:")
        with urllib.request.urlopen(address, timeout=30) as found:
            assert "upland-wardens" in found.read().decode()
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=30)
    finally:
        process.kill()
        process.communicate()
    assert (out, process.returncode) == ("", 0)
    assert "Traceback" not in err


def test_a_folder_without_scenarios_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    found = CliRunner().invoke(main, ["desk"])
    assert found.exit_code == 2
    assert "no folder scenarios" in found.stderr


def test_a_port_that_is_taken_is_refused(project: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        found = CliRunner().invoke(main, ["desk", "--port", str(taken.getsockname()[1])])
    assert found.exit_code == 2
    assert "cannot be had" in found.stderr


@pytest.mark.parametrize("host", ["0.0.0.0", "0", ""])
def test_no_address_in_particular_is_refused(project: Path, host: str) -> None:
    found = CliRunner().invoke(main, ["desk", "--port", "0", "--host", host])
    assert found.exit_code == 2
    assert "every address of this machine" in " ".join(found.stderr.split())


def test_what_is_missing_is_named_with_the_line_that_installs_it(
    project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("configopt.cli.desk.find_spec", lambda name: None)
    found = CliRunner().invoke(main, ["desk"])
    assert found.exit_code == 2
    assert "pip install 'configopt[pages]'" in found.stderr


def test_help_shows_an_example() -> None:
    found = CliRunner().invoke(main, ["desk", "--help"])
    assert found.exit_code == 0
    assert "configopt desk --port 8100" in found.stdout
    assert "Opens no browser" in " ".join(found.stdout.split())
