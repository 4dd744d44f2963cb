"""The person's own trial book behind a page: what it holds, and what the shop has learned."""

from contextlib import suppress
from dataclasses import replace

import ipywidgets as widgets
import numpy as np

from edmkit.checks import Refusal
from edmkit.knowledge import logs
from edmkit.shop import operating_point
from edmkit.trials.book import TrialBook
from edmkit.trials.learn import Study, study
from edmkit.trials.watch import scores, warn

_EMPTY = study(())
_FAR = np.log(3.0)  # of current, on-time or area; assumption


class OwnBook:
    """The burns of a book and what they teach; without a book they are kept for the page only.

    ``trials`` are the burns as they stand, ``study`` what they teach, ``complaint`` what is wrong
    with the book, in words.
    """

    def __init__(self, book="own"):
        self.book = TrialBook() if book == "own" else book
        self.trials, self.study, self.complaint = (), _EMPTY, ""
        self._mark, self.machine, self._latest = None, None, None

    def look(self, machine=None):
        """Read the book again where somebody has written, and learn.

        Parameters
        ----------
        machine : Machine or None
            The machine in use: its burns are held against its file as it is now.
        """
        try:
            mark = self.book.mark() if self.book else len(self.trials)
            if mark == self._mark and machine is self.machine:
                return
            trials = self.book.trials() if self.book else self.trials
            self.complaint = self.book.complaint if self.book else ""
        except Refusal as fault:
            self.complaint = str(fault)
            return
        if machine is not None:
            trials = tuple(
                replace(t, machine_file=machine) if t.machine == machine.name else t for t in trials
            )
        self._mark, self.machine, self.trials = mark, machine, trials
        self.study: Study = study(trials)
        self._latest = None

    def unusual(self, trial):
        """Return what is unusual of a burn before it is saved, in sentences.

        Parameters
        ----------
        trial : Trial
            As it would be saved.
        """
        if self._latest is None:
            self._latest = scores(self.trials, 1)
        return warn(self.trials, trial, self.study.shop, self._latest)

    @property
    def shop(self):
        """What was learned, None where nothing was."""
        return self.study.shop if self.study.shop.learned else None

    def words(self, burn):
        """Return as HTML how many burns stand behind the bands of a burn, and how near they are.

        Parameters
        ----------
        burn : Burn
            One setting; the machine's name counts.
        """
        machine = burn.setup.machine
        name = machine.name if machine else ""
        rows = [row for row in self.study.rows if row.trial.machine == name]
        count = len({row.trial.id for row in rows})
        if not count:
            said = (
                "No burn of this machine is in your trial book yet, so the bands are wide: record "
                "one below, even from memory."
            )
        else:
            burns = "1 burn" if count == 1 else f"{count} burns"
            said = f"Taught by {burns} of this machine in your trial book."
            here = np.array([float(v) for v in logs(operating_point(burn.point))])
            away = min(np.abs(here - row.lesson.point).max() for row in rows)
            if away > _FAR:
                said += (
                    " None was near this setting and size: burn one on scrap before you rely on it."
                )
        return f'<div class="edm-note">{said}</div>'

    def notes(self):
        """Return the tuning notes of the book, newest first."""
        try:
            return tuple(reversed(self.book.notes())) if self.book else ()
        except Refusal:
            return ()  # the complaint about the book stands on the page already

    def save(self, trial):
        """Write a burn into the book and learn from it; return what was saved, and where.

        Parameters
        ----------
        trial : Trial
            The burn; saving it twice keeps one.
        """
        if trial.machine_file is not None:
            self.keep_machine(trial.machine_file)
        return self.save_all([trial])

    def save_all(self, trials):
        """Write several burns, all or none, and learn from them; return what was saved, and where.

        Parameters
        ----------
        trials : sequence of Trial
            The burns.
        """
        if self.book is None:
            known = {t.id for t in self.trials}
            self.trials = (*self.trials, *(t for t in trials if t.id not in known))
            said = "Kept for this page only: it has no book."
        else:
            said = self.book.add_all(trials)
        self.look(self.machine)
        return said

    def keep_machine(self, machine):
        """Keep a copy of a machine's file in the book.

        Parameters
        ----------
        machine : Machine
            As it was read; one without a file is left.
        """
        if self.book is None or machine.path is None:
            return
        with suppress(OSError):  # the file is gone meanwhile: the burn counts for more
            self.book.keep_machine(machine.name, machine.path.read_text(encoding="utf-8-sig"))

    def correct(self, trial, changes):
        """Write a correction of a burn; return it as it stands now.

        Parameters
        ----------
        trial : Trial
            As it stands.
        changes : dict
            Column -> value.
        """
        corrected = self._own().correct(trial.id, **changes)
        self.look(self.machine)
        return corrected

    def withdraw(self, trial, why):
        """Take a burn out of the book, with a reason.

        Parameters
        ----------
        trial : Trial
            As it stands.
        why : str
            The reason.
        """
        self._own().withdraw(trial.id, why)
        self.look(self.machine)

    @property
    def damaged(self):
        """Whether a backup should be taken."""
        return bool(self.book and self.book.damaged)

    def restore(self):
        """Put the newest sound backup in the book's place; return what is there again."""
        said = self._own().restore()
        self._mark = None
        self.look(self.machine)
        return said

    def _own(self):
        if self.book is None:
            raise Refusal("this page keeps no book: nothing was changed.")
        return self.book


class Fold(widgets.Accordion):
    """A fold whose content is made when it is first opened; ``content`` is None until then."""

    def __init__(self, title, make):
        super().__init__([widgets.VBox()], titles=(title,))
        self.selected_index, self.content, self._make = None, None, make
        self.observe(lambda _: self._opened(), "selected_index")

    def _opened(self):
        if self.selected_index is not None and self.content is None:
            self.content = self._make()
            self.children = [self.content]
