"""The finder: 1.66 million settings, the exact front, `find_settings`, made-up shops.

.venv/bin/python tests/bench/bench_find.py [shops]

Each figure stands beside its goal; one that misses it is marked. The machine here is invented: 12
currents, 18 on-times, 16 off-times, 6 voltages and a lift timer of 10 by 8 steps.
"""

import statistics
import sys
import time
import warnings
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))
from finder_shops import CHANCES, LIMITS, TRIALS, tally

import edmkit as ek
from edmkit.finder import bars, grid
from edmkit.finder.find import find_settings
from edmkit.finder.front import non_dominated
from edmkit.machine import machine_from_text

ROUNDS = 7
BURN_S, UP_S = (0.5, 8.0), (0.2, 3.0)  # 10 and 8 steps are taken of these
LIMIT = {"max_Ra_um": 3.0, "max_wear_percent": 15.0}


def _beside(value, most=None, least=None, form=".2f"):
    """Return a figure with its goal, marked where it misses it."""
    fails = (most is not None and value > most) or (least is not None and value < least)
    goal = f"at most {most:g}" if most is not None else f"at least {least:g}"
    return f"{value:{form}} (goal {goal}{': MISSES IT' if fails else ''})"


def seconds(work, rounds=ROUNDS):
    """Return what a piece of work took, each time [s]."""
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return times


def _switch(name, values):
    rows = ", ".join(
        f'{{ label = "{n}", value = {value:.6g}, how_known = "plate" }}'
        for n, value in enumerate(values, 1)
    )
    adds = 'switches = "one at a time"\n' if name == "peak_current_A" else ""
    return f"[{name}]\n{adds}positions = [{rows}]\n"


def big_machine():
    """Return an invented machine of 20 736 positions, with a lift timer."""
    text = (
        'name = "Large (invented)"\non_time_counts = "from breakdown"\nplate_current = "spark"\n'
        "polarity_switch = true\n"
        + _switch("peak_current_A", np.geomspace(0.5, 50, 12))
        + _switch("on_time_us", np.geomspace(2, 800, 18))
        + _switch("off_time_us", np.geomspace(3, 500, 16))
        + _switch("open_voltage_V", np.linspace(80, 200, 6))
        + f"[lift]\nburn_s = {list(BURN_S)}\nup_s = {list(UP_S)}\n"
        "[resolution]\ndial_mm = 0.01\nstop_mm = 0.01\n"
    )
    return machine_from_text(text, "large")


def setup(machine=None):
    """Return copper on hardened steel in oil."""
    pair = ek.work_material("52100"), ek.electrode_material("copper")
    return ek.Setup(*pair, ek.dielectric("edm_oil"), "electrode positive", 20.0, machine=machine)


def whole_grid(at):
    """Return all settings of one polarity as an open mesh of 12 x 18 x 16 x 6 x 10 x 8."""
    mesh = grid.mesh(at, all_lifts=True)
    assert mesh.shape == (12, 18, 16, 6, 10, 8), mesh.shape
    return mesh


def answers(at, settings):
    """Return minutes, roughness and wear and their chances as six full arrays."""
    burn = ek.predict(at, settings)
    three = burn.minutes(20.0), burn.roughness_Ra_um, burn.relative_wear_percent
    full = [np.empty(settings.shape) for _ in range(6)]
    for place, (estimate, limit) in enumerate(zip(three, (30.0, 3.0, 15.0), strict=True)):
        bar = bars.Limit("limit", "", "", "", limit)
        np.copyto(full[2 * place], estimate.likely)
        np.copyto(full[2 * place + 1], _chance(bar, estimate))
    return full


def _chance(bar, estimate):
    """Return the chance as the finder works it out: on the core of the answer."""
    from edmkit.estimate import Estimate, core

    return Estimate(core(estimate.likely), core(estimate.spread)).chance_below(bar.value)


def full_grid(at, settings):
    """Return the same six arrays by plain broadcasting: every setting a row of its own."""
    names = ("peak_current_A", "on_time_us", "off_time_us", "open_voltage_V",
             "lift_burn_s", "lift_up_s")  # fmt: skip
    rows = np.broadcast_arrays(*(getattr(settings, name) for name in names))
    loose = ek.Settings(**{n: row.ravel() for n, row in zip(names, rows, strict=True)})
    burn = ek.predict(at, loose)
    three = burn.minutes(20.0), burn.roughness_Ra_um, burn.relative_wear_percent
    return [part for estimate, limit in zip(three, (30.0, 3.0, 15.0), strict=True)
            for part in (estimate.likely, estimate.chance_below(limit))]  # fmt: skip


