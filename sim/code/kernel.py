"""A train's equations ready to run: generated, kept in a cache, compiled by Numba where that is possible."""

from __future__ import annotations

import hashlib
import os
import platform
import sys
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from types import FunctionType, ModuleType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyaction.models.train.structure import Structure
from keyaction.sim.code.cache import kept_text, module_of
from keyaction.sim.code.layout import Layout, read_layout

Floats = NDArray[np.float64]
PLAIN = "KEYACTION_PLAIN"
"""Environment variable: set it to run the equations as plain Python; empty, 0, no, off and false leave it."""


def asked_plain() -> bool:
    """Whether the environment asks for plain Python."""
    return os.environ.get(PLAIN, "").strip().lower() not in ("", "0", "no", "off", "false")


@dataclass(frozen=True)
class Kernel(Layout):
    """The functions of one structure, and what stands where in their arrays.

    Attributes
    ----------
    rates : callable (t, y, p, d) -> (n,) array
    observe : callable (t (N,), y (N, n), p, d) -> (N, m) array
    jacobian : callable (t, y, p, d) -> (n, n) array
    path : Path
        The generated module.
    fill, fill_jacobian, observe_all : callable (t, y, p, d, out)
        ``rates``, ``jacobian`` and ``observe`` into an array that is there already (of zeros for the second), for
        solvers that bring their own: arrays of doubles of the right lengths, which nothing checks.
    compiled : bool
        Whether Numba compiled it; the plain functions give the same numbers.
    notice : str
        Empty, or one line saying why the plain functions are used.
    """

    rates: Callable[[float, Any, Floats, Floats], Any]
    observe: Callable[[Floats, Floats, Floats, Floats], Floats]
    jacobian: Callable[[float, Any, Floats, Floats], Any]
    path: Path
    compiled: bool
    fill: Callable[..., None]
    fill_jacobian: Callable[..., None]
    observe_all: Callable[..., None]
    notice: str = ""

    def driven(self, p: Floats, d: Floats) -> Callable[[float, Any], Any]:
        """``f(t, y)`` for a solver that copies what it is given: it is the same array every time."""
        if not self.compiled:
            return lambda t, y: self.rates(t, y, p, d)
        fill, out = self.fill, np.empty(len(self.states))

        def rates(t: float, y: Any) -> Floats:
            fill(t, y, p, d, out)
            return out

        return rates


def installed(library: str) -> str:
    """Version of a library, read from its label."""
    try:
        return version(library)
    except PackageNotFoundError:
        return "none"


@lru_cache(maxsize=1)
def source_key() -> str:
    """Hash of the program's own sources and of the libraries whose versions matter to its numbers."""
    rooms = [
        Path(sys.modules[room].__file__ or "").parent
        for room in ("keyaction.models", "keyaction.sim", "keyaction.cases")
    ]
    sources = sorted(source for room in rooms for source in room.rglob("*.*") if source.suffix in (".py", ".toml"))
    digest = hashlib.sha256()
    for source in sources:
        digest.update(source.read_bytes())
    digest.update(repr((*_libraries(), installed("scipy"), installed("numpy"))).encode())
    return digest.hexdigest()


def _hash_of_writers() -> str:
    """Hash of the sources that decide what is generated, taken when they are imported and not when they are used."""
    models = Path(sys.modules["keyaction.models"].__file__ or "").parent
    digest = hashlib.sha256()
    for source in sorted([*models.rglob("*.py"), *Path(__file__).parent.glob("*.py")]):
        digest.update(source.read_bytes())
    return digest.hexdigest()


_WRITERS = _hash_of_writers()
_OWN = "keyaction.models."
_KNOWN = {*sys.stdlib_module_names, "keyaction", "numpy", "sympy"} - {"__main__"}


