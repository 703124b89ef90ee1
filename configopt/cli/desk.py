"""``configopt desk``: the local web page."""

from __future__ import annotations

import socket
from importlib.util import find_spec
from ipaddress import ip_address
from pathlib import Path

import click

from configopt.cli.options import CONTEXT
from configopt.cli.output import say
from configopt.errors import UsageError

_SHORT = "The local web page: move limits, ground, prices and pressures, and see the choice change."
_EPILOG = """\b
Example:
  configopt desk
  configopt desk --port 8100"""
#: What the page needs beyond the core.
_NEEDS = ("starlette", "uvicorn", "jinja2")


@click.command("desk", context_settings=CONTEXT, epilog=_EPILOG, short_help=_SHORT)
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=8765,
    show_default=True,
    metavar="NUMBER",
    help="Port of this machine; 0 takes a free one.",
)
@click.option(
    "--host",
    default="127.0.0.1",
    show_default=True,
    metavar="ADDRESS",
    help="The one address to serve at. Any but the default lets others on the network read and write files here.",
)
def command(port: int, host: str) -> int:
    """Serve a local web page for the project in the working folder; Ctrl-C ends it.

    Opens no browser: follow the address that is printed. Requests that come from other sites or under another name are
    refused, and nothing is fetched from elsewhere. Files are written only where a form asks for it, into scenarios/.
    """
    missing = [name for name in _NEEDS if find_spec(name) is None]
    if missing:
        raise UsageError(f"the page needs {', '.join(missing)}: pip install 'configopt[pages]'")
    folder = Path.cwd()
    if not (folder / "scenarios").is_dir():
        raise UsageError(f"{folder.name} is no project folder: it has no folder scenarios; start in one")
    listening = _listening(host, port)
    from configopt.desk.serving import serve

    serve(folder, listening, host, say)
    return 0


def _listening(host: str, port: int) -> socket.socket:
    """A socket at the address, before anything heavy is loaded.

    Raises
    ------
    UsageError
        If the address cannot be had, or is none in particular.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    found = socket.socket(family, socket.SOCK_STREAM)
    try:
        found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        found.bind((host, port))
        if ip_address(found.getsockname()[0]).is_unspecified:
            raise UsageError(
                f"--host {host or '(nothing)'} means every address of this machine, and the page answers under one "
                "only: give that address itself"
            )
        found.listen(128)
    except UsageError:
        found.close()
        raise
    except (OSError, OverflowError) as error:
        found.close()
        why = getattr(error, "strerror", None) or error
        raise UsageError(
            f"{host} port {port} cannot be had: {why}; --port takes another one, 0 any that is free"
        ) from error
    return found
