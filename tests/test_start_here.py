"""The start page: the pages there are, the three questions, the cautions in sight."""

import html
import re
import shutil

import ipywidgets as widgets
import pytest

from edmkit.jupyter import shipped
from edmkit.panels.start_here import PAGES, StartHere, pages_in
from edmkit.planning.safety import FIRST, SAFETY

NOTEBOOKS = shipped("notebooks")


def everything(widget):
    """Return a widget and all that it holds."""
    inside = [part for child in getattr(widget, "children", ()) for part in everything(child)]
    return [widget, *inside]


def shown(panel):
    """Return the words on the panel, as a person reads them."""
    texts = [w.value for w in everything(panel) if isinstance(w, widgets.HTML)]
    plain = re.sub(r"<style>.*?</style>|<[^>]+>", " ", " ".join(texts), flags=re.S)
    return re.sub(r"\s+", " ", html.unescape(plain))


def test_every_shipped_page_is_on_the_list():
    others = {p.stem for p in NOTEBOOKS.glob("*.ipynb")} - {"00_start_here"}
    assert {name for name, *_ in pages_in(NOTEBOOKS)} == others
    assert {name for name, *_ in PAGES} == others


def test_only_pages_in_the_folder_are_shown(tmp_path):
    assert "No other page lies in this folder" in shown(StartHere(tmp_path))
    name, title, line = PAGES[0]
    shutil.copy(NOTEBOOKS / f"{name}.ipynb", tmp_path)
    panel = StartHere(tmp_path)
    assert title in shown(panel) and line in shown(panel)
    links = [w.value for w in everything(panel) if isinstance(w, widgets.HTML)]
    assert re.findall(r'href="([^"]+)"', " ".join(links)) == [f"{name}.ipynb"]


def test_list_agrees_with_the_page_itself():
    for name, title, _ in PAGES:
        assert f"# {title}" in (NOTEBOOKS / f"{name}.ipynb").read_text(encoding="utf-8")


@pytest.mark.parametrize("number", range(3))
def test_each_answer_changes_the_page_at_once(number):
    panel = StartHere()
    seen = set()
    drop = next(w for w in everything(panel.picks[number]) if isinstance(w, widgets.Dropdown))
    for index in range(len(drop.options)):
        drop.index = index  # as the keyboard does
        text = shown(panel)
        for part in (panel.advice.reasons, panel.advice.instead, panel.advice.afterwards):
            assert all(fact.text in text for fact in part)
        assert panel.advice.verdict in text
        seen.add(text)
    assert len(seen) == len(drop.options)


def test_nothing_follows_where_the_answer_is_no():
    panel = StartHere()
    panel.answer("no conductor", "round hole", "nothing special")
    assert "afterwards" not in shown(panel)
    panel.answer("hardened steel", "corners or deep", "nothing special")
    assert "afterwards" in shown(panel)


def test_cautions_stand_on_the_page_unfolded():
    panel = StartHere()
    text = shown(panel)
    assert FIRST in text
    for group in SAFETY:
        assert group.title in text
        for fact in group.items:
            assert f"{fact.text} ({fact.source})" in text
    folded = (widgets.Accordion, widgets.Tab)
    assert not [w for w in everything(panel) if isinstance(w, folded)]
