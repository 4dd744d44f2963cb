"""The crater tables: solved once per work material, kept in ``data/``, read when first asked for.

``python -m edmkit.tables`` builds those that are missing or stale; it can be stopped and goes on
where it was. Give names of materials to build only those, ``--all`` to build every one anew.
"""

import os
import sys
from functools import cache
from pathlib import Path

import numpy as np

from edmkit.checks import Refusal
from edmkit.materials import work_material, work_materials
from edmkit.own_folder import table_path
from edmkit.own_material import is_own
from edmkit.physics import crater as formulas
from edmkit.physics import heat

FOLDER = Path(__file__).parent / "data"
FLUX_NODES, FOURIER_NODES = 24, 18
_THINNEST = 0.5  # flux number of a source that melts nothing any more, 0.53 for ever; derived
_THIN, _FINER = 1.6, 40  # below this flux number only a small early spot melts: more cells
_MOST = (0.30, 30.0)  # share and voltage of the hardest sparks; their flux is the highest
_CLAMPED = {"brass": 1600.0}  # K, by family: zinc boils off far below copper, assumption
_NOT_REHARDENING = "austenitic"  # stainless that no heat hardens
_DIGITS = 5


def numbers(metal):
    """Return what a metal's craters depend on: latent heat, boiling, isotherms [-], diffusivity.

    Parameters
    ----------
    metal : Material
        A work material.

    Returns
    -------
    dict
        ``latent``, ``boiling``, ``rehardened``, ``tempered`` over the rise to melting (nan where
        the metal has no such limit), ``diffusivity`` [m²/s], ``hardest`` and ``thinnest`` flux
        numbers [-].
    """
    rise = metal.melting_point - formulas.START
    hardens = metal.is_steel and _NOT_REHARDENING not in metal.family
    levels = {"rehardened": formulas.REHARDENS if hardens else None, "tempered": metal.temper_limit}
    boiling = _CLAMPED.get(metal.family, metal.boiling_point)
    share, volts = _MOST
    hardest = formulas.flux_number(formulas.CURRENTS[1], formulas.ON_TIMES[0], volts, share, metal)
    found = {
        "latent": metal.fusion_heat / metal.heat_capacity / rise,
        "boiling": (boiling - formulas.START) / rise,
        **{n: np.nan if t is None else (t - formulas.START) / rise for n, t in levels.items()},
        "diffusivity": metal.diffusivity,
        "thinnest": _THINNEST,
        "hardest": float(hardest),
    }
    return {name: float(f"{value:.{_DIGITS}g}") for name, value in found.items()}


def _nodes(known):
    """Return the flux and Fourier numbers of a metal's table."""
    (low, high), (short, long) = formulas.CURRENTS, formulas.ON_TIMES
    ends = [
        known["diffusivity"] * time / formulas.source_radius(amps, time) ** 2
        for amps, time in ((high, short), (low, long))
    ]
    fluxes = np.geomspace(known["thinnest"], known["hardest"], FLUX_NODES)
    return fluxes, np.geomspace(*ends, FOURIER_NODES)


# --- reading ------------------------------------------------------------------------------
def path_of(metal):
    """Return where a metal's table is kept."""
    return table_path(metal.key) if is_own(metal) else FOLDER / f"craters_{metal.key}.csv"


def _heading(known):
    return "# " + ", ".join(f"{name} {value:g}" for name, value in known.items())


@cache
def table(metal):
    """Return the table of craters of a work material.

    Parameters
    ----------
    metal : Material
        A work material.

    Returns
    -------
    Table

    Raises
    ------
    Refusal
        If the metal has no table, or one that was built for other numbers.
    """
    path = path_of(metal)
    if not path.exists():
        raise Refusal(f"there is no table of craters for {metal.name}: build it {_where(metal)}.")
    known, lines = numbers(metal), path.read_text(encoding="utf-8").splitlines()
    if lines[1:2] != [_heading(known)]:
        raise Refusal(
            f"the table of craters for {metal.name} was built for other numbers of the material: "
            f"build it anew {_where(metal)}."
        )
    rows = np.array([[float(cell or "nan") for cell in line.split(",")] for line in lines[3:]])
    values = rows[:, 2:].reshape(FLUX_NODES, FOURIER_NODES, len(formulas.FIELDS))
    return formulas.Table(*_nodes(known), values)


def _where(metal):
    own = is_own(metal)
    return "on the page 'A new material'" if own else f"with python -m edmkit.tables {metal.key}"


def crater(current, on_time, discharge_voltage, energy_share, metal):
    """Return the crater that one spark melts in a metal, from its own table.

    Parameters
    ----------
    current, on_time, discharge_voltage, energy_share : float or array, broadcast together
        Current of the spark [A], its burning time [s], voltage of the burning gap [V],
        share of its energy that enters the metal [-].
    metal : Material
        A work material.

    Returns
    -------
    Crater
        Lengths [m] and melt volume [m³].

    Raises
    ------
    Refusal
        If an input is outside its range, or the metal has no table.
    """
    spark = (current, on_time, discharge_voltage, energy_share, metal)
    return formulas.crater(*spark, table(metal))


