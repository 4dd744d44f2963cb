"""Burns in from files and out to files: what is read is what was meant, or it is said."""

import csv
import io
import re
from pathlib import Path

import pytest
from hostile_files import ANSWERS, GOOD, NAMES, hostile, wrong_in_silence
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook
from test_book import any_trial

import edmkit as ek
from edmkit.trials import demo_logs
from edmkit.trials.cells import guarded, number_of, unguarded
from edmkit.trials.columns import COLUMNS
from edmkit.trials.csv_read import read_csv, trials_of
from edmkit.trials.csv_write import csv_text, table_of, write_csv
from edmkit.trials.headings import heading_of
from edmkit.trials.measured import Measured
from edmkit.trials.sheet import xlsx_bytes

DATA = Path(__file__).parents[1] / "data_demo"
NO_NUMBERS = ["", " ", "3 A", "nan", "inf", "1e999", "1.234,5", "1,234.5", "\u0661\u0662", "\uff13",
              "0x1F", "1_000", "--3", "3..4", "=3", "1/2", "3,5"]  # fmt: skip
AS_IT_IS = (Phase.explicit, Phase.reuse, Phase.generate)  # a failing burn is not made smaller
HEAD = "part,current (A),on-time (us),off-time (us),minutes"


def read(text, **answers):
    """Return the preview of a text, the usual questions answered."""
    data = text if isinstance(text, bytes) else text.encode()
    return read_csv(data, {**ANSWERS, **answers})


def one(text):
    """Return the one burn of a text that has nothing wrong."""
    preview = read(text)
    assert not preview.faults, preview.faults
    (trial,) = preview.trials
    return trial


# --- cells ---
@pytest.mark.parametrize(
    "text, decimal, value",
    [("3.5", ".", 3.5), ("3,5", ",", 3.5), (" 20 ", ".", 20), (".5", ".", 0.5), ("-5", ".", -5),
     ("1e3", ".", 1000), ("3.", ".", 3)],
)  # fmt: skip
def test_numbers_are_read_as_they_are_written(text, decimal, value):
    assert number_of(text, decimal) == value


@pytest.mark.parametrize("text", NO_NUMBERS)
def test_what_is_no_number_is_refused(text):
    with pytest.raises(ek.Refusal):
        number_of(text, ".")


def test_texts_that_look_like_formulas_are_guarded():
    # OWASP ASVS 1.2.10 lists = + - @ tab and NUL; full-width forms and leading blanks besides
    for text in ("=1", "+1", "-1", "@x", "\t=1", " =1", "'=1", "\uff1d1", "\r=1"):
        assert guarded(text)[0] == "'" and unguarded(guarded(text)) == text
    for text in ("pin 7", "3 - 4", "'quoted'", ""):
        assert guarded(text) == text == unguarded(text)


@given(st.text(max_size=12))
@settings(max_examples=200, deadline=None)
def test_a_guard_comes_off_again(text):
    assert unguarded(guarded(text)) == text


# --- headings ---
@pytest.mark.parametrize(
    "text, name, factor",
    [("peak_current_A", "peak_current_A", 1), ("Peak Current (A)", "peak_current_A", 1),
     ("on-time [ms]", "on_time_us", 1000), ("Hole (in)", "hole_size_mm", 25.4),
     ("hole (thou)", "hole_size_mm", 0.0254), ("Ra (μm)", "roughness_Ra_um", 1),
     ("minutes (h)", "minutes", 60), ("time (s)", "minutes", 1 / 60),
     ("pressure or suction (bar)", "flushing_pressure_kPa", 100), ("part", "part", 1)],
)  # fmt: skip
def test_a_heading_names_a_column_and_its_unit(text, name, factor):
    found = heading_of(text)
    assert found.name == name and found.factor == pytest.approx(factor)


@pytest.mark.parametrize("text, match", [
    ("current", r"must say its unit: write current \(A\)"), ("on-time (V)", "must be in one of µs"),
    ("hole (mm, ruler)", "must say one of")])  # fmt: skip
