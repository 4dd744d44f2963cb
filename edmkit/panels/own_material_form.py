"""A form for a work material of the shop's own: numbers with ranges, a source, the table built."""

import asyncio
from contextlib import suppress
from html import escape

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.materials import work_material, work_materials
from edmkit.own_folder import complaints, own_materials, remove_material, save_material
from edmkit.own_material import LIMITS, NEEDED, families, make_material
from edmkit.own_tables import ROWS, start_build
from edmkit.panels.controls import Number, Pick, html, label_of, layout, refusal, shown
from edmkit.plausibility import doubts
from edmkit.substances import SI

_WORDS = {
    "density_kg_m3": "Density",
    "cp_mean_to_melt_J_kgK": "Heat capacity, mean to melting",
    "k_high_W_mK": "Heat conductivity near 1000 °C",
    "melt_used_C": "Melting point for craters",
    "T_boil_C": "Boiling point",
    "latent_fusion_kJ_kg": "Heat of melting",
    "k_room_W_mK": "Heat conductivity at 20 °C",
    "resistivity_uohm_cm": "Resistivity at 20 °C",
    "T_solidus_C": "Begins to melt",
    "T_liquidus_C": "All is molten",
    "temper_limit_C": "Softens a finished part",
}
_TEXTS = {"name": "Name", "hardness": "Hardness", "source": "Where the numbers come from",
          "contains": "Harmful metals in it, with commas"}  # fmt: skip
_POLL_S = 0.3


