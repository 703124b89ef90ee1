"""The same answers wherever variants are computed, and nothing that is finished is lost when something is killed."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml
from small_project import small_project

from configopt.errors import ConfigoptError, ExitCode, UsageError
from configopt.scenario.variants import Planned, load_variants
from configopt.schemas import schema
from configopt.sweep.answers import loss
from configopt.sweep.changing import Base, changed
from configopt.sweep.engines import ATTEMPTS, Here, Processes
from configopt.sweep.run import Run, Solved
from configopt.sweep.store import Store
from configopt.sweep.tasks import Sent, Task, compute
from configopt.sweep.whatif import WhatIf, _stated, whatif

PROGRAM = "import sys; from configopt.cli import main; sys.argv[0] = 'configopt'; main()"
FILES = ("scenarios/upland-wardens.yaml", "scenarios/upland-wardens.variants.yaml")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small project that no test changes."""
    return small_project(tmp_path_factory.mktemp("project"))


@pytest.fixture(scope="module")
def here(folder: Path) -> WhatIf:
    """All variants computed in this process."""
    return whatif(*files(folder), jobs=0)


def files(folder: Path) -> tuple[Path, Path]:
    return folder / FILES[0], folder / FILES[1]


def text(found: WhatIf) -> str:
    """The answer without what it was made with."""
    payload = found.to_json()
    del payload["made_with"]
    return json.dumps(payload)


def base_of(folder: Path) -> Base:
    scenario, variants = files(folder)
    return Base.of(scenario, str(variants))


def plans(folder: Path) -> list[Planned]:
    return [one for one in load_variants(files(folder)[1]).planned() if one.name != "wrong"]


def test_every_variant_has_its_row_whatever_becomes_of_it(here: WhatIf) -> None:
    payload = here.to_json()
    jsonschema.validate(payload, schema("whatif"))
    status = {row["name"]: row["status"] for row in payload["variants"]}
    assert status == {
        "as-it-stands": "optimal",
        "lighter-load": "optimal",
        "tire-gone": status["tire-gone"],
        "impossible": "nothing meets the limits",
        "wrong": "not valid",
        "budget-1": "optimal",
        "budget-2": "optimal",
    }
    assert here.exit_code == ExitCode.FILE_WRONG
    (finding,) = payload["variants"][4]["findings"]
    assert ".variants.yaml:14:7: UNKNOWN-KEY" in finding
    assert payload["kept"] == ["best as it stands", "baseline"]
    assert payload["variants"][0]["kept"][0]["regret"] == 0.0
    assert payload["least_regret"]["status"] == "proven"
    assert payload["least_regret"]["left_out"][-1] == "wrong"


def test_a_cluster_over_loopback_gives_the_same_text(folder: Path, here: WhatIf) -> None:
    with cluster() as address:
        assert text(whatif(*files(folder), cluster=address)) == text(here)


class cluster:
    """A scheduler with two workers as processes of their own; gives its address."""

    def __init__(self) -> None:
        self.processes: list[subprocess.Popen[bytes]] = []

    def __enter__(self) -> str:
        port = free_port()
        address = f"tcp://127.0.0.1:{port}"
        quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
        run = [sys.executable, "-m", "distributed.cli.dask_scheduler"]
        self._start([*run, "--host", "127.0.0.1", "--port", str(port), "--no-dashboard", "--no-show"], quiet)
        for _ in range(2):
            worker = [sys.executable, "-m", "distributed.cli.dask_worker", address, "--nthreads", "1", "--no-dashboard"]
            self._start(worker, quiet)
        from distributed import Client

        with Client(address, timeout=60, set_as_default=False) as client:
            client.wait_for_workers(2, timeout=60)
        return address

    def _start(self, command: list[str], quiet: Any) -> None:
        self.processes.append(subprocess.Popen(command, start_new_session=True, **quiet))

    def __exit__(self, *rest: object) -> None:
        for process in self.processes:
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()