def every_setting(at):
    """Print how long 1.66 million settings take, over a copy and over the plain form."""
    settings = whole_grid(at)
    mine = statistics.median(seconds(lambda: answers(at, settings)))
    source = answers(at, settings)
    target = [np.empty_like(s) for s in source]
    copying = statistics.median(
        seconds(lambda: [np.copyto(t, s) for t, s in zip(target, source, strict=True)])
    )
    start = time.perf_counter()
    plain = full_grid(at, settings)
    took = time.perf_counter() - start
    for one, other in zip(source, plain, strict=True):
        np.testing.assert_allclose(one.ravel(), other, rtol=1e-9)
    print(f"1 658 880 settings, three answers and chances / copyto: {_beside(mine / copying, 8)}")
    print(f"the plain full grid / the same: {_beside(took / mine, least=10, form='.1f')}")
    burn = ek.predict(at, settings)
    return burn.minutes(20.0).likely, burn.roughness_Ra_um.likely, burn.relative_wear_percent.likely


def front_ratio(name, columns, goal, rounds=ROUNDS):
    """Print how long the front takes over an argsort of its first column."""
    flat = np.array(np.broadcast_to(columns[0], np.broadcast_shapes(*map(np.shape, columns))))
    sorting = statistics.median(seconds(lambda: np.argsort(flat.ravel()), rounds))
    front = statistics.median(seconds(lambda: non_dominated(*columns), rounds))
    count = int(non_dominated(*columns).sum())
    print(f"exact front of {name} ({count} on it) / argsort: {_beside(front / sorting, goal)}")


def fronts(columns):
    """Print the fronts' times, and whether they equal those of moocore."""
    random = np.random.default_rng(1)
    for count in (1_000_000, 1_658_880):
        front_ratio(f"{count} random points", random.random((3, count)), 1.2)
    front_ratio("the machine's grid", columns, 0.2)
    try:
        import moocore
    except ImportError:
        print("moocore is not installed (extra `check`): fronts are not held against it.")
        return
    cases = {"random": random.random((3, 100_000)), "two columns": random.random((2, 100_000)),
             "ties": random.integers(0, 30, (3, 50_000)).astype(float),
             "normal": random.normal(size=(3, 50_000))}  # fmt: skip
    cases["duplicates"] = np.repeat(random.random((3, 10_000)).round(2), 3, axis=1)
    shell = np.abs(random.normal(size=(3, 30_000)))
    cases["a shell, nearly all on the front"] = shell / np.linalg.norm(shell, axis=0)
    cases["the machine's grid"] = np.stack([c.ravel() for c in np.broadcast_arrays(*columns)])
    for name, points in cases.items():
        mine = non_dominated(*points)
        theirs = moocore.is_nondominated(points.T, keep_weakly=True)
        same = "equal" if np.array_equal(mine, theirs) else "DIFFERENT"
        print(f"front against moocore, {name}: {same} ({mine.sum()} of {len(mine)})")


def finding(at):
    """Print how long `find_settings` takes."""
    folder = Path(__file__).parents[2] / "data_demo"
    machines = [ek.read_machine(path) for path in sorted(folder.glob("*.toml"))]
    cases = {m.name: (setup(m), {}) for m in machines}
    cases |= {f"{m.name}, other lifts too": (setup(m), {"also": ("other lift",)}) for m in machines}
    cases["the large machine"] = at, {}
    cases["the large machine, other lifts too"] = at, {"also": ("other lift",)}
    for name, (one, given) in cases.items():
        for chance in (0.8, 0.01):  # some meet the limits, nearly all do
            work = lambda o=one, g=given, c=chance: find_settings(o, **LIMIT, chance=c, **g)  # noqa: E731
            found, times = work(), seconds(work, 20)
            middle, late = np.percentile(times, [50, 95])
            print(f"find_settings, {name}, {found.looked_at} looked at, {found.met} met: median "
                  f"{middle:.3f} s, 95 %: {_beside(late, 0.5, form='.3f')} s")  # fmt: skip
    none = lambda: find_settings(at, max_Ra_um=0.05, also=("other lift",))  # noqa: E731
    late = np.percentile(seconds(none, 10), 95)
    print(f"find_settings, the large machine, nothing found, 95 %: {_beside(late, 0.5)} s")


def _shops(job):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ek.RangeWarning)
        return job, tally(*job, 2)


def shops(count):
    """Print by how many points made-up shops meet a limit less often than the chance stated."""
    print(f"{count} made-up shops each: points met less often than stated at "
          f"{', '.join(f'{c:.0%}' for c in CHANCES)} (goal at most 5; in brackets one standard "
          "error, and shops where nothing was found)")  # fmt: skip
    jobs = [(limit, case, trials, chance, count) for case in ("prior", "level")
            for trials in TRIALS for limit in LIMITS for chance in CHANCES]  # fmt: skip
    with ProcessPoolExecutor(2) as pool:
        row = []
        for (limit, case, trials, chance, _), found in pool.map(_shops, jobs):
            mark = "!" if found.points_short > 5 else ""
            row.append(f"{found.points_short:+.1f}{mark} ({found.error:.1f}, {found.not_found})")
            if chance == CHANCES[-1]:
                print(f"{case:6} n={trials:2} {limit:17}: {'  '.join(row)}", flush=True)
                row = []


if __name__ == "__main__":
    warnings.simplefilter("ignore", ek.RangeWarning)
    large = setup(big_machine())
    fronts(every_setting(large))
    finding(large)
    shops(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