def test_a_heading_without_a_unit_that_fits_is_refused(text, match):
    with pytest.raises(ek.Refusal, match=match):
        heading_of(text)


# --- what is understood ---
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_encodings_and_line_ends(encoding, end):
    text = f"part,on-time (µs),minutes{end}Welle Ø,50,20.5{end}"
    trial = one(text.encode(encoding))
    assert (trial.part, trial.on_time_us) == ("Welle Ø", 50)
    assert trial.minutes == Measured(20.5, "watch")


def test_semicolons_and_decimal_commas():
    trial = one("part;on-time (µs);minutes;hole (mm)\n1;12,5;20,5;3,052\n")
    assert (trial.on_time_us, trial.minutes.value, trial.hole_size_mm.value) == (12.5, 20.5, 3.052)


def test_decimal_commas_between_commas_are_a_wrong_number_of_cells():
    preview = read("part,on-time (us),minutes\n1,12,5,20\n")
    assert not preview.trials and "decimal comma" in preview.faults[0].sentence
    assert preview.faults[0].line == 2


def test_a_quoted_decimal_comma_between_commas_is_a_fault():
    # 3,052 may be three and a bit or three thousand: not guessed
    preview = read('part,hole (mm),minutes\n1,"3,052",20\n')
    assert [fault.line for fault in preview.faults] == [2]


def test_two_decimal_signs_in_one_file_are_a_fault():
    preview = read("part;on-time (us);minutes\n1;12.5;20\n2;12.5;20,5\n")
    assert [fault.line for fault in preview.faults] == [3] and not preview.trials


def test_units_are_turned_exactly_and_said():
    preview = read("hole (in),minutes (h),on-time (ms)\n0.12,0.5,0.05\n")
    (trial,) = preview.trials
    assert trial.hole_size_mm.value == 3.048  # 0.12 in; 0.12 * 25.4 is 3.0479999999999996
    assert trial.minutes.value == 30 and trial.on_time_us == pytest.approx(50)
    assert sum("was turned into" in text for text in preview.said) == 3


def test_how_it_was_measured_is_said_once_or_by_the_heading():
    preview = read("hole (mm);electrode size (mm, micrometer);minutes\n3.05;3.0;20\n")
    (trial,) = preview.trials
    assert (trial.hole_size_mm.how, trial.electrode_size_mm.how) == ("caliper", "micrometer")
    assert any("hole (mm) by caliper" in text for text in preview.said)


def test_pins_and_unseen_wear():
    trial = one("hole (mm),end wear (mm),minutes\n3.05..3.06,<0.02,20\n")
    assert trial.hole_size_mm == Measured(3.05, "pin go and no-go", 3.06)
    assert trial.end_wear_mm == Measured(0.0, "no wear I can see", 0.02)
    assert one("end wear (mm),minutes\nnone,20\n").end_wear_mm.how == "no wear I can see"


def test_columns_that_are_not_known_are_kept_as_remarks():
    preview = read("minutes,moon,remark\n20,full,slow\n")
    assert preview.trials[0].remark == "slow; moon: full"
    assert any("'moon'" in text for text in preview.said)


def test_comments_and_blank_lines_keep_the_line_numbers():
    preview = read("# invented\n\npart,minutes\n\n1,20\n,\n2,twenty\n")
    assert "invented" in preview.said and [f.line for f in preview.faults] == [7]


def test_a_round_hole_says_its_own_areas():
    head = "hole diameter (mm),electrode diameter (mm),depth (mm),minutes"
    trial = one(f"{head}\n3.1,3.0,5,20\n")
    assert trial.section_mm2 == pytest.approx(3.14159265 * 9 / 4)
    assert trial.volume_mm3 == pytest.approx(3.14159265 * 3.1**2 / 4 * 5)
    plain = one("hole (mm),electrode size (mm),depth (mm),minutes\n3.1,3.0,5,20\n")
    assert plain.section_mm2 is None and plain.volume_mm3 is None  # it may be square