def _patched() -> bool:
    """Whether a function of the models was replaced while the program runs: the sources then say nothing of it."""
    for name, module in sys.modules.copy().items():  # copies: another thread may add to them meanwhile
        if name.startswith(_OWN):
            known = vars(module).copy().values()
            classes = [one for one in known if isinstance(one, type) and one.__module__ == name]
            for value in (*known, *(value for one in classes for value in vars(one).copy().values())):
                function = getattr(value, "fget", getattr(value, "__func__", value))
                if isinstance(function, FunctionType) and _from_outside(function.__module__):
                    return True
    return False


def _from_outside(module: str) -> bool:
    return module.partition(".")[0] not in _KNOWN and not module.startswith("namedtuple_")


def _foreign(structure: Structure, rider: bool) -> str:
    """Hash of the equations themselves where a part is not the program's own: its sources are not among the writers."""
    if all(member.part.__module__.startswith(_OWN) for member in structure) and not _patched():
        return ""
    from keyaction.models.train.equations import derived

    system = derived(structure, rider)
    told = [(d.symbol.name, d.expr) for d in system.definitions] + [(o.name, o.expr) for o in system.observables]
    told += [(row.name, rate) for row, rate in zip(system.states, system.rates, strict=True)]
    return hashlib.sha256(repr((told, system.potential, system.mass)).encode()).hexdigest()


def _key(structure: Structure, kind: str) -> str:
    """Changes with everything that changes the generated code or its compiled form."""
    parts = tuple((f"{m.part.__module__}.{m.part.__qualname__}", str(m)) for m in structure)
    about = parts, _foreign(structure, kind == "rider"), kind, _WRITERS, _libraries()
    return hashlib.sha256(repr(about).encode()).hexdigest()[:24]


def _libraries() -> tuple[str, ...]:
    """Versions that decide what is generated and how it is compiled; read from their labels, not by loading them."""
    return installed("sympy"), installed("numba"), sys.version, platform.machine()


def generated_module(structure: Structure, kind: str, write: Callable[[], str]) -> tuple[Path, str]:
    """A generated module on disk and its text, written once.

    Parameters
    ----------
    structure : Structure
    kind : str
        What is generated from it (``train``, ``rider``, ``lanes``).
    write : callable
        Gives the text when it is not there yet.
    """
    return kept_text(f"{kind}_{_key(structure, kind)}.py", write)


def load_module(path: Path, text: str, part: str = "") -> ModuleType:
    """Run a generated module under a name of its own; `part` tells apart what is made of one module."""
    return module_of(path, text, f"keyaction_generated_{path.stem}{part}")


def _compile(module: ModuleType) -> None:
    from keyaction.sim.code.compiled import compiled
    from keyaction.sim.code.straight import straight

    for name in module.STRAIGHT:
        setattr(module, name, straight(module, name))
    for name in module.COMPILED:
        setattr(module, name, compiled(getattr(module, name)))


def _vector(name: str, given: Any, size: int) -> Floats:
    """An argument as the code takes it: what reads places that are not there would give noise, or end the process."""
    found = np.asarray(given, dtype=np.float64)
    if found.shape != (size,):
        raise ValueError(f"{name} has {size} entries in one axis; given: {found.shape}")
    return found


def _checked(fill: Any, observe_all: Any, fill_jacobian: Any, sizes: tuple[int, int, int, int]) -> dict[str, Any]:
    """`rates`, `observe` and `jacobian` that take whatever NumPy makes arrays of, and refuse other sizes.

    `sizes` counts states, observables, parameters and the drive's figures.
    """
    n, m, parameters, drive = sizes

    def taken(p: Any, d: Any) -> tuple[Floats, Floats]:
        return _vector("the parameters p", p, parameters), _vector("the drive d", d, drive)

    def rates(t: float, y: Any, p: Any, d: Any) -> Floats:
        out = np.empty(n)
        fill(float(t), _vector("the state y", y, n), *taken(p, d), out)
        return out

    def observe(t: Any, y: Any, p: Any, d: Any) -> Floats:
        times, states = np.asarray(t, dtype=np.float64), np.asarray(y, dtype=np.float64)
        if times.ndim != 1 or states.shape != (len(times), n):
            raise ValueError(f"a row of {n} states belongs to every instant; given: {times.shape}, {states.shape}")
        out = np.empty((len(times), m))
        observe_all(times, states, *taken(p, d), out)
        return out

    def jacobian(t: float, y: Any, p: Any, d: Any) -> Floats:
        whole = np.zeros((n, n))
        fill_jacobian(float(t), _vector("the state y", y, n), *taken(p, d), whole)
        return whole

    return {"rates": rates, "observe": observe, "jacobian": jacobian}


