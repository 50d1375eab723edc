"""The workshop's fixtures for this folder."""

from workshop_fixtures import folder, keyaction, played  # noqa: F401  pytest finds them by name
