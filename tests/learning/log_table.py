"""The table of test logs in the README, made from what the program reads.

``python tests/learning/log_table.py`` writes it anew; a test compares.
"""

from __future__ import annotations

from pathlib import Path

from configopt.learning.log_kinds import HEAD, KINDS, Column

README = Path(__file__).parents[2] / "README.md"
BEGIN, END = "<!-- logs: begin -->", "<!-- logs: end -->"


def _named(column: Column) -> str:
    name = f"`{column.name} ({column.unit})`" if column.unit else f"`{column.name}`"
    return f"{name}{' (needed)' if column.required else ''}: {column.wording}"


def _key(column: Column) -> str:
    return f"`{column.name}`{' (needed)' if column.required else ''}: {column.wording}"


def table() -> str:
    rows = ["| kind | what it holds | columns | keys of its head beside the common ones |", "| --- | --- | --- | --- |"]
    for kind in KINDS.values():
        columns = "; ".join(map(_named, kind.columns))
        keys = "; ".join(map(_key, kind.head)) or "none"
        rows.append(f"| `{kind.name}` | {kind.wording} | {columns} | {keys} |")
    common = "; ".join(map(_key, HEAD))
    return "\n".join([*rows, "", f"Keys of every head: {common}."])


def section(text: str) -> tuple[int, int]:
    return text.index(BEGIN) + len(BEGIN) + 1, text.index(END)


if __name__ == "__main__":
    text = README.read_text(encoding="utf-8")
    first, last = section(text)
    README.write_text(f"{text[:first]}{table()}\n{text[last:]}", encoding="utf-8")