def test_materials_by_any_of_their_names():
    trial = one("steel,electrode metal,minutes\n100Cr6,Copper,20\n")
    assert (trial.work, trial.electrode) == ("52100", "copper")
    preview = read("steel,minutes\nunobtainium,20\n")
    assert "unobtainium" in preview.faults[0].sentence


def test_what_the_file_lacks_is_asked_once():
    data = f"{HEAD}\n1,3,50,25,20\n".encode()
    preview = read_csv(data)
    assert preview.missing == ("machine", "work", "electrode", "polarity")
    with pytest.raises(ek.Refusal, match="does not say machine, work"):
        trials_of(preview)
    (trial,) = trials_of(read(f"{HEAD}\n1,3,50,25,20\n"))
    assert (trial.work, trial.polarity) == ("52100", "electrode positive")


@pytest.mark.parametrize("word", ["+", "positive", "plus"])
def test_a_polarity_that_says_not_of_what_is_refused(word):
    preview = read(f"polarity,minutes\n{word},20\n")
    assert "electrode positive" in preview.faults[0].sentence
    assert one("polarity,minutes\nElectrode Positive,20\n").polarity == "electrode positive"


# --- nothing lost, nothing read two ways ---
@pytest.mark.parametrize("cell", ["1,200", "1.200"])
@pytest.mark.parametrize("delimiter", [";", "\t"])
def test_a_sign_that_may_stand_between_thousands_is_asked_about(cell, delimiter):
    preview = read(f"part{delimiter}off-time (us)\n1{delimiter}{cell}\n2{delimiter}800\n")
    assert [(d.line, d.text) for d in preview.doubts] == [(2, cell)]
    sure = read(f"part{delimiter}off-time (us)\n1{delimiter}{cell}\n2{delimiter}8{cell[1]}5\n")
    assert not sure.doubts and sure.trials[0].off_time_us == 1.2


def test_ranges_say_the_decimal_sign_too():
    assert one("hole (mm);part\n3,05..3,06;1\n").hole_size_mm.to == 3.06


def test_the_bore_is_no_metal_removed():
    head = "hole diameter (mm),electrode diameter (mm),bore (mm),depth (mm),minutes"
    preview = read(f"{head}\n3.1,3.0,1.0,5,20\n")
    (trial,) = preview.trials
    assert trial.section_mm2 == pytest.approx(3.14159265 * (9 - 1) / 4)
    assert trial.volume_mm3 == pytest.approx(3.14159265 * (3.1**2 - 1) / 4 * 5)
    assert any("taken as round" in text for text in preview.said)


@pytest.mark.parametrize(
    "rows", ['1,20,"open\n2,21,x\n3,22,y\n', '1,20,"open\n2,21,x\n3,22,"y\n4,23,z\n',
             '1,20,"a" b\n'])  # fmt: skip
def test_a_stray_quote_swallows_no_lines(rows):
    with pytest.raises(ek.Refusal, match=r"line 2 of the file cannot be read.*quotes"):
        read(f"part,minutes,remark\n{rows}")


def test_a_column_without_a_heading_is_kept_and_said():
    preview = read("part,minutes,,\n1,20,slow,\n")
    assert preview.trials[0].remark == "no heading: slow"
    assert sum("without a heading" in text for text in preview.said) == 1


def test_cells_of_blanks_are_empty():
    assert one("part,minutes,hole (mm),id\n1,20, ,  \n").hole_size_mm is None


@pytest.mark.parametrize(
    "head, cells", [("hole_size_mm,hole_size_mm_to", "3.05..3.06,3.09"),
                    ("end_wear_mm,end_wear_mm_how", "none,caliper"),
                    ("end_wear_mm_how,end_wear_mm", "caliper,none")])  # fmt: skip
