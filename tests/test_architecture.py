"""How the house is built: imports point down, the kit starts light, formulas say their units."""

import ast
import functools
import graphlib
import importlib
import inspect
import re
import subprocess
import sys
from pathlib import Path

import pytest

import edmkit

HOUSE = Path(edmkit.__file__).parent
# Bottom to top; a room may import rooms on floors below its own, and on its own floor those
# named before it.
FLOORS = (
    ("units", "checks", "words", "data", "toml_file", "home"),
    (
        "substances",
        "own_material",
        "plausibility",
        "own_folder",
        "materials",
        "settings",
        "switches",
        "machine",
        "machine_text",
    ),
    tuple(
        f"physics.{room}"
        for room in "pulse heat conduction crater removal wear finish gap states erosion "
        "fluid passage flow renewal clogging pulse_by_pulse load film relaxation crater_surface "
        "surface_starts profile areal".split()
    ),
    (
        "tables",
        "own_tables",
        "likely",
        "regression",
        "knowledge",
        "shop",
        "cautions",
        "estimate",
        "burn",
        "spark",
        "spark_film",
    ),
    ("finder", "working", "evidence"),
    ("planning",),
    ("flushing",),
    ("dials",),
    ("trials",),
    ("plots",),
    ("panels",),
    ("jupyter", "__main__"),
)
ORDER = {room: place for place, room in enumerate(room for floor in FLOORS for room in floor)}
HEAVY = ("numpy", "scipy", "pandas", "plotly", "ipywidgets", "anywidget", "IPython")
FILES = sorted(path for path in HOUSE.rglob("*.py") if path != HOUSE / "__init__.py")
PHYSICS = sorted(path.stem for path in (HOUSE / "physics").glob("*.py") if path.stem != "__init__")


def module_name(path):
    """Return the name of a file inside the package: ``physics.gap``."""
    parts = path.relative_to(HOUSE).with_suffix("").parts
    return ".".join(part for part in parts if part != "__init__")


def room_of(name):
    """Return the room on the plan that a module belongs to, None where it is not on the plan."""
    return next((room for room in (name, name.split(".")[0]) if room in ORDER), None)


def imports_of(source):
    """Return every module a source imports, also inside functions, by its full name."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports name the whole path"
            found.append(node.module)
            found += [f"{node.module}.{alias.name}" for alias in node.names]
    return found


def wrong_imports(name, source):
    """Return what a module of the kit imports from its own height or above."""
    wrong = []
    for target in imports_of(source):
        inside = target.removeprefix("edmkit.")
        if inside == target or not (HOUSE / inside.replace(".", "/")).with_suffix(".py").exists():
            continue
        if room_of(inside) != room_of(name) and ORDER[room_of(inside)] > ORDER[room_of(name)]:
            wrong.append(target)
    return wrong


def public_functions(module):
    """Return the public functions that a module itself defines."""
    return [
        function
        for name, function in inspect.getmembers(module, inspect.isfunction)
        if not name.startswith("_") and function.__module__ == module.__name__
    ]


FORMULAS = [
    function
    for name in PHYSICS
    for function in public_functions(importlib.import_module(f"edmkit.physics.{name}"))
]


def calls_require(function):
    """Return whether a function checks its input, itself or through the module's helpers."""
    room = inspect.getmodule(function)
    called = {
        node.func.id
        for node in ast.walk(ast.parse(inspect.getsource(function)))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }
    helpers = (getattr(room, name, None) for name in called)
    return bool(called & {"require", "one_of"}) or any(
        calls_require(helper)
        for helper in helpers
        if inspect.isfunction(helper) and helper.__module__ == room.__name__
    )


# --- imports ---
@pytest.mark.parametrize("path", FILES, ids=module_name)
def test_every_file_has_its_place(path):
    if path.parent == HOUSE / "physics" and path.stem == "__init__":
        assert imports_of(path.read_text(encoding="utf-8")) == []
    else:
        assert room_of(module_name(path)), f"{path.name} is on no floor: put it on the plan"


@pytest.mark.parametrize("path", FILES, ids=module_name)
def test_imports_point_down(path):
    assert wrong_imports(module_name(path), path.read_text(encoding="utf-8")) == []


def test_an_import_that_points_up_is_found():
    up = "def f():\n    from edmkit.physics.gap import gap_side\n"
    assert wrong_imports("settings", up) == ["edmkit.physics.gap"]
    assert wrong_imports("physics.crater", up) == ["edmkit.physics.gap"]
    assert wrong_imports("physics.gap", "import edmkit.physics.states") == ["edmkit.physics.states"]
    assert wrong_imports("physics.states", up) == []
    assert wrong_imports("checks", "from edmkit import settings") == ["edmkit.settings"]
    assert wrong_imports("planning.shapes", "import edmkit.panels.live") == ["edmkit.panels.live"]


def test_no_imports_go_in_a_circle():
    graph = {
        module_name(path): {
            target.removeprefix("edmkit.")
            for target in imports_of(path.read_text(encoding="utf-8"))
            if target.startswith("edmkit.")
        }
        for path in FILES
    }
    order = list(graphlib.TopologicalSorter(graph).static_order())
    assert order.index("units") < order.index("physics.gap") < order.index("burn")


