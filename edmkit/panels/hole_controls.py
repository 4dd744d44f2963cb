"""The controls of the hole: shape, sizes, bore, depth, the face it starts on."""

import ipywidgets as widgets

from edmkit.panels.controls import Number, Pick, html, shown
from edmkit.panels.job import FACES, SHAPES
from edmkit.words import Display

_MM = {  # limits of each size in mm: anything a small shop sinks
    "size": (0.05, 1000),
    "second": (0.05, 1000),
    "corner": (0, 500),
    "bore": (0, 100),
    "depth": (0.001, 1000),
    "face_diameter": (0.5, 10_000),
}
_WORDS = {
    "size": "Diameter",
    "second": "Width",
    "corner": "Corner radius",
    "bore": "Electrode bore",
    "depth": "Depth",
    "face_diameter": "Its diameter",
}
_SIZE_WORD = dict(zip(SHAPES, ("Diameter", "Length", "Across flats"), strict=True))


class HoleControls(widgets.VBox):
    """What hole is wanted; ``values`` are the fields of `Job`, in mm."""

    def __init__(self, job):
        self.display = Display()
        self.shape = Pick("Shape", SHAPES, job.shape, stacked=True)
        self.face = Pick("Starts on", FACES, job.face, stacked=True)
        self.sides = Number("Sides", "Sides", job.sides, 3, 100, stacked=True)
        self.lengths = {
            name: Number(word, word, getattr(job, name), *_MM[name], "mm", stacked=True)
            for name, word in _WORDS.items()
        }
        heading = html('<div class="edm-head">Which hole?</div>')
        size, second, corner, bore, depth, across = self.lengths.values()
        parts = [self.shape, size, second, self.sides, corner, depth, bore, self.face, across]
        columns = "repeat(auto-fill, minmax(118px, 1fr))"
        grid = widgets.GridBox(
            parts, layout={"grid_template_columns": columns, "grid_gap": "4px 10px"}
        )
        super().__init__([heading, grid, *(entry.message for entry in self.entries)])
        self.add_class("edm-group")
        for pick in (self.shape, self.face):
            pick.on_change(self._arrange)
        self._arrange()

    def _arrange(self):
        kind = self.shape.value
        self.lengths["size"].rename(_SIZE_WORD[kind])
        shown(self.lengths["second"], kind == "Rectangle or slot")
        shown(self.lengths["corner"], kind == "Rectangle or slot")
        shown(self.sides, kind == "Regular polygon")
        shown(self.lengths["face_diameter"], self.face.value != "Flat")

    @property
    def entries(self):
        """Every number that can be typed."""
        return [*self.lengths.values(), self.sides]

    @property
    def wrong(self):
        """Whether a number in sight is not one."""
        return any(e.wrong and e.layout.display != "none" for e in self.entries)

    @property
    def values(self):
        """The hole as fields of a `Job`."""
        sizes = {name: self.display.length_mm(e.value) for name, e in self.lengths.items()}
        return {**sizes, "sides": self.sides.value, "shape": self.shape.value,
                "face": self.face.value}  # fmt: skip

    def take(self, job):
        """Set the controls to a job."""
        self.shape.value, self.face.value, self.sides.value = job.shape, job.face, job.sides
        for name, entry in self.lengths.items():
            entry.value = self.display.length(getattr(job, name))

    def show_in(self, display):
        """Show the sizes in mm or in inches; the hole stays the same."""
        sizes, self.display = self.values, display
        for name, entry in self.lengths.items():
            low, high = (display.length(v) for v in _MM[name])
            entry.show_as(display.length(sizes[name]), display.length_unit, low, high)

    def on_change(self, callback):
        """Call back when anything of the hole has changed."""
        for control in (self.shape, self.face, *self.entries):
            control.on_change(callback)