def test_two_cells_that_contradict_each_other_are_a_fault(head, cells):
    preview = read(f"minutes,{head}\n20,{cells}\n")
    assert preview.faults[0].line == 2 and "said twice" in preview.faults[0].sentence


def test_every_way_of_measuring_can_stand_in_a_heading():
    for column in COLUMNS:
        for how in column.how:
            assert heading_of(f"{column.words.split(',')[0]} ({column.unit}, {how})").how in (
                how, "")  # fmt: skip
            assert heading_of(f"{column.name} ({column.unit}, {how})").how == how


def test_a_file_read_twice_adds_nothing():
    data = "id,part,minutes\nabc,1,20\n,2,21\n,2,21\n"
    names = [trial.id for trial in read(data).trials]
    assert names == [trial.id for trial in read(data).trials]
    assert names[0] == "abc" and len(set(names)) == 3  # twice meant is twice kept
    assert read(data, work="H13").trials[1].id != names[1]


def test_two_burns_with_one_id_are_a_fault():
    preview = read("id,part,minutes\nabc,1,20\nabc,2,21\n")
    assert [(f.line, f.column) for f in preview.faults] == [(3, "id")]
    assert read('id,minutes\n"a\0b",20\n').faults[0].line == 2


def test_a_line_without_its_material_is_asked_about():
    others = {name: answer for name, answer in ANSWERS.items() if name != "work"}
    preview = read_csv(b"part,minutes,work\n1,20,52100\n2,20,\n", others)
    assert not preview.missing
    assert [(d.line, d.column) for d in preview.doubts] == [(3, "work")]


def test_answers_for_the_file_are_held_to_the_same_rules():
    assert read("part,minutes\n1,20\n", work="100Cr6").trials[0].work == "52100"
    for wrong in ({"wrok": "52100"}, {"work": "unobtainium"}, {"polarity": "positive"}):
        with pytest.raises(ek.Refusal):
            read("part,minutes\n1,20\n", **wrong)


# --- what looks like a slip ---
LINES = [f"{n},3,50,25,{20 + n},{5 + n / 100},3.05,3.00,7.07" for n in range(6)]
FULL = f"{HEAD},depth (mm),hole (mm),electrode size (mm),section (mm²)"


@pytest.mark.parametrize(
    "line, column, factor",
    [("6,3,0.05,25,20,5,3.05,3,7.07", "on_time_us", None), ("6,3,50,25,1260,5,3.05,3,7.07", "", ""),
     ("6,3,50,25,20,5,77.47,3,7.07", "hole_size_mm", "25.4"),
     ("6,3,50,25,20,5,3.05,0.118,7.07", "", ""), ("6,3000,50,25,20,5,3.05,3,7.07", "", ""),
     ("6,3,50,25,20,0.197,3.05,3,7.07", "depth_mm", "25.4"),
     ("6,3,50,25,0.33,5,3.05,3,7.07", "", "")],
)  # fmt: skip
def test_slips_of_a_unit_are_flagged_and_never_mended(line, column, factor):
    preview = read("\n".join([FULL, *LINES, line]))
    told = [*preview.faults, *preview.doubts]
    assert 8 in {doubt.line for doubt in told}
    assert {doubt.line for doubt in told} == {8}
    if factor:
        assert any(factor in d.sentence and d.column == column for d in preview.doubts)
    if preview.trials:
        written = line.split(",")
        assert preview.trials[-1].minutes.value == float(written[4])  # as it stands
        with pytest.raises(ek.Refusal, match="look at line 8 first"):
            trials_of(preview)
        assert len(trials_of(preview, [8])) == 7


def test_one_line_alone_is_held_against_itself_and_the_physics():
    alone = read(f"{FULL}\n6,3,50,25,20,5,77.47,3,7.07\n")
    assert any("in inches" in doubt.sentence for doubt in alone.doubts)
    slow = read(f"{FULL}\n6,3,50,25,1500,5,3.05,3,7.07\n")  # seconds for minutes, nearly
    assert any("than the physics says" in doubt.sentence for doubt in slow.doubts)