@pytest.mark.parametrize("path", FILES, ids=module_name)
def test_only_panels_know_widgets(path):
    libraries = {name.split(".")[0] for name in imports_of(path.read_text(encoding="utf-8"))}
    if not module_name(path).startswith("panels"):
        assert not libraries & {"ipywidgets", "anywidget", "IPython"}
    if module_name(path).startswith("physics"):
        # closed forms ask scipy for Bessel and error functions, inside the function that needs them
        pure = {"numpy", "dataclasses", "edmkit", "warnings", "scipy"}
        assert libraries <= pure, "physics is pure"


# --- the front door ---
def loaded_after(statement):
    """Return the heavy libraries a fresh Python has loaded after a statement."""
    code = f"import sys; {statement}; print(*[m for m in {HEAVY!r} if m in sys.modules])"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return run.stdout.split()


def test_import_loads_nothing_heavy():
    assert loaded_after("import edmkit") == []


def test_settings_load_only_numpy():
    assert loaded_after("import edmkit; edmkit.Settings(3, 50, 25)") == ["numpy"]


def test_a_prediction_loads_only_numpy():
    case = (
        "import edmkit as ek; "
        "ek.predict(ek.Setup(ek.work_material('52100'), ek.electrode_material('copper'), "
        "ek.dielectric('edm_oil'), 'electrode positive', 7.0), ek.Settings(3, 50, 25))"
    )
    assert loaded_after(case) == ["numpy"]


@pytest.mark.parametrize("name", edmkit.__all__)
def test_every_promised_name_is_there(name):
    assert getattr(edmkit, name).__name__ == name
    assert name in dir(edmkit)


def test_a_name_that_is_not_promised_is_refused():
    with pytest.raises(AttributeError, match="no attribute 'Setings'"):
        edmkit.Setings  # noqa: B018


# --- docstrings of the formulas ---
def section(doc, title):
    """Return the text of one section of a numpydoc docstring, empty where it has none."""
    found = re.search(rf"^{title}\n-+\n(.*?)(?=^\w[\w ]*\n---|\Z)", doc, re.M | re.S)
    return found.group(1) if found else ""


@pytest.mark.parametrize("formula", FORMULAS, ids=lambda f: f"{f.__module__[15:]}.{f.__name__}")
def test_every_formula_says_its_parameters_units_and_limits(formula):
    doc = inspect.getdoc(formula)
    assert doc.startswith("Return ")
    first = doc.splitlines()[0]
    assert first.endswith((".", ":")) and len(doc.splitlines()) <= 25
    named = re.findall(r"^([\w, ]+) :", section(doc, "Parameters"), re.M)
    named = [name.strip() for line in named for name in line.split(",")]
    assert sorted(named) == sorted(inspect.signature(formula).parameters)
    if "[" not in first:  # a result of several numbers says its units with its fields
        returned = section(doc, "Returns").splitlines()[0].split(" or ")[0]
        result = getattr(inspect.getmodule(formula), returned)
        units = inspect.getdoc(result) + section(doc, "Returns")
        assert "[" in units and dataclass_fields(result)
    assert section(doc, "Notes").strip()
    assert bool(section(doc, "Raises")) == calls_require(formula)


def dataclass_fields(result):
    """Return the fields of a frozen dataclass."""
    assert result.__dataclass_params__.frozen
    return result.__dataclass_fields__


@pytest.mark.parametrize("formula", FORMULAS, ids=lambda f: f"{f.__module__[15:]}.{f.__name__}")
def test_every_formula_is_tested_and_refuses(formula):
    room = formula.__module__.rsplit(".")[-1]
    tests = (Path(__file__).parent / f"test_{room}.py").read_text(encoding="utf-8")
    assert f"# --- {formula.__name__} ---" in tests
    assert calls_require(formula)


# --- style ---
@functools.cache
def ruff(*arguments):
    """Return what ruff says about the package, empty if nothing."""
    command = [sys.executable, "-m", "ruff", *arguments, "--no-cache", str(HOUSE)]
    run = subprocess.run(command, capture_output=True, text=True, cwd=HOUSE.parent, check=False)
    return "" if run.returncode == 0 else run.stdout + run.stderr


def test_ruff_finds_nothing():
    assert ruff("check", "--quiet") == ""


def test_ruff_format_changes_nothing():
    assert ruff("format", "--check", "--quiet") == ""


@pytest.mark.parametrize("path", FILES, ids=module_name)
def test_lines_and_functions_are_short(path):
    lines = path.read_text(encoding="utf-8").splitlines()
    assert [line for line in lines if len(line) > 100] == []
    for node in ast.walk(ast.parse("\n".join(lines))):
        if isinstance(node, ast.FunctionDef):
            has_text = ast.get_docstring(node) is not None
            body = node.body[has_text:]
            length = body[-1].end_lineno - body[0].lineno + 1 if body else 0
            assert length <= 40, f"{node.name} is {length} lines"
