"""The command `keyaction`: nothing is loaded here, so that it answers at once and Ctrl-C always ends it cleanly."""

from __future__ import annotations

import sys

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence

STOPPED = 130


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command line (that of the process by default); returns the exit status."""
    try:
        from keyaction.sim.commands.start import start

        return start(sys.argv[1:] if arguments is None else list(arguments), alone=arguments is None)
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        return STOPPED
    except Exception as problem:
        from keyaction.sim.processes.broken_off import broken_off

        if not broken_off(problem):
            raise
        print("stopped", file=sys.stderr)
        return STOPPED


if __name__ == "__main__":
    raise SystemExit(main())