class OwnMaterialForm(widgets.VBox):
    """Makes, keeps and removes work materials; ``page`` is told by ``offer_works(key)``."""

    def __init__(self, page):
        self.page, self.build, self._is_new = page, None, False
        self.fields = {name: self._field(name) for name in LIMITS}
        self.texts = {name: _text(words) for name, words in _TEXTS.items()}
        self.family = Pick("Family", list(families()), stacked=True)
        named = [(work_material(key).name, key) for key in work_materials()]
        self.like = Pick("Fill in from", named, stacked=True)
        self.fill = _button("Fill in its numbers")
        self.save, self.cancel = _button("Save and solve its craters"), _button("Stop solving")
        self.mine, self.remove = (
            Pick("Your own", [("none yet", "")], stacked=True),
            _button("Remove it"),
        )
        self.said, self.progress, self.wrong = html(), html(), html()
        super().__init__(self._arranged())
        shown(self.cancel, False)
        self._show_mine()
        for number in self._numbers:
            number.on_change(self._complain)
        self.fill.on_click(lambda _: self._fill())
        self.save.on_click(lambda _: self._save())
        self.cancel.on_click(lambda _: self._cancel())
        self.remove.on_click(lambda _: self._remove())

    def _field(self, name):
        low, high, unit, _ = LIMITS[name]
        word = _WORDS[name]
        ends = [Number(f"{word}{more}", f"{word.lower()}{more}", None, low, high, unit, "-",
                       stacked=True)
                for more in ("", ", lowest", ", highest")]  # fmt: skip
        return ends

    def _arranged(self):
        explain = html(
            '<div class="edm-note">Start from the nearest metal of the kit, change what you know, '
            "and say where it comes from. Lowest and highest are what you would still believe; "
            "left empty, 10 % either side are assumed. The craters are then solved once, in about "
            "half a minute to two minutes; after that the material is on every page.</div>"
        )
        wrap = {"flex_flow": "row wrap", "grid_gap": "2px 14px"}
        head = widgets.HBox([self.like, self.fill], layout=wrap)
        words = [self._titled(name) for name in _TEXTS]
        names = widgets.HBox([words[0], self.family, *words[1:]], layout=wrap)
        columns = {"grid_template_columns": "repeat(3, minmax(110px, 220px))",
                   "grid_gap": "2px 12px"}  # fmt: skip
        needed = [n for name in NEEDED for n in self.fields[name]]
        more = [n for name in LIMITS if name not in NEEDED for n in self.fields[name]]
        return [explain, head, names, widgets.GridBox(needed, layout=columns),
                html("<h3>If you know them too</h3>"), widgets.GridBox(more, layout=columns),
                self.wrong, self.save, self.cancel, self.progress, self.said,
                widgets.HBox([self.mine, self.remove], layout=wrap)]  # fmt: skip

    @property
    def _numbers(self):
        return [number for trio in self.fields.values() for number in trio]

    def _complain(self):
        """Show what is wrong with the numbers, in one place below them."""
        self.wrong.value = "".join(number.complaint for number in self._numbers)

    def _titled(self, name):
        return widgets.VBox([label_of(_TEXTS[name]), self.texts[name]])

    # --- filling in -------------------------------------------------------------------------
    def _fill(self):
        """Take the numbers and ranges of a material of the kit."""
        metal = work_material(self.like.value)
        self.family.value = metal.family
        for name, trio in self.fields.items():
            known, factor, offset = SI[name]
            found = metal.properties.get(known)
            ends = (found.value, found.low, found.high) if found else (None,) * 3
            for number, value in zip(trio, ends, strict=True):
                number.value = None if value is None else (value - offset) / factor
        if not self.texts["source"].value:
            self.texts["source"].value = f"taken from {metal.name.split(',')[0]}, to be replaced"

    def material(self):
        """Return the material as it stands on the form, or refuse."""
        if any(number.wrong for number in self._numbers):
            raise Refusal("a number marked 'Check this' must be put right before this is saved.")
        given, ranges = {}, {}
        for name, (value, low, high) in self.fields.items():
            ends = (low.value, high.value)
            if value.value is not None:
                given[name] = value.value
            elif name in NEEDED:
                raise Refusal(f"{_WORDS[name]} must be given: look it up, or fill in from a metal.")
            if ends != (None, None):
                if None in (value.value, *ends):
                    raise Refusal(
                        f"{_WORDS[name]} must have value, lowest and highest, or the value alone."
                    )
                ranges[name] = ends
        texts = {name: text.value for name, text in self.texts.items()}
        toxic = tuple(filter(None, (word.strip() for word in texts.pop("contains").split(","))))
        return make_material(texts.pop("name"), self.family.value, **texts, **given, ranges=ranges,
                             toxic_elements=toxic)  # fmt: skip

    # --- saving and solving -----------------------------------------------------------------
    def _save(self):
        try:
            metal = self.material()
            self._is_new = metal.key not in own_materials()
            path = save_material(metal)
            self.build = start_build(metal)
        except Refusal as fault:
            self.said.value = refusal(str(fault))
            return
        lines = [f"{metal.name} is kept in {path}.", *doubts(metal)]
        items = "".join(f"<li>{escape(line)}</li>" for line in lines)
        self.said.value = f'<ul class="edm-watch">{items}</ul>'
        shown(self.cancel, True)
        self.save.disabled = True  # until this one has ended: a second would count as a change
        self._show_mine()
        self._watch()

    def _watch(self):
        """Look at the solving now and then while the page goes on; without a page nobody looks."""
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            return
        self._looking = loop.create_task(self._look_on())

    async def _look_on(self):
        while not self.look():
            await asyncio.sleep(_POLL_S)

    def look(self):
        """Show how far the solving is; return whether it has ended."""
        build = self.build
        if build.finished:
            self._ended(build)
            return True
        self._show_progress(build)
        return False

    def _show_progress(self, build):
        done = "#" * build.done + "." * (ROWS - build.done)
        self.progress.value = (
            f'<div class="edm-label">Solving the craters of {escape(build.material.name)}: '
            f"{build.done} of {ROWS} rows <tt>{done}</tt></div>"
        )

    def _ended(self, build):
        shown(self.cancel, False)
        self.save.disabled = False
        if build.error or build.cancelled:
            self._undo(build)
            return
        text = f"{build.material.name} is ready: it is offered on every page that you open now."
        self.progress.value = f'<div class="edm-pinned">{escape(text)}</div>'
        self.page.offer_works(build.material.key)

    def _undo(self, build):
        """Leave nothing of a material whose craters were not solved, unless it was there before."""
        if self._is_new:
            with suppress(Refusal):  # gone already
                remove_material(build.material.key)
        left = (
            "nothing of it is left" if self._is_new else f"{build.material.name} is kept unsolved"
        )
        said = f"{left}; its numbers still stand in this form."
        if build.error:
            self.progress.value = refusal(f"{build.error} Now {said}")
        else:
            self.progress.value = f'<div class="edm-pinned">Stopped: {escape(said)}</div>'
        self.said.value = ""
        self._show_mine()

    def _cancel(self):
        if self.build is not None:
            self.build.cancel()

    # --- the ones there are -----------------------------------------------------------------
    def _show_mine(self):
        mine = [(metal.name, key) for key, metal in own_materials().items()]
        self.mine.offer(mine or [("none yet", "")], mine[-1][1] if mine else "")
        self.mine.note(" ".join(complaints()), "edm-refusal")
        self.remove.disabled = not mine

    def _remove(self):
        try:
            name = own_materials()[self.mine.value].name
            if self.build is not None and self.build.material.key == self.mine.value:
                self.build.cancel()
            remove_material(self.mine.value)
        except (Refusal, KeyError) as fault:
            self.said.value = refusal(str(fault))
            return
        self.said.value = f'<div class="edm-pinned">{escape(name)} is removed.</div>'
        self._show_mine()
        self.page.offer_works()


def _button(text):
    return widgets.Button(description=text, layout={"width": "auto"})


def _text(words):
    place = layout(width="260px", margin="0")
    return widgets.Text(description=words, style={"description_width": "0px"}, layout=place,
                        continuous_update=False)  # fmt: skip
