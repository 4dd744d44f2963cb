"""The burn card: one page, large, escaped, only with an open gate; seen in a browser."""

import re
import sys
from types import SimpleNamespace

import browser_kit
import card_kit as kit
import pytest
from test_plan import demo

import edmkit as ek
from edmkit.estimate import Estimate
from edmkit.panels.plan_demos import DEMOS
from edmkit.planning.card import PAPERS, card_html
from edmkit.planning.safety import Bath
from edmkit.words import Display

POINT = 96 / 72  # px of a point; definition of the style sheet standard
SMALLEST_PT = 9
TRAP = SimpleNamespace(name="sag of the face", value_mm=0.164)
PICTURE = (  # as tall as a section ever gets
    '<svg viewBox="0 0 340 244" width="340" height="244"><rect width="340" height="244" '
    'fill="none" stroke="#000"/></svg>'
)
WORDS = "This end meets the pip first: start at the lowest current until it is down."


def reading(words, mm):
    """Return what a micrometer shows."""
    return SimpleNamespace(words=words, mm=mm)


def several(number):
    """Return a plan of so many passes with as much on it as a real one has."""
    steps = tuple(kit.step(0.1 * i, str(i + 1)) for i in range(4))
    kinds = ("rough", "finish", "square the floor", "pip")[:number]
    return kit.plan(tuple(
        kit.one_pass(i, kind, kit.setup(), steps=steps if i == 1 else None, notes=(WORDS,),
                     readings=[reading("length", 12.34), reading("width", 5.67)], trap=TRAP)
        for i, kind in enumerate(kinds, 1)
    ), wall=SimpleNamespace(wall_mm=0.6, sentence=""))  # fmt: skip


def card(plan=None, display=None, paper="A4", name="Roller holes", **answers):
    """Return the card of a plan behind an open gate."""
    return card_html(plan or kit.plan(), kit.gate(**answers), display, paper, name=name)


@pytest.fixture(scope="module")
def chromium():
    browser_kit.need_chromium()
    with browser_kit.browser() as chromium:
        yield chromium


@pytest.fixture(autouse=True)
def picture(monkeypatch):
    """Draw a plain box: a pass put together by hand has no section to draw."""
    drawing = SimpleNamespace(pass_picture=lambda pass_: PICTURE, section=lambda *a, **k: PICTURE)
    monkeypatch.setitem(sys.modules, "edmkit.planning.drawing", drawing)


@pytest.fixture
def show(chromium):
    """Return a function that shows a card as it is printed, with nothing else at hand."""
    context = chromium.new_context(offline=True)

    def opened(html):
        page = context.new_page()
        page.emulate_media(media="print")
        page.set_content(html)
        return page

    yield opened
    context.close()


def seen(html):
    """Return the words of a card without its markup."""
    body = re.sub(r"<(style|svg|title).*?</\1>", " ", html, flags=re.S)
    return " ".join(re.sub(r"<[^>]+>", " ", body).split())