def test_contradictions_and_repeats_are_flagged():
    head = "part,minutes,length in (mm),length out (mm)"
    preview = read(f"{head}\n1,20,40,40.5\n2,20,40,39.5\n2,20,40,39.5\n")
    told = {(d.line, d.sentence[:30]) for d in preview.doubts}
    assert (2, "the electrode is longer after ") in told
    assert (4, "the same line stands in the fi") in told and len(told) == 2


# --- all or nothing ---
def test_one_fault_keeps_everything_out(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("part,minutes\n1,20\n2,twenty\n")
    book = ek.TrialBook(tmp_path / "book.sqlite")
    with pytest.raises(ek.Refusal, match=r"nothing was imported: line 3, minutes: .*1 such"):
        book.import_csv(path, ANSWERS)
    assert book.trials() == () and not book.path.exists()


@pytest.mark.parametrize(
    "data, match",
    [(b"", "empty"), (b"\n \n", "empty"), (b"a,b\n1,2\n", "no heading"),
     (b"part,minutes\n", "no burns"), (b"PK\x03\x04xx", "save it as CSV"),
     (b"part,minutes\n1," + b"x" * 2_000_000 + b"\n", "cannot be read"),
     (b"x" * 21_000_000, "21 MB")],
)  # fmt: skip
def test_what_is_no_log_is_refused(data, match):
    with pytest.raises(ek.Refusal, match=match):
        read_csv(data)


def test_a_file_that_is_not_there_is_said(tmp_path):
    with pytest.raises(ek.Refusal, match="cannot be read"):
        read_csv(tmp_path / "none.csv")


def test_headings_twice_are_a_fault():
    assert "twice" in read("minutes,time (min)\n20,20\n").faults[0].sentence


@pytest.mark.parametrize("part", range(4))
def test_a_hundred_hostile_files_import_no_wrong_number_in_silence(part):
    imported = 0
    for seed in range(25 * part, 25 * part + 25):
        data, truth, cut = hostile(seed)
        try:
            preview = read_csv(data, ANSWERS)
        except ek.Refusal:
            continue
        imported += bool(preview.trials)
        assert wrong_in_silence(preview, truth, cut) == [], seed
    assert imported > 3  # not everything is refused


def test_the_good_file_is_read_whole():
    text = "\n".join(",".join(row) for row in GOOD)
    preview = read(text)
    assert len(preview.trials) == 8 and not preview.faults and not preview.doubts
    truth = [{name: float(row[n]) for n, name in NAMES.items()} for row in GOOD[1:]]
    assert wrong_in_silence(preview, truth) == []
    truth[3]["depth_mm"] = 5.2  # and if it had been read otherwise, it would be said
    assert wrong_in_silence(preview, truth) == [(5, "depth_mm", 5.01, 5.2)]


# --- out and in again ---
@given(st.lists(any_trial(), min_size=1, max_size=3), st.booleans())
@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=list(HealthCheck),
    phases=AS_IT_IS,
)
def test_a_round_trip_loses_nothing(trials, comma):
    kept = []
    for trial in trials:
        try:  # a material that the kit does not know cannot come back as a material
            kept.append(ek.Trial(**{**vars(trial), "work": "52100", "electrode": "copper"}))
        except ek.Refusal:
            continue
    preview = read_csv(csv_text(kept, comma).encode())
    assert not preview.faults, preview.faults
    lines = [doubt.line for doubt in preview.doubts]
    assert trials_of(preview, lines) == tuple(kept)


