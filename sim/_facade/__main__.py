"""`python -m keyaction`."""

from keyaction.sim.cli import main

raise SystemExit(main())
