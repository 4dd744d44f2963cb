"""Page 06: a material never tried before, beside one the shop knows; which trials first."""

from dataclasses import replace
from html import escape

import ipywidgets as widgets

from edmkit.burn import predict
from edmkit.checks import Refusal
from edmkit.estimate import Estimate
from edmkit.materials import electrode_material, electrode_materials, work_material, work_materials
from edmkit.panels import material_words
from edmkit.panels.controls import (
    Number,
    Pick,
    framed,
    html,
    layout,
    refusal,
    row,
    unwarned,
)
from edmkit.panels.job import SWITCHES, Job, nearest
from edmkit.panels.kept_page import KeptPage
from edmkit.panels.live import LiveFigure
from edmkit.panels.machines import ANY, load, machine_files, switches
from edmkit.panels.own_book import Fold
from edmkit.panels.own_material_form import OwnMaterialForm
from edmkit.panels.record_burn import RecordBurn
from edmkit.panels.style import BOOK_CSS, CSS
from edmkit.panels.switch_controls import SwitchControls
from edmkit.planning.material_beside import beside, model_fails, rule_fails
from edmkit.planning.material_safety import material_cautions
from edmkit.planning.tool_advice import advice
from edmkit.plots.new_material_plot import (
    beside_figure,
    change_beside,
    change_closing,
    closing_figure,
)
from edmkit.settings import usual_polarity
from edmkit.trials.carried import carried
from edmkit.trials.first_trials import FOUR, first_trials
from edmkit.trials.from_hole import of_hole
from edmkit.trials.learn import study

KNOWN, NEW = "52100", "D2"
_WISHES = {"peak_current_A": 3.0, "on_time_us": 50.0, "off_time_us": 25.0, "open_voltage_V": 100.0}
_FOLDS = "repeat(auto-fit, minmax(min(400px, 100%), 1fr))"
_LATEST = 8  # burns in the new metal that the closing band is drawn for
_SIZES = {"size": ("Hole diameter", 0.2, 200), "depth": ("Trial depth", 0.05, 50)}


def _named(keys, find):
    return [(find(key).name, key) for key in keys]


