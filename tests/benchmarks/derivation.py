"""A train of 16 bodies: derivation, generation and compilation cold, loading warm.

Run by hand: python tests/benchmarks/derivation.py
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time

STRUCTURE = """
from keyaction.models.parts import PARTS
from keyaction.models.train.structure import Member
rods = [("tracker", f"t{i}", (0, False)) for i in range(6)]
levers = [("square", f"s{i}", ()) for i in range(4)] + [("roller", "roller", ())]
S = [("key", "key", (1,)), ("tracker", "lumped", (8, False))]
for rod, lever in zip(rods, levers):
    S += [lever, rod]
S += [("pallet", "pallet", ()), ("spring", "spring", ()), ("groove", "groove", ()), ("box", "box", ())]
S = tuple(Member(PARTS[kind], name, shape) for kind, name, shape in S)
"""

COLD = (
    STRUCTURE
    + """
import time
start = time.perf_counter()
from keyaction.models.train.equations import derived
from keyaction.sim.code.scalar import generate
system = derived(S)
told = time.perf_counter()
text = generate(system)
made = time.perf_counter()
from keyaction.sim.code.kernel import load_kernel
kernel = load_kernel(S)
end = time.perf_counter()
size = f"{len(system.coordinates)} bodies, {len(system.states)} states, {len(text.splitlines())} lines"
print(f"{size}: derive {told - start:.2f} s, generate {made - told:.2f} s, "
      f"again and compile {end - made:.2f} s (compiled: {kernel.compiled})")
"""
)

WARM = (
    STRUCTURE
    + """
import time
from keyaction.sim.code.kernel import load_kernel
start = time.perf_counter()
kernel = load_kernel(S)
print(f"warm load {time.perf_counter() - start:.3f} s")
"""
)


def main():
    with tempfile.TemporaryDirectory() as cache:
        environment = {**os.environ, "KEYACTION_CACHE": cache}
        for name, code in (("cold", COLD), ("warm", WARM)):
            start = time.perf_counter()
            done = subprocess.run(
                [sys.executable, "-c", code], env=environment, capture_output=True, text=True, check=True
            )
            print(f"{name}: {done.stdout.strip()} (whole process {time.perf_counter() - start:.2f} s)")


if __name__ == "__main__":
    main()
