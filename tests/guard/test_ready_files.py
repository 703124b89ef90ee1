"""The workflow and the pre-commit hook that a repository with catalogs can use as they are."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import yaml

ROOT = Path(__file__).parents[2]
TEXT = (ROOT / ".github" / "workflows" / "configopt.yml").read_text("utf-8")
WORKFLOW = yaml.safe_load(TEXT)
JOBS: dict[str, Any] = WORKFLOW["jobs"]
STEPS = [(name, step) for name, job in JOBS.items() for step in job["steps"]]


def uses(action: str) -> list[tuple[str, dict[str, Any]]]:
    return [(job, step) for job, step in STEPS if step.get("uses", "").startswith(f"{action}@")]


def test_it_runs_on_pushes_and_pull_requests_and_never_with_rights_of_the_target() -> None:
    # YAML 1.1 takes the key "on" for a truth value.
    assert set(WORKFLOW[True]) == {"push", "pull_request"}
    assert "pull_request_target" not in TEXT


def test_a_pull_request_is_compared_and_a_push_checked_whole() -> None:
    runs = {step["run"]: step.get("if") for _, step in STEPS if "run" in step}
    assert runs['configopt check --since "origin/$BASE"'] == "github.event_name == 'pull_request'"
    assert runs["configopt check"] == "github.event_name == 'push'"
    ((_, checkout), *_) = uses("actions/checkout")
    assert checkout["with"]["fetch-depth"] == 0


def test_the_findings_are_kept_and_shown_whatever_the_check_said() -> None:
    ((_, write),) = [(job, step) for job, step in STEPS if "--format sarif" in step.get("run", "")]
    ((_, keep),) = uses("actions/upload-artifact")
    ((job, show),) = uses("github/codeql-action/upload-sarif")
    assert write["if"] == keep["if"] == "always()"
    assert JOBS[job]["if"].startswith("always()")
    assert keep["with"]["path"] == show["with"]["sarif_file"]
    assert f"-o {show['with']['sarif_file']} " in write["run"]


def test_only_a_job_that_runs_no_code_of_the_repository_may_write() -> None:
    assert WORKFLOW["permissions"] == {"contents": "read"}
    writing = {name for name, job in JOBS.items() if "write" in job.get("permissions", {}).values()}
    assert writing == {"code-scanning"}
    assert JOBS["code-scanning"]["permissions"]["security-events"] == "write"
    assert not any("run" in step for step in JOBS["code-scanning"]["steps"])
    assert all(step["with"]["persist-credentials"] is False for _, step in uses("actions/checkout"))


def test_no_shell_line_holds_an_expression_and_every_job_ends() -> None:
    assert all("${{" not in step["run"] for _, step in STEPS if "run" in step)
    assert all(0 < job["timeout-minutes"] <= 30 for job in JOBS.values())


def test_actions_are_pinned() -> None:
    pinned = re.compile(r"[\w/.-]+@(v\d+|[0-9a-f]{40})")
    assert all(pinned.fullmatch(step["uses"]) for _, step in STEPS if "uses" in step)


def test_the_hook_runs_the_check_once_for_files_of_catalogs_and_scenarios() -> None:
    (hook,) = yaml.safe_load((ROOT / ".pre-commit-hooks.yaml").read_text("utf-8"))
    assert hook["id"] == "configopt-check"
    assert (hook["entry"], hook["language"], hook["pass_filenames"]) == ("configopt check", "python", False)
    pattern = re.compile(hook["files"])
    held = [
        path.relative_to(ROOT).as_posix() for name in ("catalogs", "scenarios") for path in (ROOT / name).rglob("*")
    ]
    checked = [path for path in held if path.endswith(".yaml")]
    assert {"catalogs/tires.yaml", "scenarios/upland-wardens.yaml"} <= set(checked)
    assert [path for path in held if pattern.search(path)] == checked
    assert not pattern.search("tests/catalogs/tires.yaml")
