"""What the pages about one spark share: its controls, units, memory, the spark on both metals."""

from dataclasses import replace
from html import escape

from traitlets import TraitError

from edmkit.burn import predict
from edmkit.cautions import sentences
from edmkit.checks import Refusal
from edmkit.materials import dielectric, electrode_material, work_material
from edmkit.panels.controls import html, unwarned
from edmkit.panels.kept_page import KeptPage
from edmkit.panels.spark_controls import CIRCUIT, START, SparkControls
from edmkit.physics.crater import share_into_electrode
from edmkit.settings import Setup
from edmkit.spark import spark_on_work
from edmkit.tables import is_built

CAUTION = (
    "Fire, shock and fumes: this page is for looking. At the machine its manual, local rules and "
    "the cautions of the first page come first."
)
_AREA_MM2 = 100.0  # no part of a crater: an end large enough for any spark
_OF_A_SPARK = ("no_useful_cutting", "fires_too_low", "pulse_too_short", "toxic_work",
               "extrapolated", "finish_out_of_range")  # fmt: skip


class SparkPage(KeptPage):
    """A page about one spark, as `KeptPage`.

    ``burn`` is the burn of that spark, ``spark`` the spark on the work, ``tool_spark`` on the
    electrode (None where it has no table), ``doubts`` what to watch, ``message`` why
    there is no answer. A page lays itself out in ``_arranged`` and answers in ``_show``.
    """

    def __init__(self, memory="remember", book="own"):
        self.burn = self.spark = self.tool_spark = None
        self.doubts, self._doubted = (), html()
        self.controls = self._first_controls(self._take_up(memory, book))
        super().__init__(self._arranged())
        self.add_class("edm-page")
        self.controls.on_change(self.refresh)
        if self.display.inches:
            self._show_lengths()
        self.refresh()

    def _first_controls(self, kept):
        """Return the controls where the last spark stood, else on metals and circuit of the job."""
        job = kept.get("job") if isinstance(kept.get("job"), dict) else {}
        found = {n: job[n] for n in ("work", "electrode", "polarity", "circuit") if n in job}
        if found.get("circuit"):
            found["source"] = CIRCUIT
        try:
            return SparkControls(kept.get("spark", found))
        except (Refusal, TypeError, ValueError, KeyError, AttributeError, TraitError):
            self._trouble = "The last spark could not be taken up again: this is the first one."
            return SparkControls(START)

    # --- what is asked ----------------------------------------------------------------------
    @property
    def setup(self):
        """The set-up of the spark."""
        c = self.controls
        work, tool = work_material(c.work.value), electrode_material(c.electrode.value)
        return Setup(work, tool, dielectric("edm_oil"), c.polarity.value, _AREA_MM2)

    @property
    def settings(self):
        """What is dialled: `Settings`, or a `Relaxation` circuit."""
        return self.controls.settings

    @property
    def shop(self):
        """What this shop has learned, None for an untrained one."""
        return self.own.shop

    @property
    def answered(self):
        """Whether an answer stands on the page."""
        return self.burn is not None and not self.message

    def take_spark(self, peak_current_A, on_time_us):
        """Set the controls to a spark of a pulse generator, or the nearest choice to it."""
        pulse = {"peak_current_A": peak_current_A, "on_time_us": on_time_us}
        self._quiet = True
        self.controls.take({**self.controls.values, **pulse, "source": START["source"]})
        self._quiet = False
        self.refresh()

    # --- what is answered -------------------------------------------------------------------
    def refresh(self):
        """Work out the answers to what stands on the controls, and show them."""
        if self._quiet:
            return
        self.own.look(None)
        try:
            if self.controls.wrong:
                raise Refusal("the answers wait until the number marked 'Check this' is put right.")
            self._work_out()
        except Refusal as fault:
            return self._refuse(str(fault))
        self._refuse("")
        self._doubted.value = "".join(
            f'<div class="edm-watch">{escape(text)}</div>' for text in self.doubts
        )
        self._show()
        if self.memory:
            self.memory.keep(spark=self.controls.values, inches=self.display.inches)

    def _work_out(self):
        with unwarned():  # said as sentences
            burn = predict(self.setup, self.settings, self.shop)
            spark = self._changed(spark_on_work(burn))
            _ = spark.crater, burn.roughness_Ra_um
            self.doubts = sentences(burn.point, _OF_A_SPARK)
        self.burn, self.spark = burn, spark
        self.tool_spark = self._on_tool(burn.setup, spark)

    def _changed(self, spark):
        """Return the spark as this page changes it."""
        return spark

    def _on_tool(self, setup, spark):
        """Return the spark on the electrode's metal, None where that has no table."""
        if not is_built(setup.electrode):
            return None
        share = share_into_electrode(setup.polarity)
        return replace(spark, metal=setup.electrode, energy_share=share)
