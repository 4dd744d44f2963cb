"""All controls of page 03 together, as one job."""

from edmkit.panels.pass_settings import PassSettings
from edmkit.panels.plan_controls import BatchGroup, DepthGroup, HoleGroup, PassGroup
from edmkit.panels.plan_gate import GateGroup
from edmkit.panels.plan_job import PlanJob
from edmkit.panels.setup_controls import SetupControls


class PlanInputs:
    """The groups of controls; the page places them, this keeps them in step.

    ``job`` is what stands on them, ``wrong`` whether a number is not one.
    """

    def __init__(self, job, switches, machine=None):
        self.hole, self.depth, self.passes = HoleGroup(job), DepthGroup(job), PassGroup(job)
        self.batch, self.gate = BatchGroup(job), GateGroup(job)
        self.hand, self.setup = PassSettings(switches, job), SetupControls(job)
        self._base = job
        self._groups = (self.hole, self.depth, self.passes, self.batch, self.gate)
        self._all = (*self._groups, self.hand, self.setup)
        self.passes.for_machine(machine)
        self.on_change(self._keep_in_step)
        self._keep_in_step()

    def _keep_in_step(self):
        for group in (self.depth, self.passes):
            group.for_hole(self.hole)
        values = self.hole.values
        bored = self.passes.numbers["bore"].value > 0
        self.gate.for_job(values["name"], self.setup.values["fluid"], bored)

    @property
    def job(self):
        """What stands on the controls."""
        values = {}
        for group in self._all:
            values.update(group.values)
        return PlanJob(positions=self._base.positions, **values)

    @property
    def wrong(self):
        """Whether a number in sight is not one."""
        return any(group.wrong for group in (*self._groups, self.setup))

    def take(self, job):
        """Set the controls to a job."""
        self._base = job
        for group in self._all:
            group.take(job)
        self._keep_in_step()

    def for_machine(self, machine, switches):
        """Offer what another machine has.

        Parameters
        ----------
        machine : Machine or None
            None can do anything.
        switches : dict
            Its four switches by name.
        """
        self.passes.for_machine(machine)
        self.hand.use(switches)

    def show_in(self, display):
        """Show lengths in mm or in inches; they stay the same."""
        for group in self._groups:
            group.show_in(display)

    def on_change(self, callback):
        """Call back when anything has changed."""
        for group in self._all:
            group.on_change(callback)
