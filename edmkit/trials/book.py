"""The trial book: every burn that was written down, never lost, never changed in silence."""

import os
import sqlite3
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass, field, replace

from edmkit.checks import Refusal, one_of
from edmkit.machine import machine_from_text
from edmkit.trials import rescue, store
from edmkit.trials.schema import APPLICATION, VERSION, row_of, trial_of
from edmkit.trials.store import NotSaved
from edmkit.trials.trial import new_id


@dataclass(frozen=True)
class TuningNote:
    """One tap while tuning: which knob, which way it was turned, and how it went."""

    knob: str
    way: str
    verdict: str
    at: str = ""
    machine: str = ""
    job: str = ""
    remark: str = ""
    id: str = field(default_factory=new_id)

    def __post_init__(self):
        one_of("way", self.way, ("up", "down"))
        one_of("verdict", self.verdict, ("better", "worse", "same"))


class TrialBook:
    """A book of burns in one SQLite file.

    Parameters
    ----------
    path : str, Path or None
        The file, or the folder to keep it in; None is EDMKIT_TRIALS or the user's own folder.
    wait_s : float
        How long a save waits while another page or program writes [s].

    Notes
    -----
    Rows are only ever added: a correction supersedes, a withdrawal hides. ``complaint`` is what
    to tell the person about the file, empty if all is well; ``damaged`` says that a backup
    should be taken, ``read_only`` that nothing can be written.
    """

    def __init__(self, path=None, *, wait_s=10.0):
        self.path, self.wait_s = store.place_of(path), wait_s
        self._texts, self._machines, self._texts_mark = {}, {}, None
        self._look()

    # --- opening ------------------------------------------------------------------------------
    def _look(self):
        """Check the file, and note what is wrong with it."""
        self.complaint, self.read_only, self.damaged, self._usable = "", False, False, True
        if not self.path.exists():
            if good := self._good_backup():
                self.complaint = (
                    f"The trial book {self.path} is gone. A backup lies in {good}: restore() takes "
                    "it; the next burn would start a new book."
                )
            return
        try:
            found = store.faults(self.path, self.wait_s)
            if not found:
                self._look_at_header()
        except store.TROUBLE as error:
            self.complaint = f"The trial book {self.path} cannot be opened now: {error}."
            return
        if found:
            self.damaged = True
            self.complaint = f"The trial book {self.path} is damaged: {'; '.join(found)}. "
            self.complaint += self._way_out()
        elif not self.complaint and not self._writable():
            self.read_only = True
            self.complaint = (
                f"The trial book {self.path} can be read but not written: burns cannot be saved "
                "there. Make the folder writable, or name another by EDMKIT_TRIALS."
            )

    def _look_at_header(self):
        with store.reading(self.path, self.wait_s) as connection:
            application, version, filled = store.header(connection)
        if filled and application != APPLICATION:
            self._usable, self.read_only = False, True
            self.complaint = f"{self.path} is not a trial book: it was left alone. Name another."
        elif version > VERSION:
            self.read_only = True
            self.complaint = (
                f"The trial book {self.path} was written by a newer version of the kit: it can "
                "be read, not written. Update the kit."
            )

    def _writable(self):
        as_now = {"effective_ids": True} if os.access in os.supports_effective_ids else {}
        return all(os.access(p, os.W_OK, **as_now) for p in (self.path, self.path.parent))

    def _way_out(self):
        good = self._good_backup()
        if good is None:
            return "No sound backup lies beside it: restore() keeps what can still be read."
        return f"A sound backup lies in {good}: restore() takes it, and what can still be read."

    def _good_backup(self):
        for backup in self.backups():
            with suppress(*store.TROUBLE):
                if not store.faults(backup, self.wait_s):
                    return backup
        return None

    # --- reading ------------------------------------------------------------------------------
    @contextmanager
    def _reading(self):
        try:
            with store.reading(self.path, self.wait_s) as connection:
                yield connection
        except store.TROUBLE as error:
            raise Refusal(f"the trial book {self.path} cannot be read: {error}.") from None

    def _rows(self, table):
        if not self.path.exists() or not self._usable:
            return []
        if self.damaged:
            return rescue.sound_rows(self.path, table, self.wait_s)
        with self._reading() as connection:
            good, bad = store.good_rows(connection, table)
        if bad:  # since the book was opened
            self._look()
        return good

    def trials(self, *, history=False):
        """Return the burns as they stand, in the order of the book.

        Parameters
        ----------
        history : bool
            Return every row that was ever written, corrected and withdrawn ones too.

        Raises
        ------
        Refusal
            If the file cannot be read.

        Notes
        -----
        A correction stands in the place of the burn it corrects. Damaged rows are left out.
        """
        found = [self._with_machine(trial_of(row)) for row in self._rows("trials")]
        if history:
            return tuple(found)
        roots, standing = {}, {}
        for trial in found:
            root = roots[trial.id] = roots.get(trial.supersedes, trial.id)
            standing[root] = trial
        return tuple(trial for trial in standing.values() if not trial.withdrawn)

    def _with_machine(self, trial):
        if not trial.machine:
            return trial
        text = self._machine_texts.get(trial.machine)
        return trial if text is None else replace(trial, machine_file=self._machine(text, trial))

    @property
    def _machine_texts(self):
        mark = self.mark()
        if self._texts_mark != mark:
            self._texts = {row["name"]: row["text"] for row in self._rows("machines")}
            self._texts_mark, self._machines = mark, {}
        return self._texts

    def _machine(self, text, trial):
        if trial.machine not in self._machines:
            self._machines[trial.machine] = None
            with suppress(Refusal):  # a file that is no use leaves its burns without it
                self._machines[trial.machine] = machine_from_text(text, trial.machine)
        return self._machines[trial.machine]

    def notes(self):
        """Return the tuning notes, in the order of the book."""
        names = TuningNote.__dataclass_fields__
        return tuple(
            TuningNote(**{name: row[name] or "" for name in names}) for row in self._rows("notes")
        )

    def machine_text(self, name):
        """Return the newest copy of a machine's file, None where there is none.

        Parameters
        ----------
        name : str
            The machine's name.
        """
        return self._machine_texts.get(name)

    def mark(self):
        """Return something that changes whenever anybody has written into the book."""
        try:
            state = self.path.stat()
        except OSError:
            return None
        return state.st_ino, state.st_mtime_ns, state.st_size

    # --- writing ------------------------------------------------------------------------------
    @contextmanager
    def _writing(self, what):
        """Open a transaction; every fault becomes a sentence that says what was not saved."""
        where = f"the trial book {self.path}"
        try:
            if self.damaged or self.read_only:
                raise NotSaved(f"not saved: {what}. {self.complaint}")
            self._back_up()
            with store.writing(self.path, self.wait_s) as connection:
                yield connection
        except NotSaved as fault:
            text = str(fault)
            raise NotSaved(text if what in text else f"not saved: {what}, {text}") from None
        except sqlite3.IntegrityError as error:
            raise NotSaved(f"not saved: {what}. {_refused(error)}") from None
        except store.TROUBLE as error:
            said = _why(str(error), self.wait_s)
            raise NotSaved(
                f"not saved: {what}, in {where}: {said} Nothing else in the book was changed."
            ) from None

    def _back_up(self):
        """Make the day's backup; that it failed does not keep a burn from being saved."""
        self.backup_trouble = ""
        try:
            old = self._is_older()
            store.back_up(self.path, self.wait_s, again=old)
        except store.TROUBLE as error:
            self.backup_trouble = f" No backup could be made beside it: {error}."

    def _is_older(self):
        if not self.path.exists():
            return False
        with store.reading(self.path, self.wait_s) as connection:
            application, version, filled = store.header(connection)
        return filled and application == APPLICATION and version < VERSION

    def add(self, trial):
        """Write a burn into the book and return where it was saved, in words.

        Parameters
        ----------
        trial : Trial
            Saving the same burn again keeps one.

        Raises
        ------
        NotSaved
            If it was not saved: the sentence says why and what to do.
        """
        return self.add_all([trial])

    def add_all(self, trials):
        """Write several burns, all or none, and return where they were saved, in words.

        Parameters
        ----------
        trials : sequence of Trial
            Burns that are in the book already are kept once.

        Raises
        ------
        NotSaved
            If they were not saved.
        """
        trials = list(trials)
        if not trials:
            return "Nothing to save."
        what = "this burn" if len(trials) == 1 else f"these {len(trials)} burns"
        with self._writing(what) as connection:
            for trial in trials:
                _add(connection, trial)
            last = _find(connection, trials[-1].id)["seq"]
        known = f"burn {last}" if len(trials) == 1 else f"{len(trials)} burns, up to no. {last},"
        return f"Saved as {known} in {self.path}.{self.backup_trouble}"

    def correct(self, trial_id, **changes):
        """Write a correction of a burn and return the burn as it now stands.

        Parameters
        ----------
        trial_id : str
            The burn as it stands.
        **changes : value of a column
            What is different.

        Raises
        ------
        NotSaved
            If it was corrected meanwhile elsewhere, or cannot be saved.
        """
        standing = {trial.id: trial for trial in self.trials()}
        if trial_id not in standing:
            raise NotSaved(
                "not saved: the correction. This burn was corrected or withdrawn meanwhile, in "
                "another page: look at the book again."
            )
        better = standing[trial_id].corrected(**changes)
        self.add(better)
        return better

    def withdraw(self, trial_id, why):
        """Take a burn out of the book; its row stays, marked.

        Parameters
        ----------
        trial_id : str
            The burn as it stands.
        why : str
            The reason, kept in its remark.
        """
        self.correct(trial_id, withdrawn=True, remark=f"withdrawn: {why}")

    def note(self, note):
        """Write a tuning note.

        Parameters
        ----------
        note : TuningNote
            Writing the same note again keeps one.
        """
        with self._writing("this note") as connection:
            row = {name: value or None for name, value in asdict(note).items()}
            store.insert(connection, "notes", row)

    def keep_machine(self, name, text):
        """Keep a copy of a machine file, if it is not the newest copy already.

        Parameters
        ----------
        name, text : str
            The machine's name and the text of its file.
        """
        if self.machine_text(name) == text:
            return
        with self._writing("the machine file") as connection:
            store.insert(connection, "machines", {"name": name, "text": text})

    # --- backups ------------------------------------------------------------------------------
    def backups(self):
        """Return the paths of the book's backups, newest first."""
        return store.backups(self.path)

    def restore(self, backup=None):
        """Put a backup in the book's place, and what can still be read of the damaged file.

        That file is set aside, never deleted.

        Parameters
        ----------
        backup : Path or None
            None is the newest sound one.

        Returns
        -------
        str
            What is there again, what is lost, and where the old file lies.

        Raises
        ------
        NotSaved
            If there is nothing to restore from, or it cannot be written.
        """
        chosen = backup or self._good_backup()
        try:
            got = rescue.take(self.path, chosen, self.wait_s)
        except store.TROUBLE as error:
            raise NotSaved(f"the book was not restored: {error}. Nothing was changed.") from None
        self._look()
        start = (
            "No sound backup was there" if chosen is None else f"{chosen.name} is in place again"
        )
        lost = {None: "Whether a newer one is lost cannot be told", 0: "None is lost"}.get(
            got.lost, f"{got.lost} written since could not be read"
        )
        return (
            f"{start}; with {got.added} rows from the damaged file the book has "
            f"{len(self.trials())} burns. {lost}. The damaged file is kept: {got.aside}."
        )

    # --- files --------------------------------------------------------------------------------
    def import_csv(self, path, answers=None, confirmed=()):
        """Read burns from a CSV file into the book, all or none; return what was saved, in words.

        Parameters
        ----------
        path : str or Path
            The file.
        answers : dict or None
            What the whole file lacks: column -> value.
        confirmed : sequence of int
            Lines that look doubtful and were looked at.
        """
        from edmkit.trials.csv_read import read_csv, trials_of

        return self.add_all(trials_of(read_csv(path, answers), confirmed))

    def export_csv(self, path):
        """Write the burns as they stand to a CSV file.

        Parameters
        ----------
        path : str or Path
            The file.
        """
        from edmkit.trials.csv_write import write_csv

        write_csv(self.trials(), path)

    def export_xlsx(self, path):
        """Write the burns as they stand to a spreadsheet.

        Parameters
        ----------
        path : str or Path
            The file.
        """
        from edmkit.trials.sheet import write_xlsx

        write_xlsx(self.trials(), path)


def _find(connection, trial_id):
    row = connection.execute("SELECT * FROM trials WHERE id = ?", (trial_id,)).fetchone()
    return None if row is None else dict(row)


def _add(connection, trial):
    """Write one burn; the same id with other contents is refused."""
    row = row_of(trial)
    store.insert(connection, "trials", row)
    there = _find(connection, trial.id)
    if any(there[name] != value for name, value in row.items()):
        raise NotSaved(
            f"a burn with the id {trial.id} but other contents is in the book: correct that one."
        )


def _refused(error):
    """Return in words why the database refused a row."""
    if "supersedes" in str(error):
        return "This burn was corrected meanwhile in another page: look at the book again."
    return f"The book refuses it: {error}. Check the numbers."


def _why(text, wait_s):
    """Return in words why something could not be written."""
    if "locked" in text or "busy" in text:
        return (
            f"another page or program holds it, waited {wait_s:g} s. It is still on the page: "
            "save it again."
        )
    if "full" in text:
        return "the disk is full. It is still on the page: free some space and save it again."
    if "readonly" in text or "read-only" in text or "unable to open" in text or "denied" in text:
        return "it cannot be written there. Make the folder writable, or name another."
    return f"{text}."
