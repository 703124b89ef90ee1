"""Coverage-guided fuzzing of the loaders, on its own line and not in CI.

    pip install atheris
    python tests/guard/fuzz.py -max_total_time=600 -max_len=4096 FOLDER

FOLDER keeps the inputs that reached something new; the shipped files are a good beginning.
It ends with the input where a loader raises anything but findings, or makes a finding that is not one line of the text.
"""

from __future__ import annotations

import sys
from collections.abc import Callable


def main() -> None:
    """Read inputs until one breaks a loader."""
    import atheris  # needed here only, and before what it is to watch

    with atheris.instrument_imports(include=["configopt"]):
        from configopt.catalog.records import FAMILIES
        from configopt.decisions.json_source import parse_json
        from configopt.errors import Finding, FindingsError
        from configopt.files.validation import collect_items, validate
        from configopt.files.yaml_source import Document, parse_yaml
        from configopt.scenario.records import Scenario
        from configopt.scenario.variants import read_variants

    def scenario(document: Document) -> list[Finding]:
        validate(document, Scenario)
        return []

    def parts(family: str) -> Callable[[Document], list[Finding]]:
        return lambda document: collect_items(document, "parts", FAMILIES[family])[1]

    looks = (scenario, lambda document: read_variants(document).findings, *map(parts, FAMILIES))

    def one_input(raw: bytes) -> None:
        # The first byte says as which file; that of a shipped one is "#".
        look, text = looks[raw[0] % len(looks)] if raw else scenario, raw[1:]
        lines = len(text.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n"))
        for parse in (parse_yaml, lambda source, name: parse_json(source.decode("utf-8", "ignore"), name)):
            try:
                document = parse(text, "a")
                found = look(document) if isinstance(document.data, dict) else []
            except FindingsError as error:
                found = error.findings
            for finding in found:
                assert 0 <= finding.line <= lines + 1
                assert "\n" not in str(finding)

    atheris.Setup(sys.argv, one_input)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
