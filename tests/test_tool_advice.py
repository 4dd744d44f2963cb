"""Electrodes for a work: usual polarity, wear where there is a figure, the trade's own bands."""

import re

import numpy as np
import pytest
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit.data import read_rows
from edmkit.planning.tool_advice import advice


def of(work):
    """Return the advice for a work by the electrode's key, best first."""
    return {one.electrode.key: one for one in advice(ek.work_material(work))}


@pytest.mark.parametrize("work", ek.work_materials())
def test_every_electrode_is_there_once_with_words_and_sources(work):
    found = advice(ek.work_material(work))
    assert sorted(one.electrode.key for one in found) == sorted(ek.electrode_materials())
    for one in found:
        assert one.polarity in ("electrode positive", "electrode negative")
        assert one.why.endswith(".") and one.source.startswith("polarity: ")
        assert ("burn a trial" in one.why) is (one.wear_percent is None)
        assert ("wear: " in one.source) is (one.wear_percent is not None)
        assert not re.search(r"\bS\d+\b|\btool\b", one.why), "codes and a second word for electrode"


@pytest.mark.parametrize("work", ek.work_materials())
def test_least_wear_comes_first_and_no_figure_last(work):
    wear = [np.inf if a.wear_percent is None else a.wear_percent for a in of(work).values()]
    assert wear == sorted(wear)


def test_wear_on_steel_lies_between_the_bands_of_roughing_and_finishing():
    # bands from memory, standard_wear_ratio.csv: copper 0.3-3 and 5-30 %, graphite 0.1-2 and
    # 10-40 %; 50 µs lies between 20 µs of finishing and 100 µs of roughing
    found = of("52100")
    for key, low, high in (("copper", 0.3, 30), ("graphite", 0.1, 40), ("CuW", 0.3, 15)):
        assert low < found[key].wear_percent < high
    # by hand from the law's own numbers (from memory): 12 % (55/15)^-0.85 + 0.2 %
    assert_allclose(found["copper"].wear_percent, 12 * (55 / 15) ** -0.85 + 0.2, rtol=1e-9)
    # the bands by volume and no others: the 0 to 1 % of long pulses are by mass
    bands = "bands of the trade: roughing 0.3 to 3 %, finishing 5 to 30 %."
    assert bands in found["copper"].why
    # old volume ratios on steel (read, low): brass 1:1 wears more than copper 2:1, CuW 8:1 least
    assert found["CuW"].wear_percent < found["copper"].wear_percent < found["brass"].wear_percent


def test_carbide_takes_copper_tungsten_before_copper_electrode_negative():
    # bands from memory, standard_wear_ratio.csv: 10-25 % and 25-60 %
    first, second = list(of("WC-6Co").values())[:2]
    assert [first.electrode.key, second.electrode.key] == ["CuW", "copper"]
    assert 10 <= first.wear_percent <= 25 <= second.wear_percent <= 60
    assert first.polarity == second.polarity == "electrode negative"
    assert "10 to 25 %" in first.why and "25 to 60 %" in second.why


@pytest.mark.parametrize(
    "work, first",
    [("Ti64", {"graphite", "copper"}), ("6061", {"graphite", "copper"}), ("BeCu", {"graphite"})],
)
def test_without_a_figure_the_pairs_the_trade_names_come_first(work, first):
    # standard_polarity.csv, rows from memory
    found = of(work)
    assert set(list(found)[: len(first)]) == first
    assert all(one.wear_percent is None for one in found.values())


def test_without_any_row_the_trades_usual_electrodes_come_first():
    # common practice, no source: copper, graphite and copper-tungsten; low melting brass last
    order = list(of("alloy718"))
    assert set(order[:3]) == {"copper", "graphite", "CuW"} and order[-1] == "brass"


NAMES = {"steel": "H13", "tungsten carbide": "WC-10Co", "copper / copper alloys": "copper",
         "titanium": "Ti64", "aluminium": "6061"}  # fmt: skip
TOOLS = {"graphite": "graphite", "copper": "copper", "copper-tungsten": "CuW"}


@pytest.mark.parametrize("row", read_rows("standard_polarity.csv"), ids=lambda r: r["electrode"])
def test_the_trades_polarity_is_the_advice_or_its_exception(row):
    sign = "positive" if row["tool_sign"] == "+" else "negative"
    tools = [TOOLS[name] for name in row["electrode"].split(" or ") if name in TOOLS]
    assert tools or row["electrode"] == "brass tube"  # drilled with, not sunk with
    for tool in tools:
        one = of(NAMES[row["work"]])[tool]
        special = "short" in row["stage"] or "fast" in row["stage"]
        assert (one.polarity == f"electrode {sign}") is not special
        assert (f"Electrode {sign} only for: " in one.why) is special


def test_the_exceptions_of_steel_are_said_in_shop_words():
    found = of("D2")
    assert "Electrode negative only for: very short on-time (under about 5 µs)." in (
        found["copper"].why
    )
    assert "only for: fast roughing, wear accepted." in found["graphite"].why
    assert "only for" not in found["CuW"].why


def test_the_source_of_graphite_on_steel_is_the_text_that_was_read():
    assert of("52100")["graphite"].source.startswith("polarity: vocational text")
    assert "from memory, unverified" in of("52100")["copper"].source
    assert "wear: from memory" in of("52100")["copper"].source