# --- building -----------------------------------------------------------------------------
def solved(known, fourier, fluxes, cells=None):
    """Return one row of a table: the `FIELDS` for each flux number at one Fourier number.

    Parameters
    ----------
    known : dict
        From `numbers`.
    fourier : float
        Fourier number of the pulse [-].
    fluxes : array
        Flux numbers, rising [-].
    cells : int or None
        Cells across the depth, None for the usual number.

    Returns
    -------
    array
        Flux number x `FIELDS`, scaled as in `Table`.
    """
    thin = fluxes < _THIN
    if cells is None and thin.any() and not thin.all():
        parts = [solved(known, fourier, fluxes[pick]) for pick in (thin, ~thin)]
        return np.concatenate(parts)
    grid = heat.grid(fourier, cells or (_FINER if thin.all() else heat.CELLS))
    levels = {n: known[n] for n in ("rehardened", "tempered") if not np.isnan(known[n])}
    pool = heat.solve(grid, fourier, fluxes, known["latent"], known["boiling"], levels.values())
    diffusion = np.sqrt(fourier)
    columns = [pool.radius, pool.depth / diffusion, np.cbrt(pool.volume / diffusion)]
    lines = dict(zip(levels, zip(pool.isotherm_radius, pool.isotherm_depth / diffusion,
                                 strict=True), strict=True))  # fmt: skip
    for name in ("rehardened", "tempered"):
        columns += lines.get(name, [np.full(len(fluxes), np.nan)] * 2)
    return np.stack(columns, axis=-1)


def _row(metal, number):
    """Solve one row, or take it from where a stopped run has left it; an own one leaves nothing."""
    known = numbers(metal)
    fluxes, fouriers = _nodes(known)
    if is_own(metal):
        return solved(known, fouriers[number], fluxes)
    kept = FOLDER / f".craters_{metal.key}_{number}.npz"
    if kept.exists():
        with np.load(kept) as found:
            if str(found["heading"]) == _heading(known):
                return found["row"]
    row = solved(known, fouriers[number], fluxes)
    beside = kept.with_suffix(".part.npz")
    np.savez(beside, row=row, heading=_heading(known))
    beside.replace(kept)
    return row


def _text(metal, rows):
    """Return the table's file: five digits, an empty cell where there is no figure."""
    known = numbers(metal)
    fluxes, fouriers = _nodes(known)
    lines = [
        f"# craters of {metal.name}, solved by python -m edmkit.tables: growing Gaussian source, "
        "melting, vapour limit. No measured crater checks them.",
        _heading(known),
        ",".join(("flux_number", "fourier_number", *formulas.FIELDS)),
    ]
    for i, flux in enumerate(fluxes):
        for fourier, row in zip(fouriers, rows, strict=True):
            cells = ("" if np.isnan(v) else f"{v:.{_DIGITS}g}" for v in (flux, fourier, *row[i]))
            lines.append(",".join(cells))
    return "\n".join(lines) + "\n"


def build(metal, run=map, report=None):
    """Build a material's table and put it in its place when it is whole.

    Parameters
    ----------
    metal : Material
        A work material.
    run : callable
        Like `map`; that of a process pool solves several rows at a time.
    report : callable or None
        Told after each row how many of how many are done.
    """
    rows = []
    for row in run(_row, [metal] * FOURIER_NODES, range(FOURIER_NODES)):
        rows.append(row)
        if report:
            report(len(rows), FOURIER_NODES)
    path = path_of(metal)
    beside = path.with_suffix(f".{os.getpid()}.part")
    try:
        beside.write_text(_text(metal, rows), encoding="utf-8", newline="\n")
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)
    for kept in FOLDER.glob(f".craters_{metal.key}_*.npz"):
        kept.unlink()
    table.cache_clear()


def is_built(metal):
    """Return whether a metal has a table of its own numbers."""
    try:
        table(metal)
    except Refusal:
        return False
    return True


def _bar(metal):
    def report(done, of):
        bar = "#" * done + "." * (of - done)
        sys.stderr.write(f"\r{metal.key:10} [{bar}] {done} of {of} rows" + "\n" * (done == of))
        sys.stderr.flush()

    return report


def workers():
    """Return a pool of processes, one a core, that end when the one that asked for them is gone."""
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    os.environ["OPENBLAS_NUM_THREADS"] = "1"  # the processes share the cores, not each product
    return ProcessPoolExecutor(mp_context=get_context("spawn"), initializer=_end_with_parent)


def _end_with_parent():
    from multiprocessing import parent_process
    from threading import Thread

    def wait():
        parent_process().join()
        os._exit(1)  # a killed parent would leave its workers waiting for ever

    Thread(target=wait, daemon=True).start()


def main(arguments):
    """Build what the command line asks for."""
    names = [name for name in arguments if name != "--all"]
    metals = [work_material(name) for name in names or work_materials()]
    metals = [metal for metal in metals if names or not is_own(metal)]
    wanted = [m for m in metals if names or "--all" in arguments or not is_built(m)]
    with workers() as pool:
        for metal in wanted:
            build(metal, pool.map, _bar(metal))
    sys.stderr.write(f"{len(wanted)} tables built, {len(metals) - len(wanted)} were in order.\n")


if __name__ == "__main__":
    main(sys.argv[1:])
