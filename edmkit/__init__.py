"""Predict, plan and record die-sinking spark erosion in a small shop."""

import importlib

_HOMES = {
    "materials": ("Material", "Dielectric", "work_material", "work_materials",
                  "electrode_material", "electrode_materials", "dielectric", "dielectrics"),
    "own_material": ("make_material",),
    "own_folder": ("save_material", "own_materials"),
    "settings": ("Settings", "Relaxation", "Setup", "Flushing", "usual_polarity"),
    "machine": ("Machine", "read_machine"),
    "shop": ("Shop",),
    "estimate": ("Estimate",),
    "burn": ("Burn", "predict"),
    "finder.find": ("find_settings",),
    "planning.faces": ("Flat", "Ball", "Roller", "Bore"),
    "planning.feature": ("Feature",),
    "planning.shapes": ("Round", "Tube", "Rectangle", "RegularPolygon", "Keyway"),
    "planning.insert": ("InsertTube",),
    "planning.stop": ("Touch",),
    "planning.walls": ("Part",),
    "planning.dressing": ("Batch",),
    "planning.stages": ("Stage",),
    "planning.gate": ("Gate",),
    "planning.plan": ("Plan", "Tolerance", "plan"),
    "trials.measured": ("Measured",),
    "trials.trial": ("Trial",),
    "trials.book": ("TrialBook",),
    "trials.learn": ("learn",),
    "trials.suggest": ("suggest_trial",),
    "checks": ("Refusal", "RangeWarning"),
}  # fmt: skip
_HOME_OF = {name: module for module, names in _HOMES.items() for name in names}

__all__ = sorted(_HOME_OF)
__version__ = "0.8.0"


def __getattr__(name):
    """Load a name when it is first used, so that importing the kit costs nothing."""
    if name not in _HOME_OF:
        raise AttributeError(f"module 'edmkit' has no attribute {name!r}")
    value = getattr(importlib.import_module(f"edmkit.{_HOME_OF[name]}"), name)
    globals()[name] = value
    return value


def __dir__():
    return sorted(set(globals()) | set(__all__))
