"""The table of rules in the README, written from the rules: ``python -m tests.guard.rule_table``."""

from __future__ import annotations

from pathlib import Path

from configopt.guard.rules import RULES

README = Path(__file__).parents[2] / "README.md"
BEGIN, END = "<!-- rules: begin -->\n", "<!-- rules: end -->\n"


def section() -> str:
    """The table, without its markers."""
    lines = ["| rule | severity | what is found |", "| --- | --- | --- |"]
    lines += [
        f"| `{rule.id}` | {rule.severity}{', waivable' if rule.waivable else ''} | {rule.title} |"
        for rule in RULES.values()
    ]
    return "\n".join(lines) + "\n"


def written() -> str:
    """The table as it stands in the README."""
    return README.read_text(encoding="utf-8").partition(BEGIN)[2].partition(END)[0]


def main() -> None:
    """Rewrite the table."""
    before, _, rest = README.read_text(encoding="utf-8").partition(BEGIN)
    README.write_text(f"{before}{BEGIN}{section()}{END}{rest.partition(END)[2]}", encoding="utf-8")


if __name__ == "__main__":
    main()
