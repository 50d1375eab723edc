"""Studies as the runner leaves them, computed from a few lines of algebra instead of a train."""

import json

import numpy as np
from scipy.stats import qmc

from keyaction.sim.files.labelled import Result, Variable

INPUTS = {
    "spring.force": (2.0, 4.0, "N"),
    "roller.width": (0.018, 0.030, "m"),
    "wind.pressure": (588.4, 882.6, "Pa"),
    "level-tracker.material": (("carbon-rod", "red-cedar", "sitka-spruce"), None, ""),
    "riser-and-drop.length": (0.4, 1.4, "m"),
}
STIFF = {"carbon-rod": 1.0, "red-cedar": 0.3, "sitka-spruce": 0.45}
HEAVY = {"carbon-rod": 0.2, "red-cedar": 0.5, "sitka-spruce": 0.6}
REASON = "failed: the motion left the range of the model or never settled"


def design(unit):
    """Inputs of designs in the unit cube, by name; texts as objects."""
    columns = {}
    for column, (name, (low, high, _)) in zip(unit.T, INPUTS.items(), strict=True):
        if high is None:
            columns[name] = np.array([low[min(int(u * len(low)), len(low) - 1)] for u in column], dtype=object)
        else:
            columns[name] = low + (high - low) * column
    return columns


def quantities(columns, note):
    """Pluck force N, repetition rate Hz, opening time s, effective mass kg of each design."""
    spring, width, pressure, material, length = columns.values()
    stiff = np.array([STIFF[name] for name in material])
    heavy = np.array([HEAVY[name] for name in material])
    mass = 0.04 + 0.02 * heavy * length + 900 * width**3
    give = 1 / (1e6 * width**2 + 800 * stiff / length)
    return {
        "pluck_force": (0.3 + 0.15 * spring + 1.4e-3 * pressure) * (1 - 0.1 * note),
        "repetition_rate": np.round(4.6 * np.sqrt(spring / mass) / 4 * (1 - 25 * give), 1),
        "opening_time": 3e-3 + 4 * give + 0.05 * mass,
        "effective_mass": mass,
    }


DEFINED = {
    "pluck_force": ("N", "pluck force"),
    "repetition_rate": ("Hz", "repetition rate"),
    "opening_time": ("s", "opening time"),
    "effective_mass": ("kg", "effective mass"),
}


def study(plan, unit, notes=("C3", "C4", "C5"), failed=0.0, second_order=False, **more):
    """A study's result over designs in the unit cube; a share `failed` of its designs has no values."""
    columns, n = design(unit), len(unit)
    lost = np.random.default_rng(5).random((n, len(notes))) < failed
    variables = {
        "design": Variable(("design",), np.arange(n), "", "row of the plan"),
        "note": Variable(("note",), np.array(notes, dtype=object), "", "note"),
    }
    for name, values in columns.items():
        variables[f"input_{name}"] = Variable(("design",), values, INPUTS[name][2], name)
    if plan == "morris":
        for name, values in zip(INPUTS, unit.T, strict=True):
            variables[f"unit_{name}"] = Variable(("design",), values, "", f"{name} in the unit cube")
    by_note = [quantities(columns, i) for i in range(len(notes))]
    for name, (si, label) in DEFINED.items():
        values = np.where(lost, np.nan, np.column_stack([one[name] for one in by_note]))
        variables[name] = Variable(("design", "note"), values, si, label, f"Definition of {label}.")
    status = np.where(lost, REASON, "ok").astype(object)
    variables["status"] = Variable(("design", "note"), status, "", "ok, or why the design failed")
    fates = np.where(lost, "not known", "speaks and falls silent").astype(object)
    variables["verdict"] = Variable(("design", "note"), fates, "", "what becomes of the note")
    limits = np.where(lost, "", "seating").astype(object)
    variables["repetition_limit"] = Variable(("design", "note"), limits, "", "what limits the repetition rate")
    about = {
        "title": "Trackers, roller, spring and wind of an invented manual",
        "plan": plan,
        "second_order": str(second_order).lower(),
        "study": f'format = 1\n[study]\nplan = "{plan}"\n',
        "case_name": "demo-wood.toml",
        "made": "2026-01-02T03:04:05",
        "versions": json.dumps({"keyaction": "0.1.0"}),
        **more,
    }
    return Result(variables, about)


def sobol_points(n, k, second_order=False, seed=1):
    """The rows of a Sobol' plan: A, AB^1 ... AB^k, (BA^1 ... BA^k,) B for each base point."""
    both = qmc.Sobol(2 * k, seed=seed).random(n)
    a, b, one = both[:, :k], both[:, k:], np.eye(k, dtype=bool)
    rows = [a, *(np.where(one[i], b, a) for i in range(k))]
    rows += [np.where(one[i], a, b) for i in range(k)] if second_order else []
    return np.stack([*rows, b], axis=1).reshape(-1, k)


def morris_points(r, k, levels=4, seed=1):
    """Trajectories of k + 1 points on a grid of levels, each input moved once by levels / (2 (levels - 1))."""
    random, step = np.random.default_rng(seed), levels // 2
    points = []
    for _ in range(r):
        at = random.integers(levels - step, size=k)
        up = random.random(k) < 0.5
        at = np.where(up, at, at + step)
        points.append(at.copy())
        for i in random.permutation(k):
            at[i] += step if up[i] else -step
            points.append(at.copy())
    return np.array(points) / (levels - 1)


def one_at_a_time_points(k, levels=5):
    """The base design in the middle, then each input over its levels."""
    shares = [level for level in np.linspace(0, 1, levels) if level != 0.5]
    one = np.eye(k, dtype=bool)
    return np.array([np.full(k, 0.5), *(np.where(one[i], level, 0.5) for i in range(k) for level in shares)])


K = len(INPUTS)


def made(plan, failed=0.0):
    """A study of each plan, of a size that suits it."""
    points = {
        "sobol": lambda: sobol_points(128, K),
        "morris": lambda: morris_points(30, K),
        "one-at-a-time": lambda: one_at_a_time_points(K),
        "latin": lambda: qmc.LatinHypercube(K, seed=2).random(400),
    }[plan]()
    return study(plan, points, failed=failed)