def free_port() -> int:
    import socket

    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def test_a_cluster_that_does_not_answer_is_said_to(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("configopt.sweep.cluster.CONNECT", 0.5)
    with pytest.raises(ConfigoptError, match=r"no scheduler answers at tcp://127\.0\.0\.1"):
        whatif(*files(folder), cluster=f"tcp://127.0.0.1:{free_port()}")


@pytest.mark.parametrize("address", ["", "host", "http://host:1", "tcp://host:x"])
def test_what_is_no_address_of_a_cluster_is_refused_at_once(folder: Path, address: str) -> None:
    with pytest.raises(UsageError, match=r"is no address of a scheduler .* write tcp://host:8786"):
        whatif(*files(folder), cluster=address)


def test_without_distributed_the_line_that_installs_it_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    from configopt.sweep import cluster as module

    monkeypatch.setattr(module, "find_spec", lambda name: None)
    with pytest.raises(UsageError, match=r"pip install 'configopt\[cluster\]'"):
        module.require_distributed()


# Killed


@pytest.fixture
def processes(folder: Path) -> Iterator[Processes]:
    engine = Processes(base_of(folder), 2)
    yield engine
    engine.close()


def test_a_worker_that_is_killed_in_the_middle_is_replaced_and_its_variant_begun_again(
    folder: Path, here: WhatIf, processes: Processes
) -> None:
    run = Run(base_of(folder), processes, Store(None))
    found: list[Solved] = []
    for one in run.solve(plans(folder)[:4]):
        if not found:
            for pid in processes.pids:
                os.kill(pid, signal.SIGKILL)
        found.append(one)
    aims = {one.planned.name: one.answer.get("aim") for one in found}
    assert aims == {row["name"]: row["aim"] for row in here.variants if row["name"] in aims}
    assert len(found) == 4
    assert not [one for one in found if one.answer["status"] == "failed"]


class Poison:
    """Ends the process that reads it."""

    def __reduce__(self) -> Any:
        return os._exit, (7,)


@pytest.mark.slow
def test_a_variant_that_ends_its_process_each_time_is_given_up_and_the_others_go_on(
    folder: Path, processes: Processes
) -> None:
    good = [Task(number, "solve", one, ((), ())) for number, one in enumerate(plans(folder)[:1])]
    bad = Task(9, "solve", Planned("bad"), Poison())
    done = {one.task.number: one.answer for one in processes.run([bad, *good])}
    assert done[9]["status"] == "failed"
    assert f"ended {ATTEMPTS} times, the last time with exit code 7" in done[9]["reason"]
    assert done[0]["status"] == "optimal"


@pytest.mark.slow
def test_a_mistake_of_the_program_in_one_variant_is_reported_and_does_not_stop_the_others(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from configopt.sweep import answers

    plain = answers.answer

    def failing(changed: Any, *of: Any) -> Any:
        if float(changed.case.vehicle.cargo_mass) == 8.0:
            raise ZeroDivisionError("by zero")
        return plain(changed, *of)

    monkeypatch.setattr(answers, "answer", failing)
    run = Run(base_of(folder), Here(base_of(folder)), Store(None))
    found = {one.planned.name: one.answer for one in run.solve(plans(folder))}
    assert found["lighter-load"] == {"status": "failed", "reason": "ZeroDivisionError: by zero"}
    assert found["budget-1"]["status"] == "optimal"


def test_another_version_of_the_program_is_noticed(folder: Path) -> None:
    sent = Sent.of(base_of(folder))
    other = Sent(sent.content, "0" * 64, sent.digest)
    answer, _ = compute(other, Task(0, "solve", Planned("a"), ((), ())))
    assert answer["status"] == "failed"
    assert "another version" in answer["reason"]


@pytest.mark.slow
def test_a_run_whose_parent_is_killed_goes_on_where_it_was_and_ends_with_the_same_text(
    folder: Path, here: WhatIf, tmp_path: Path
) -> None:
    kept = tmp_path / "kept"
    command = [sys.executable, "-c", PROGRAM, "whatif", *FILES, "--keep-in", str(kept), "--jobs", "2", "-q"]
    with subprocess.Popen(command, cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE) as parent:
        until(lambda: len(list(kept.glob("*.json"))) >= 2)
        workers = children(parent.pid)
        assert workers
        parent.kill()
    until(lambda: not any(Path(f"/proc/{pid}").exists() and state(pid) not in "ZX" for pid in workers))
    finished = sorted(kept.glob("*.json"))
    assert len(finished) >= 2
    assert all(json.loads(path.read_text())["answer"]["status"] for path in finished)
    again = whatif(*files(folder), jobs=2, keep_in=kept)
    assert again.made_with["from_before"] == len(finished)
    assert text(again) == text(here)
    once_more = whatif(*files(folder), jobs=0, keep_in=kept)
    assert once_more.made_with["computed"] == 0
    assert text(once_more) == text(here)


def until(true: Any, seconds: float = 60.0) -> None:
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end
        time.sleep(0.05)


def children(pid: int) -> list[int]:
    found = subprocess.run(["ps", "-o", "pid=", "--ppid", str(pid)], stdout=subprocess.PIPE, text=True, check=False)
    return [int(word) for word in found.stdout.split()]


def state(pid: int) -> str:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0]
    except OSError:
        return "X"


def test_ctrl_c_gives_what_is_finished(folder: Path) -> None:
    class Interrupting(Here):
        def run(self, tasks: Any) -> Iterator[Any]:
            for number, done in enumerate(super().run(tasks)):
                yield done
                if done.task.planned.name == "lighter-load":
                    raise KeyboardInterrupt
                assert number < 3

    found = whatif(*files(folder), engine=Interrupting)
    assert found.exit_code == ExitCode.STOPPED_EARLY
    status = [row["status"] for row in found.variants]
    assert status[:2] == ["optimal", "optimal"]
    assert set(status[2:]) == {"not computed"}
    jsonschema.validate(found.to_json(), schema("whatif"))


def test_a_loss_within_the_digits_of_the_answers_is_none() -> None:
    assert loss(37.12963628 + 3e-9, 37.12963628) == 0.0
    assert loss(37.12, 37.13) == 0.0
    assert loss(37.13, 37.12) == pytest.approx(0.01)


def test_a_decision_that_is_called_as_the_baseline_keeps_a_name_of_its_own(folder: Path, tmp_path: Path) -> None:
    base = base_of(folder)
    baseline = base.case.vehicle.baseline
    assert baseline is not None
    ends = {
        end: {key: value for key, value in getattr(baseline, end).model_dump(mode="json").items() if value is not None}
        for end in ("front", "rear")
    }
    for end in ends.values():
        end["pressure"] = "160 kPa"
    name = base.case.vehicle.name
    stated = {"vehicles": [{"name": name, "final_drive": baseline.final_drive, **ends}]}
    path = tmp_path / "baseline.yaml"
    path.write_text(yaml.safe_dump(stated))
    kept = _stated(path, base)
    assert kept.name == "decision baseline"
    assert kept.record[0].front.tire == baseline.front.tire


# What is kept


def test_a_file_that_is_not_whole_or_not_ours_is_not_read(tmp_path: Path) -> None:
    store, key = Store(tmp_path), "a" * 64
    answer = {"status": "optimal", "aim": 50.0, "kept": []}
    assert store.read(key) is None
    store.write(key, answer, None)
    assert store.read(key) == (answer, None)
    (path,) = tmp_path.glob("*.json")
    whole = path.read_text()
    for broken in (whole[:-40], "", "[]", "{}", whole.replace('"optimal"', '"failed"'), whole.replace("50.0", "49.0")):
        assert broken != whole
        path.write_text(broken)
        assert store.read(key) is None
    path.rename(tmp_path / f"{'b' * 40}.json")
    assert store.read("b" * 64) is None


def test_a_variant_that_could_not_be_computed_is_not_kept(tmp_path: Path) -> None:
    store = Store(tmp_path)
    store.write("a" * 64, {"status": "failed", "reason": "no memory"}, None)
    assert not list(tmp_path.iterdir())


def test_a_changed_catalog_is_another_question(tmp_path: Path) -> None:
    folder = small_project(tmp_path)
    one = plans(folder)[0]
    before = changed(base_of(folder), one)
    assert changed(base_of(folder), one).key == before.key
    tires = folder / "catalogs" / "tires.yaml"
    tires.write_text(tires.read_text().replace("unit_price: 61.00", "unit_price: 62.00"))
    assert changed(base_of(folder), one).key != before.key


@pytest.mark.parametrize("place", ["file", "file/folder"])
def test_a_folder_that_cannot_be_made_is_refused(folder: Path, tmp_path: Path, place: str) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(UsageError, match=r"--keep-in .*file.* cannot be kept there"):
        whatif(*files(folder), keep_in=tmp_path / place)


def test_a_folder_that_cannot_be_written_to_is_refused_at_once(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(**rest: Any) -> Any:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("tempfile.TemporaryFile", refuse)
    with pytest.raises(UsageError, match="cannot be kept there: Permission denied"):
        whatif(*files(folder), keep_in=tmp_path)