def _plain(module: ModuleType, sizes: tuple[int, int, int, int]) -> dict[str, Callable[..., Any]]:
    """Plain lists are several times faster than NumPy scalars in scalar code."""

    def fill(t: float, y: Floats, p: Floats, d: Floats, out: Floats) -> None:
        found = [0.0] * len(out)
        module.rates(t, y.tolist(), p.tolist(), d.tolist(), found)
        out[:] = found

    def observe_all(t: Floats, y: Floats, p: Floats, d: Floats, out: Floats) -> None:
        rows = [[0.0] * out.shape[1] for _ in t]
        module.observe_all(t.tolist(), y.tolist(), p.tolist(), d.tolist(), rows)
        out[:] = np.reshape(rows, out.shape)

    def fill_jacobian(t: float, y: Floats, p: Floats, d: Floats, out: Floats) -> None:
        module.fill_jacobian(t, y.tolist(), p.tolist(), d.tolist(), out)

    return _functions(fill, observe_all, fill_jacobian, sizes)


def _functions(fill: Any, observe_all: Any, fill_jacobian: Any, sizes: tuple[int, int, int, int]) -> dict[str, Any]:
    """A kernel's functions by name, unchecked and checked."""
    bare = {"fill": fill, "observe_all": observe_all, "fill_jacobian": fill_jacobian}
    return bare | _checked(fill, observe_all, fill_jacobian, sizes)


def scalar_module(structure: Structure, rider: bool = False) -> tuple[Path, str]:
    """The generated module of a structure's equations on disk, and its text."""

    def write() -> str:
        from keyaction.models.train.equations import derived
        from keyaction.sim.code.scalar import generate

        return generate(derived(structure, rider))

    return generated_module(structure, "rider" if rider else "train", write)


@lru_cache(maxsize=32)
def load_kernel(structure: Structure, rider: bool = False, plain: bool | None = None) -> Kernel:
    """Generate, cache and load the equations of a structure.

    Parameters
    ----------
    structure : Structure
    rider : bool
        Whether a mass lies on the key in place of the finger.
    plain : bool, optional
        True for plain Python; by default Numba unless ``KEYACTION_PLAIN`` is set or Numba cannot be used.
    """
    path, text = scalar_module(structure, rider)
    wanted = asked_plain() if plain is None else plain
    notice = (
        "the equations run as plain Python, some times slower (KEYACTION_PLAIN is set)"
        if wanted and plain is None
        else ""
    )
    module = load_module(path, text, "_plain" if wanted else "_numba")
    layout = read_layout(module.LAYOUT)
    sizes = len(layout.states), len(layout.observables), len(layout.parameters), layout.drive_size
    functions = _plain(module, sizes)
    compiled = False
    if not wanted:
        try:
            _compile(module)
            functions = _functions(module.fill, module.observe_all, module.fill_jacobian, sizes)
            functions["rates"](0.0, np.zeros(sizes[0]), np.ones(sizes[2]), np.zeros(sizes[3]))
            compiled = True
        except Exception as problem:  # whatever stops the compiler, the plain functions do the work
            why = f"{type(problem).__name__}: {problem}".split("\n")[0]
            notice = f"the equations run as plain Python, some times slower (Numba: {why})"
            module = load_module(path, text, "_plain")
            functions = _plain(module, sizes)
    known: dict[str, Any] = {**vars(layout), **functions}
    return Kernel(**known, path=path, compiled=compiled, notice=notice)