def test_a_file_for_spreadsheets_opens_there_and_here(tmp_path):
    trial = ek.Trial(part="=1+1", minutes=Measured(20.5, "watch"), work="52100", remark="Ø")
    for comma in (False, True):
        write_csv([trial], tmp_path / "out.csv", comma)
        text = (tmp_path / "out.csv").read_bytes()
        assert text.startswith(b"\xef\xbb\xbf") and b"'=1+1" in text
        rows = list(
            csv.reader(io.StringIO(text.decode("utf-8-sig")), delimiter=";" if comma else ",")
        )
        assert dict(zip(*rows, strict=True))["minutes"] == ("20,5" if comma else "20.5")
        answers = {"machine": "", "electrode": "copper", "polarity": "electrode positive"}
        assert read_csv(tmp_path / "out.csv", answers).trials[0].part == "=1+1"


def test_a_spreadsheet_holds_numbers_and_no_formula():
    trial = ek.Trial(part="=1+1", remark="@x", feature="#DIV/0!", minutes=Measured(20.5, "watch"),
                     peak_current_A=3.0, machine="\u0001bell")  # fmt: skip
    page = load_workbook(io.BytesIO(xlsx_bytes([trial]))).active
    row = dict(zip([c.value for c in page[1]], page[2], strict=True))
    assert row["minutes"].value == 20.5 and row["minutes"].data_type == "n"
    assert unguarded(row["part"].value) == "=1+1" and unguarded(row["remark"].value) == "@x"
    assert {cell.data_type for cells in page.rows for cell in cells} <= {"s", "n"}
    assert row["part"].value == "'=1+1"  # saved as CSV from there, it is no formula either


@given(st.lists(any_trial(), min_size=1, max_size=2))
@settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck), phases=AS_IT_IS)
def test_a_spreadsheet_holds_what_the_table_does(trials):
    page = load_workbook(io.BytesIO(xlsx_bytes(trials))).active
    for cells, row in zip(page.rows, table_of(trials), strict=True):
        for cell, value in zip(cells, row, strict=True):
            assert cell.data_type in ("s", "n")
            if isinstance(value, str):
                assert unguarded(cell.value or "") == in_xml(value)
            elif value is None:
                assert cell.value is None
            else:
                assert cell.value == pytest.approx(value, rel=1e-15)  # its last digit is dropped


@pytest.mark.parametrize("text", ["a\ufffe", "\uffff", "\x01bell", "a\r\nb", " =1", "_x000D_"])
def test_no_text_makes_a_spreadsheet_unreadable(text):
    page = load_workbook(io.BytesIO(xlsx_bytes([ek.Trial(remark=text)]))).active
    values = dict(zip([c.value for c in page[1]], [c.value for c in page[2]], strict=True))
    assert unguarded(values["remark"]) == in_xml(text)


def in_xml(text):
    """Return a text as XML 1.0 can hold it (section 2.2, Char; section 2.11, line ends)."""
    ends = text.replace("\r\n", "\n").replace("\r", "\n")
    return re.sub("[^\t\n\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]", " ", ends)


# --- the invented logs ---
@pytest.mark.parametrize("log", demo_logs.logs(), ids=lambda log: log.file)
def test_the_demo_logs_are_what_the_script_makes_and_say_so(log):
    text = (DATA / log.file).read_text(encoding="utf-8")
    assert text.splitlines()[0].startswith("# Invented")
    assert text.replace("\r\n", "\n") == demo_logs.text_of(log).replace("\r\n", "\n")
    preview = read_csv(DATA / log.file)
    assert not preview.faults and not preview.doubts and not preview.missing


@pytest.mark.parametrize("log", demo_logs.logs(), ids=lambda log: log.file)
def test_learning_a_demo_log_finds_the_shop_that_made_it(log):
    from edmkit.trials.beside import constants
    from edmkit.trials.learn import study

    found = {c.quantity: c for c in constants(study(read_csv(DATA / log.file).trials))}
    for quantity, factor in log.factors.items():
        low, high = found[quantity].now.low, found[quantity].now.high
        assert low / 1.1 < factor < high * 1.1, quantity
        assert high / low < 1.6  # amid the burns, not at some other setting
