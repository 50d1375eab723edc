"""How long the tolerances of 56 notes take: presses, clock and processor; run by hand.

python tests/benchmarks/onsite_tolerances.py
"""

import resource
import time

from keyaction.cases.action.reader import read_case
from keyaction.cases.study.spreads import uncertain
from keyaction.sim.tolerances.full import full_draws
from keyaction.sim.tolerances.sensitivity import sensitivities
from keyaction.sim.tolerances.steps import Lineal, draw_steps
from keyaction.sim.tolerances.worth import worths


def spent():
    """Processor time of this process and its children, s."""
    own, others = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return own.ru_utime + own.ru_stime + others.ru_utime + others.ru_stime


def timed(words, work):
    """Do it and say what it took."""
    clock, processor = time.perf_counter(), spent()
    found = work()
    print(f"{words}: {time.perf_counter() - clock:.1f} s, processor {spent() - processor:.1f} s", flush=True)
    return found


def main():
    """The shipped manual."""
    case = read_case("demo-wood")
    sensitivities(case, [60], jobs=1)  # equations and statics compiled
    found = timed("sensitivities of 56 notes", lambda: sensitivities(case, case.compass))
    one_by_one = sum((1 if len(one.pieces) < 2 else 1 + len(one.pieces)) for one in uncertain(case, case.compass))
    print(f"{found.presses} presses; each tolerance up and down would be {2 * one_by_one * len(case.compass)}")
    line = Lineal.of(found, "pluck")
    drawn = timed("100 000 draws of the straight lines", lambda: draw_steps(line))
    timed("worth of all tolerances, twelve variants drawn", lambda: worths(found, line, 100_000))
    full = timed("20 full draws", lambda: full_draws(case, case.compass, 20)).scatter(line)
    print(f"formula {line.share():.4f}; drawn {drawn.all.share:.4f} ± {drawn.all.share_error:.4f}")
    print(f"full {full.share:.4f} ± {full.share_error:.4f}")


if __name__ == "__main__":
    main()
