"""Starting the page: a server on this machine alone, and the browser."""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import socket
import sys
import webbrowser
from pathlib import Path

from halfsplit.bench import CASE_VARIABLE
from halfsplit.cli.arguments import USUAL_PORT
from halfsplit.cli.command import SCHEMA, Answer, UsageError
from halfsplit.errors import CaseError

__all__ = ["serve"]

_HOST = "127.0.0.1"
_APP = "halfsplit.web.app:create_app"
"""Named as text: the page and the command line do not import each other."""


def serve(case: Path, args: argparse.Namespace) -> Answer:
    """Show the page of a case until it is stopped from the keyboard. Prints the address."""
    try:
        import uvicorn
    except ImportError as error:
        raise UsageError(
            f"the page needs the package uvicorn, which is missing ({error})"
        ) from error

    os.environ[CASE_VARIABLE] = str(case.absolute())
    listening = _listen(args.port)
    address = f"http://{_HOST}:{listening.getsockname()[1]}/"
    if args.json:
        print(json.dumps({"schema": SCHEMA, "address": address, "case": str(case)}))
    else:
        print(f"{case} is open at {address}\nStop with Ctrl-C; every reading is kept.")
    sys.stdout.flush()
    if not args.no_browser:
        with contextlib.suppress(webbrowser.Error):
            webbrowser.open(address)
    config = uvicorn.Config(
        _APP, factory=True, log_level="warning", timeout_graceful_shutdown=1, lifespan="auto"
    )
    with contextlib.suppress(KeyboardInterrupt), listening:
        uvicorn.Server(config).run(sockets=[listening])
    return Answer()


def _listen(wanted: int | None) -> socket.socket:
    """A socket that listens already, so that the browser may call before the server is up."""
    for number in [USUAL_PORT, 0] if wanted is None else [wanted]:
        listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        if os.name == "posix":
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listening.bind((_HOST, number))
            listening.listen(64)
        except OSError as error:
            listening.close()
            if wanted is not None:
                raise CaseError(
                    f"port {wanted} cannot be had ({error.strerror}); choose another, or --port 0"
                ) from error
            continue
        return listening
    raise CaseError(f"no port of {_HOST} can be had; is the network of this machine up?")
