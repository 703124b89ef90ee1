"""The command line: parse, call, print."""

from __future__ import annotations

from configopt.cli.app import main

__all__ = ["main"]
