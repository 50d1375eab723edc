"""The invented pedal on its floating rail, eight notes of it with a load to match."""

from __future__ import annotations

from pathlib import Path

from keyaction.cases.text.find import shipped

_SMALLER = (
    ('high = "F4"', 'high = "G2"'),
    (", F4 = ", ", G2 = "),
    ('gaps = [{ after = "E4"', 'gaps = [{ after = "E2"'),
    ('climate = "demo-year.csv"', 'climate = "wave"'),
    ('mass = "2.5 kg"', 'mass = "0.6 kg"'),
    ('out_arm = "50 mm"', 'out_arm = "45 mm"'),  # of the tower square: riser and level tracker go unlike ways
)


def write_pedal(folder: Path, *others: tuple[str, str], more: str = "") -> Path:
    """Write the case, with other texts in place of some of its own and `more` at its end."""
    text = (shipped()["demo-instrument"].parent / "demo-instrument" / "pedal.toml").read_text(encoding="utf-8")
    for old, new in (*_SMALLER, *others):
        assert old in text, old
        text = text.replace(old, new)
    path = folder / "pedal.toml"
    path.write_text(text + more, encoding="utf-8")
    return path