# --- one page, readable ---
@pytest.mark.parametrize("inches", [False, True], ids=["mm", "inch"])
@pytest.mark.parametrize("paper, points", [("A4", (595, 842)), ("Letter", (612, 792))])
@pytest.mark.parametrize("number", [1, 2, 3])
def test_one_page_exactly(show, number, paper, points, inches):
    """Sizes in points: ISO 216 A4 is 210 x 297 mm, Letter 8.5 x 11 in."""
    page = show(card(several(number), Display(inches), paper, attended=False, float_stops=True,
                     thermostat_stops=True, automatic_extinguisher=True))  # fmt: skip
    printed = page.pdf(prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 1
    box = re.search(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)", printed)
    assert tuple(float(side) for side in box.groups()) == pytest.approx(points, abs=1)
    assert page.evaluate(STICKS_OUT) == []


def test_too_much_for_a_page_goes_on_the_next_and_is_not_cut(show):
    page = show(card(several(4)))
    assert len(re.findall(rb"/Type\s*/Page\b", page.pdf(prefer_css_page_size=True))) == 2
    assert page.evaluate(STICKS_OUT) == []


# Words that leave their box or the sheet; the title alone may end in an ellipsis.
STICKS_OUT = """() => {
    const sheet = document.querySelector('.sheet').getBoundingClientRect(), out = [];
    for (const box of document.querySelectorAll('.got > *, .pass > *, .facts > *, .watch')) {
        const around = box.getBoundingClientRect(), words = document.createRange();
        words.selectNodeContents(box);
        for (const part of words.getClientRects())
            if (part.right > around.right + 1 || part.bottom > around.bottom + 1
                || part.right > sheet.right + 1 || part.bottom > sheet.bottom + 1)
                out.push(box.innerText);
    }
    return out; }"""

SIZES = """() => {
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), sizes = [];
    while (walk.nextNode()) {
        const owner = walk.currentNode.parentElement, style = getComputedStyle(owner);
        if (!walk.currentNode.textContent.trim() || owner.tagName === 'title') continue;
        const drawn = owner.ownerSVGElement ? Math.abs(owner.getScreenCTM().d) : 1;
        sizes.push([parseFloat(style.fontSize) * drawn, owner.ownerSVGElement ? 'rgb(0, 0, 0)'
                    : style.color, walk.currentNode.textContent.trim()]);
    }
    return sizes; }"""


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("number", [1, 2, 3])
def test_no_letter_is_small_and_all_are_black(show, number, paper):
    letters = show(card(several(number), paper=paper)).evaluate(SIZES)
    assert len(letters) > 50
    for size, colour, text in letters:
        assert size >= SMALLEST_PT * POINT - 0.01, text
        assert colour == "rgb(0, 0, 0)", text


@pytest.mark.parametrize("name", DEMOS)
def test_the_demo_cards_with_their_real_drawings(show, monkeypatch, name):
    monkeypatch.undo()  # the drawing room as it is
    page = show(demo(name).card_html(kit.gate(gas_leaves_electrode=True), name=name))
    assert page.evaluate(STICKS_OUT) == []
    for size, _, text in page.evaluate(SIZES):
        assert size >= SMALLEST_PT * POINT - 0.01, text
    assert page.locator(".make svg path").count() > 1
    lines = page.evaluate(LINES)
    assert lines and set(lines) <= {"none", "rgb(0, 0, 0)"}


LINES = """() => [...document.querySelectorAll('.make svg > path')]
    .map(line => getComputedStyle(line).stroke)"""


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("number", [1, 2, 3])
def test_what_is_set_by_hand_is_the_largest(show, number, paper):
    letters = show(card(several(number), paper=paper)).evaluate(SIZES)
    sizes = {text: size / POINT for size, _, text in letters}
    assert min(sizes["5.64 mm"], sizes["7"], sizes["low"]) >= 11
    stop = max(size / POINT for size, _, text in letters if text == "5.64 mm")
    assert stop == max(size / POINT for size, _, _ in letters)
    assert stop > 18.9 and sizes["low"] >= 17 and sizes["12.34 mm"] >= 14


def test_nothing_is_fetched(chromium, tmp_path):
    asked, file = [], tmp_path / "card.html"
    file.write_text(card(several(3)), encoding="utf-8")
    page = chromium.new_page()
    page.on("request", lambda request: asked.append(request.url))
    page.goto(file.as_uri())
    assert asked == [file.as_uri()]
    assert page.evaluate("document.scripts.length") == 0
    page.close()


# --- escaped ---
HOSTILE = "<script>window.taken = 1</script><img src=x onerror='window.taken=1'> & \" ' </style>"


def test_hostile_words_stay_words(show):
    bad = HOSTILE[:64].strip()
    around = kit.setup()
    one = kit.one_pass(1, "rough", around, notes=(HOSTILE,), readings=[reading(HOSTILE, 3.0)],
                       labels=kit.LABELS | {"open_voltage_V": HOSTILE})  # fmt: skip
    one.ramp.steps = (kit.step(0, HOSTILE), kit.step(0.4, HOSTILE))
    one.stop.trap = SimpleNamespace(name=HOSTILE, value_mm=0.1)
    plan = kit.plan((one,), setup=SimpleNamespace(
        work=SimpleNamespace(name=HOSTILE, family="steel"), dielectric=around.dielectric,
        machine=SimpleNamespace(name=HOSTILE), flushing=around.flushing))  # fmt: skip
    plan.touch.place = plan.feature.depth_from = HOSTILE
    page = show(card(plan, name=bad))
    assert page.evaluate("window.taken") is None
    assert page.evaluate("document.scripts.length + document.images.length") == 0
    assert page.locator("h1").inner_text() == bad and page.title() == bad
    assert page.locator("body").inner_text().count("<script>") >= 8


# --- the gate ---
@pytest.mark.parametrize(
    "answers, word",
    [
        ({"day": ""}, "Say the day"),
        ({"fluid": ""}, "which fluid"),
        ({"level_over_spark_mm": None}, "in mm"),
        ({"level_over_spark_mm": 30}, "40 mm at least"),
        ({"attended": False}, "Nobody stays"),
        ({"gas_leaves_part": False}, "blocks"),
        ({"current_off_before_lowering": False}, "lowered"),
        ({"earth_checked": False}, "earth"),
        ({"day": "2020-02-29"}, "of 2020-02-29 and today"),
        ({"fluid": "kerosene"}, "another fluid"),
    ],
)
def test_no_card_behind_a_closed_gate(answers, word):
    with pytest.raises(ek.Refusal, match=f"gate.*{word}"):
        card(**answers)


def test_no_card_without_a_gate():
    with pytest.raises(ek.Refusal, match="gate"):
        card_html(kit.plan(), None)


def test_a_hollow_electrode_asks_for_its_gas():
    hollow = kit.plan((kit.one_pass(1, "rough", kit.setup(), bore=1.2),))
    with pytest.raises(ek.Refusal, match="hollow"):
        card(hollow)
    assert "bore 1.20 mm" in seen(card(hollow, gas_leaves_electrode=True))


@pytest.mark.parametrize("wrong, word", [({"paper": "A3"}, "paper"), ({"name": "x" * 81}, "name")])
def test_paper_and_name_are_checked(wrong, word):
    with pytest.raises(ek.Refusal, match=word):
        card(**wrong)


# --- what stands on it ---
def test_every_number_of_a_pass_is_on_it():
    words = seen(card(several(1)))
    for text in (
        "Roller holes", kit.ALL_SAID["day"], "Bearing steel 52100", "Old manual sinker",
        "diameter 3.05 mm + 0.06 − 0; 5.00 mm ± 0.05 deep from the hole centre", "40 parts, 2 ho",
        "contact, in place, each hole anew", "Ohms, part to table", "One pass", "length 12.34 mm",
        "Polarity electrode positive", "On-time 7 80 µs", "Off-time 6 90 µs",
        "Open voltage low 100 V", "Set stop 5.64 mm dial then shows 5.64 mm", "± 0.06 mm",
        "0.16 mm of it: sag of the face", "Dress after every 2 holes", WORDS, "Ammeter",
        "Voltmeter", "Flushing suction", "Lift 4 s down 1 s up", "Dial, each lift 12 µm 6.2 to 23",
        "End wears 0.50 mm 0.31 to 0.82", "Remark", "plan 3.05 plan 5.00 plan 0.21",
    ):  # fmt: skip
        assert text in words


def test_bands_by_hand():
    """17.7 exp(∓1.645 x 0.4) = 9.17 and 34.2 minutes, by a pocket calculator."""
    assert "Time 18 min 9.2 to 34" in seen(card())


def test_the_current_to_start_with_is_the_large_one():
    words = seen(card(several(1)))
    assert "Current to start 1" in words
    assert "start 1 from 0.10 mm 2 from 0.20 mm 3 from 0.30 mm 4" in words
    plain = seen(card())
    assert "Current 3 4 A" in plain and "below first touch" not in plain


def test_a_number_is_not_said_twice():
    labels = kit.LABELS | {"on_time_us": "80 µs"}
    one = kit.plan((kit.one_pass(1, "rough", kit.setup(), labels=labels),))
    assert seen(card(one)).count("80 µs") == 1


def test_level_and_warmth_in_numbers():
    """0.1 L/min from 2000 cm² is 0.5 mm/min: 18 exp(0.658) = 34.8 minutes make 17 mm."""
    words = seen(card(level_over_spark_mm=80, bath=Bath(60, 2000, 0.1, returns=False)))
    assert "80 mm over the spark; within 35 min it falls 17 mm, warms" in words
    assert "°C" not in seen(card(bath=None))


def test_no_figure_is_said_and_no_lift_timer_left_out():
    one = kit.one_pass(1, "rough", kit.setup())
    one.end_wear_mm, one.dial_step_um = Estimate(float("nan"), 0.3), None
    one.settings = ek.Settings(4, 80, 90, 100)
    words = seen(card(kit.plan((one,))))
    assert "End wears no figure burn a trial" in words
    assert "nan" not in words.lower() and "Lift" not in words and "each lift" not in words


def test_a_long_burn_in_hours():
    one = kit.one_pass(1, "rough", kit.setup())
    one.minutes = Estimate(600.0, 0.4)
    assert "Time 10 h 5.2 to 19" in seen(card(kit.plan((one,))))


def test_through_holes_and_inches():
    plan = kit.plan()
    plan.feature.through = plan.passes[0].feature.through = True
    words = seen(card(plan))
    assert "right through 5.00 mm" in words and "clear of the part" in words
    assert "nine times" not in words
    words = seen(card(several(2), Display(inches=True)))
    assert "Set stop 0.2220 in" in words  # 5.64 / 25.4, by hand
    assert "length 0.4858 in" in words and not re.search(r"\d mm", words.replace(" 0.3 mm", ""))
