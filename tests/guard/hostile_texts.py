"""Texts as large as the loaders take, made to cost time or memory.

Run as a program it reads one of them and says what that cost.
"""

from __future__ import annotations

import json
import resource
import sys
import time
from collections.abc import Callable
from pathlib import Path

from configopt.catalog.catalog import PART_LIMIT, FamilyFile
from configopt.catalog.records import FAMILIES
from configopt.decisions.json_source import parse_json
from configopt.errors import Finding, FindingsError
from configopt.files.validation import collect_items, validate
from configopt.files.yaml_source import BYTE_LIMIT, parse_yaml
from configopt.scenario.records import Scenario
from configopt.scenario.variants import MOST_GRIDS, MOST_VARIANTS, read_variants

N = BYTE_LIMIT

YAML: dict[str, Callable[[], str]] = {
    "one key again and again": lambda: "a: 1\n" * (N // 5),
    "keys again after a long list": lambda: "x: [" + "1," * 400_000 + "1]\n" + "x: {y: 1}\n" * 1_000,
    "keys, all different": lambda: "".join(f"k{n}: 1\n" for n in range(400_000)),
    "as many keys as a group may have": lambda: (
        "family: tires\nparts:\n- {" + ",".join(f"k{n}: 1" for n in range(49_999)) + "}\n"
    ),
    "entries that are wrong": lambda: "family: tires\nparts:\n" + "- {a: 1}\n" * PART_LIMIT,
    "entries that are wrong in many keys": lambda: (
        "family: tires\nparts:\n" + ("- {" + ",".join(f"k{n}: 1" for n in range(900)) + "}\n") * 270
    ),
    "entries of another kind": lambda: "family: tires\nparts: [" + "1," * 480_000 + "]",
    "brackets": lambda: "[" * N,
    "braces": lambda: "{a: " * (N // 4),
    "dashes": lambda: "- " * (N // 2),
    "question marks": lambda: "? " * (N // 2),
    "remarks": lambda: "#\n" * (N // 2),
    "one long remark": lambda: "# " + "x" * (N - 10) + "\na: 1",
    "empty lines": lambda: "\n" * (N - 5) + "a: 1",
    "a block of lines": lambda: "a: |\n" + " x\n" * ((N - 10) // 3),
    "a folded block": lambda: "a: >\n" + " x\n\n" * ((N - 10) // 4),
    "plain words on many lines": lambda: "a: x\n" + " x\n" * ((N - 10) // 3),
    "escapes": lambda: 'a: "' + "\\x41" * ((N - 10) // 4) + '"',
    "a quote that never ends": lambda: 'a: "' + "x" * (N - 10),
    "blanks": lambda: " " * (N - 1) + "a",
    "tabs": lambda: " \ta\n" * (N // 4),
    "colons": lambda: "a: " * (N // 3),
    "anchors": lambda: "&a " * (N // 3),
    "tags": lambda: "!a " * (N // 3),
    "aliases": lambda: "[*a," + "*a," * (N // 3 - 10) + "]",
    "a laugh a billion times": lambda: (
        "a: &a [x,x]\n" + "".join(f"b{n}: &b{n} [*b{n - 1},*b{n - 1}]\n" for n in range(1, 90_000))
    ),
    "documents": lambda: "---\n" * (N // 4),
    "a key of two million letters, twice": lambda: ("? " + "x" * 2_000_000 + "\n: 1\n") * 2,
    "NUL": lambda: "\0" * N,
    "one long number": lambda: "a: " + "1" * (N - 10),
    "numbers": lambda: "a: [" + "1e5," * 480_000 + "]",
    "carriage returns": lambda: "a: 1\r" * (N // 5),
    "vehicles": lambda: "title: x\nvehicles: [" + "{}," * 490_000 + "]",
    "limits": lambda: (
        "title: x\nvehicles:\n"
        + ("- {limits: [" + ",".join(f"{{limit: ground_pressurf{n}, at_least: 1}}" for n in range(200)) + "]}\n") * 24
    ),
    "grids": lambda: (
        "title: x\ngrids:\n"
        + "".join(
            f"- {{name: g{n}, vary: [{{field: a, from: 1, to: 2, steps: 1000}},"
            "{field: b, from: 1, to: 2, steps: 10}]}\n"
            for n in range(MOST_GRIDS)
        )
    ),
    "variants": lambda: "title: x\nvariants:\n" + "- {}\n" * MOST_VARIANTS,
    "variants without end": lambda: "title: x\nvariants:\n" + "- {}\n" * 240_000,
}
JSON: dict[str, Callable[[], str]] = {
    "numbers": lambda: "[" + "1," * (N // 2 - 2) + "1]",
    "keys": lambda: "{" + ",".join(f'"k{n}":1' for n in range(400_000)) + "}",
    "a key again at the end": lambda: "{" + ",".join(f'"k{n}":1' for n in range(400_000)) + ',"k399999":1}',
    "brackets": lambda: "[" * N,
    "brackets that end": lambda: "[" * 900 + "]" * 900,
    "lists": lambda: "[" + "[]," * 490_000 + "[]]",
    "one long text": lambda: '["' + "x" * (N - 10) + '"]',
    "escapes": lambda: '["' + "\\u0041" * (N // 6 - 2) + '"]',
    "backslashes": lambda: '["' + "\\\\" * (N // 2 - 10) + '"]',
    "a text that never ends": lambda: '["' + "\\" * (N - 10),
    "blanks": lambda: "[" + " " * (N - 10) + "]",
    "one long number": lambda: "[" + "1" * (N - 10) + "]",
    "lines": lambda: "[\n" + "1,\n" * 490_000 + "1]",
}


def findings_of(kind: str, name: str) -> list[Finding]:
    """Read a text as whatever its keys say it is."""
    try:
        if kind == "json":
            parse_json(JSON[name](), "a.json")
            return []
        document = parse_yaml(YAML[name]().encode()[:N], "a.yaml")
        keys = document.data if isinstance(document.data, dict) else {}
        if "vehicles" in keys:
            validate(document, Scenario)
        elif "grids" in keys or "variants" in keys:
            return read_variants(document).findings
        else:
            validate(document, FamilyFile)
            return collect_items(document, "parts", FAMILIES["tires"])[1]
    except FindingsError as error:
        return error.findings
    return []


def largest_memory() -> float:
    """Most memory that this program has held [MB].

    What the system calls the largest of a process counts from before its program was started, so it may be that of the
    process that started it; Linux also keeps that of the program alone.
    """
    status = Path("/proc/self/status")
    for line in status.read_text().splitlines() if status.is_file() else ():
        if line.startswith("VmHWM:"):
            return int(line.split()[1]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


if __name__ == "__main__":
    began = time.process_time()
    listed = findings_of(*sys.argv[1:])
    print(
        json.dumps(
            {
                "seconds": time.process_time() - began,
                "megabytes": largest_memory(),
                "findings": len(listed),
                "longest": max((len(str(one)) for one in listed), default=0),
            }
        )
    )
