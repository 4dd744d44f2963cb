"""Burns out to a spreadsheet: numbers as numbers, texts as texts, never a formula."""

import io
import re
from pathlib import Path

from edmkit.trials.cells import guarded
from edmkit.trials.csv_write import table_of

# XML 1.0, section 2.2: one of these in a remark, and no program opens the file any more.
_NOT_IN_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")


def xlsx_bytes(trials):
    """Return burns as the bytes of a spreadsheet file.

    Parameters
    ----------
    trials : sequence of Trial
        The burns.
    """
    from openpyxl import Workbook
    from openpyxl.styles import Font

    book = Workbook()
    page = book.active
    page.title = "burns"
    for row, values in enumerate(table_of(trials), 1):
        for column, value in enumerate(values, 1):
            if value is None or value == "":
                continue
            cell = page.cell(row, column)
            if isinstance(value, float):
                cell.value = value
                continue
            # A text is marked as one, formula or not.
            cell.value = guarded(_NOT_IN_XML.sub(" ", value))
            cell.data_type = "s"
    for cell in page[1]:
        cell.font = Font(bold=True)
    page.freeze_panes = "B2"
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def write_xlsx(trials, path):
    """Write burns to a spreadsheet file.

    Parameters
    ----------
    trials : sequence of Trial
        The burns.
    path : str or Path
        The file.
    """
    Path(path).write_bytes(xlsx_bytes(trials))