class ANewMaterial(KeptPage):
    """The page's panel.

    ``known_hole`` and ``hole`` are the trial in the known and in the new material at the same
    positions, ``trials`` the first trials, ``message`` why there is no answer.
    """

    def __init__(self, memory="remember", folder=".", book="own"):
        kept, self.files = self._take_up(memory, book), machine_files(folder)
        self.hole, self.known_hole, self.trials, self.rows = None, None, (), ()
        self._first_machine(kept)
        self._build(kept.get("new_material") or {})
        self._listen()
        if self.display.inches:
            self._show_lengths()
        self.refresh()

    # --- starting ---------------------------------------------------------------------------
    def _first_machine(self, kept):
        paths = [path for _, path in self.files] + [ANY]
        path = kept.get("machine")
        self.machine, self.path, self.switches = None, ANY, switches(None)
        self._load(path if path in paths else paths[0])

    def _load(self, path):
        try:
            self.machine = load(path)
        except Refusal as fault:
            self._trouble = str(fault)
            return False
        self._trouble, self.path, self.switches = "", path, switches(self.machine)
        return True

    def _build(self, kept):
        works, tools = work_materials(), electrode_materials()
        offered = [*self.files, ("no machine file: any value", ANY)]
        self.machine_pick = Pick("Machine", offered, self.path)
        named = _named(works, work_material)
        known = kept.get("known") if kept.get("known") in works else self._best_known(works)
        new = kept.get("new") if kept.get("new") in works else NEW
        self.known_pick = Pick("You know", named, known)
        self.new_pick = Pick("New to you", named, new)
        tool = kept.get("electrode") if kept.get("electrode") in tools else "copper"
        self.electrode = Pick("Electrode", _named(tools, electrode_material), tool)
        job = Job(positions=nearest(self.switches, _WISHES), lift_burn_s=4.0, lift_up_s=1.0)
        self.switch_controls = SwitchControls(self.switches, self.machine, job)
        self.sizes = {
            name: Number(word, word.lower(), value, low, high, "mm", stacked=True)
            for (name, (word, low, high)), value in zip(_SIZES.items(), (3.0, 1.0), strict=True)
        }
        self.most = Number("Minutes at most", "minutes at most", 60.0, 0.5, 10_000, "min",
                           stacked=True)  # fmt: skip
        self._answers, self._carried, self._properties = (html() for _ in range(3))
        self._electrodes, self._cautions, self._setup_line = (html() for _ in range(3))
        self._trial_message = html()
        self._trial_rows = widgets.VBox()
        self.beside, self.closing = None, None
        self._shops_of, self._kept_shops = None, []
        self._pictures, self._closing_box = widgets.VBox(), widgets.VBox()
        super().__init__(self._arranged())
        self.add_class("edm-page")

    def _best_known(self, works):
        """Return the material with the most burns in the book, else a bearing steel."""
        counts = {}
        for trial in self.own.trials:
            counts[trial.work] = counts.get(trial.work, 0) + 1
        best = max(counts, key=counts.get, default=KNOWN)
        return best if best in works else KNOWN

    def _arranged(self):
        self.record = Fold("Record a burn in the new material, as it stands on this page",
                           lambda: RecordBurn(self, self.own, self.memory))  # fmt: skip
        self.form = Fold("A material of your own", lambda: OwnMaterialForm(self))
        sizes = widgets.HBox([*self.sizes.values(), self.most],
                             layout={"flex_flow": "row wrap", "grid_gap": "0 14px"})  # fmt: skip
        messages = [entry.message for entry in (*self.sizes.values(), self.most)]
        picks = [self.machine_pick, self.known_pick, self.new_pick, self.electrode]
        asked = widgets.VBox([*picks, self._setup_line, self.switch_controls, sizes, *messages])
        answers = framed("What will the same positions do?", self._message, self._pictures,
                         self._answers)  # fmt: skip
        first = framed("Which trials first?", self._trial_message, self._trial_rows,
                       self._closing_box, self.record)  # fmt: skip
        carry = framed("What do your burns teach about it, and what not?", self._carried)
        differ = framed("How do the two differ?", self._properties)
        tools = framed("Which electrode, which polarity?", self._electrodes)
        watch = framed("What can this metal do to you?", self._cautions)
        self._reply = answers
        grid = {"grid_template_columns": _FOLDS, "grid_gap": "10px 14px"}
        top = widgets.GridBox([asked, answers, first], layout=grid)
        below = widgets.GridBox([widgets.VBox([watch, carry]), differ, tools], layout=grid)
        units = row(html(), self.units, columns="1fr 215px")
        return [html(CSS + BOOK_CSS + _STYLE), units, top, below, self.form]

    def _listen(self):
        for control in (self.known_pick, self.new_pick, self.electrode, self.switch_controls,
                        *self.sizes.values(), self.most):  # fmt: skip
            control.on_change(self.refresh)
        self.machine_pick.on_change(self._machine_changed)

    # --- what is asked ----------------------------------------------------------------------
    @property
    def shop(self):
        """What this shop has learned, None for an untrained one."""
        return self.own.shop

    def job(self, work):
        """Return the trial hole in a material at the positions of the page."""
        sizes = {name: self.display.length_mm(entry.value) for name, entry in self.sizes.items()}
        return Job(work=work, electrode=self.electrode.value, **sizes,
                   **self.switch_controls.values)  # fmt: skip

    def _machine_changed(self):
        wishes = {n: self.switches[n].values[r.value] for n, r in self.switch_controls.rows.items()}
        job = self.job(self.new_pick.value)
        if self._load(self.machine_pick.value):
            self._quiet = True
            job = replace(job, positions=nearest(self.switches, wishes))
            self.switch_controls.use(self.switches, self.machine, job)
            self._quiet = False
            self.refresh()
        self.machine_pick.note(self._trouble, "edm-refusal")

    def take_settings(self, settings):
        """Set the switches to those of a trial."""
        wishes = {name: getattr(settings, name) for name in SWITCHES}
        job = replace(self.job(self.new_pick.value), positions=nearest(self.switches, wishes))
        self._quiet = True
        self.switch_controls.use(self.switches, self.machine, job)
        self._quiet = False
        self.refresh()

    def offer_works(self, new=None):
        """Offer the work materials anew, an own one that was made or removed among them."""
        works = work_materials()
        self._quiet = True
        for pick, instead in ((self.known_pick, KNOWN), (self.new_pick, NEW)):
            kept = pick.value
            pick.offer(_named(works, work_material), kept if kept in works else instead)
        if new in works:
            self.new_pick.value = new
        self._quiet = False
        self.refresh()

    def _show_lengths(self):
        if self.record.content is not None:
            self.record.content.show_in(self.display)
        for name, (_, low, high) in _SIZES.items():
            entry, show = self.sizes[name], self.display.length
            mm = entry.value * (25.4 if entry.unit == "in" else 1.0)
            entry.show_as(show(mm), self.display.length_unit, show(low), show(high))

    # --- for the record ---------------------------------------------------------------------
    def burning(self):
        """Return the burn in the new material that stands on the page."""
        if self.message or self.hole is None:
            raise Refusal("there is no burn to record until the page has an answer.")
        rows = self.switch_controls.rows
        words = ", ".join(f"{word} {rows[name].text}" for name, word in
                          zip(SWITCHES[:3], ("current", "on", "off"), strict=True))  # fmt: skip
        return of_hole(self.hole, words)

    def known(self):
        """Return how surely the minutes are known: the standard deviation of their logarithm."""
        return None if self.hole is None else float(self.hole.minutes.spread)

    def learned(self):
        """Work everything out anew with what was learned."""
        self.refresh()

    # --- what is answered -------------------------------------------------------------------
    def refresh(self):
        """Work out the answers to what stands on the controls, and show them."""
        if self._quiet:
            return
        self.own.look(self.machine)
        try:
            if any(e.wrong for e in (*self.sizes.values(), self.most)):
                raise Refusal("the answers wait until the number marked 'Check this' is put right.")
            with unwarned():
                self._work_out()
        except Refusal as fault:
            self.message = str(fault)
            self._message.value = refusal(self.message)
            self._reply.add_class("edm-waiting")
            return
        self.message = ""
        self._message.value = refusal(self.own.complaint)
        self._reply.remove_class("edm-waiting")
        if self.memory:
            picks = {"known": self.known_pick.value, "new": self.new_pick.value,
                     "electrode": self.electrode.value}  # fmt: skip
            self.memory.keep(machine=self.path, new_material=picks, inches=self.display.inches)

    def _work_out(self):
        known, new = (work_material(pick.value) for pick in (self.known_pick, self.new_pick))
        self._show_metals(known, new)
        holes = [self.job(work.key).hole(self.machine, self.switches, self.shop)
                 for work in (known, new)]  # fmt: skip
        self.known_hole, self.hole = holes
        self.switch_controls.show_gap(self.hole, self.display)
        setups, settings = [h.burn.setup for h in holes], self.hole.burn.settings
        self.rows = carried(*setups, settings, self.shop)
        self._show_answers(known, new)
        self._show_trials(setups[1], settings)

    def _show_metals(self, known, new):
        """Show what hangs on the metals alone."""
        tool = electrode_material(self.electrode.value)
        usual = [usual_polarity(work, tool).polarity for work in (known, new)]
        line = f"Usual polarity: {usual[0]} in {known.name}, {usual[1]} in {new.name}."
        self._setup_line.value = f'<div class="edm-note">{escape(line)}</div>'
        self._properties.value = material_words.properties(
            beside(known, new), known, new, [rule_fails(known, new), model_fails(new)]
        )
        self._electrodes.value = material_words.electrodes(advice(new))
        self._cautions.value = material_words.cautions(material_cautions(new))

    def _show_answers(self, known, new):
        display = self.display
        by_name = {row.quantity: row for row in self.rows}
        rate, rough, wear, gap = (by_name[name] for name in FOUR)
        minutes = [self.known_hole.minutes, self.hole.minutes]
        slower = Estimate(1 / rate.ratio.likely, rate.ratio.spread)
        shown = [
            ("minutes for this trial", *minutes, slower, 1.0, "min"),
            ("roughness Ra", rough.known, rough.new, rough.ratio, display.rough(1.0),
             display.rough_unit),
            ("electrode wear by volume", wear.known, wear.new, wear.ratio, 1.0, "%"),
            ("side gap", gap.known, gap.new, gap.ratio, display.fine(1.0), display.fine_unit),
        ]  # fmt: skip
        self._answers.value = material_words.answers(shown, known, new)
        counts = self._counts(new)
        self._carried.value = material_words.carries_over(self.rows, known, new, counts)
        plain = Estimate(minutes[1].likely * rate.new.likely / rate.before.likely,
                         rate.before.spread)  # fmt: skip
        plotted = [("minutes", *minutes, plain)]
        others = (("roughness", rough), ("wear", wear), ("side gap", gap))
        plotted += [(word, r.known, r.new, r.before) for word, r in others]
        if self.beside is None:
            self.beside = LiveFigure(beside_figure(plotted))
            self._pictures.children = (self.beside,)
        else:
            change_beside(self.beside, plotted)

    def _mine(self):
        """Return the burns of the machine on the page."""
        name = self.machine.name if self.machine else ""
        return [trial for trial in self.own.trials if trial.machine == name]

    def _counts(self, new):
        mine = self._mine()
        return len(mine), sum(trial.work == new.key for trial in mine)

    # --- the first trials -------------------------------------------------------------------
    def _show_trials(self, setup, settings):
        depth = self.display.length_mm(self.sizes["depth"].value)
        try:
            self.trials = first_trials(setup, self.shop, settings=settings,
                                       max_minutes=self.most.value, depth_mm=depth)  # fmt: skip
            self._trial_message.value = ""
        except Refusal as fault:
            self.trials = ()
            self._trial_message.value = refusal(str(fault))
        self._trial_rows.children = tuple(
            row(html(material_words.trial_line(number, trial)), self._take(trial, number),
                columns="1fr 74px")
            for number, trial in enumerate(self.trials, 1)
        )  # fmt: skip
        burned = self._burned(setup, settings)
        count = len(burned) - 1
        planned = [(str(count + n), trial.after["removal_rate"])
                   for n, trial in enumerate(self.trials, 1)]  # fmt: skip
        if self.closing is None:
            self.closing = LiveFigure(closing_figure(burned, planned))
            self._closing_box.children = (self.closing,)
        else:
            change_closing(self.closing, burned, planned)

    def _take(self, trial, number):
        button = widgets.Button(description="Set", layout=layout(width="auto"),
                                tooltip=f"Set the switches to trial {number}")  # fmt: skip
        button.on_click(lambda _: self.take_settings(trial.settings))
        return button

    def _burned(self, setup, settings):
        """Return (count, factor) of the minutes before and after the latest burns in the metal."""
        steps = []
        for count, shop in self._shops(setup.work.key):
            rate = predict(setup, settings, shop).removal_rate_mm3_per_min
            steps.append((str(count), float(rate.high / rate.likely)))
        return steps

    def _shops(self, work):
        """Return (count, shop) after each of the latest burns in a metal, kept until one is added.

        Learning takes longer than a slider may.
        """
        new = {trial.id: None for trial in self._mine() if trial.work == work}
        key = (work, self.path, tuple(trial.id for trial in self.own.trials))
        if key != self._shops_of:
            ids, shops = list(new), []
            for count in range(max(len(ids) - _LATEST, 0), len(ids) + 1):
                later = set(ids[count:])
                shops.append((count, study([t for t in self.own.trials if t.id not in later]).shop))
            self._shops_of, self._kept_shops = key, shops
        return self._kept_shops


_STYLE = """<style>
.edm-material th { text-align: left; font-size: 13px; padding: 2px 10px 2px 0;
  border-bottom: 2px solid #1a1a1a; vertical-align: bottom; }
.edm-material td, .edm-advice td { vertical-align: top; }
.edm-material td:nth-child(2), .edm-material td:nth-child(3) { white-space: nowrap; }
.edm-page details > summary { cursor: pointer; font-size: 15px; padding: 6px 0; }
</style>"""
