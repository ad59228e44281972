import re
from dataclasses import replace
from types import SimpleNamespace

import geopandas as gpd
import pypdfium2
import pytest
import shapely

from mapper.farm.notes import Figure
from mapper.farm.wording import Wording
from mapper.plan.burnplan import CAUTION, NEIGHBOUR_CAUTION
from mapper.sheets.book import made_of, sheets_of
from mapper.sheets.bookwork import drives_items
from mapper.sheets.page import Box
from mapper.sheets.pdf import Sheet, pdf_of, picture_of
from mapper.sheets.plan_book import parts_of
from tests.demo import demo_plan

# What published standards ask of a plan (PMS 484; NRCS 338), in our own order.
ASKED = [
    "Place and way in", "Objectives", "Prescription", "Weather", "Breaks", "Hazards and what to keep clear of",
    "People and equipment", "Protective clothing", "First aid and medical", "Communication", "Notices",
    "Test fire", "Lighting", "Holding", "Contingency", "Smoke", "Patrol", "After-burn record", "Sign-off", "Glossary",
]  # fmt: skip


def book_of(plan):
    sheet = next(s for s in sheets_of(plan, "A4") if s.name == "plan-book")
    raw, pages = pdf_of(sheet, made_of(plan))
    return raw, pages, [" ".join(p.get_textpage().get_text_range().split()) for p in pypdfium2.PdfDocument(raw)]


@pytest.fixture(scope="module")
def printed():
    plan = demo_plan(go=False)
    tell = plan.tell.copy()
    tell.loc[0, "told_at"] = "2026-04-16T17:30"
    made = (("Head fire, most", 17_512.3, "kW/m"), ("Chance", 3e-5, ""), ("Air", 31.0, "degC"))
    figures = (*plan.figures, *(Figure(*m, "a test") for m in made))
    plan = replace(plan, tell=tell, figures=figures)
    return plan, *book_of(plan)


def test_all_parts_asked_for_are_there_and_in_the_contents(printed):
    plan, _, _, text = printed
    names = [p.name for p in parts_of(plan)]
    assert set(ASKED) <= set(names)
    for n, name in enumerate(names, 1):
        assert f"{n} {name}" in text[0], name
        pages = [k for k, page in enumerate(text) if k and f"{n} {name}" in page]
        assert pages, name
        # The contents name the page on which the part begins.
        said = text[0].split(f"{n} {name} ", 1)[1].split()[0]
        assert int(said) == pages[0] + 1, name


def test_maps_and_notices_are_bound_in(printed):
    plan, _, pages, text = printed
    everything = " ".join(text)
    for words in ("Burn-order map", "Buffer map", "Notice of burning", f"page 1 of {len(text)}"):
        assert words in everything
    assert sum(len(p.maps) for p in pages) >= 4
    assert "NOT A GO" in text[0] and all(t.rstrip(".") in everything for t in plan.against)


def test_the_caution_stands_on_every_page(printed):
    _, _, _, text = printed
    for page in text:
        assert (NEIGHBOUR_CAUTION if "RING US" in page else CAUTION) in page


def test_what_is_known_is_filled_in_and_what_is_not_is_a_line(printed):
    _, _, _, text = printed
    everything = " ".join(text)
    for words in ("0491 570 110", "gate G1", "Tank Road", "10 min at 10 m", "Neighbour 2", "invented for a test"):
        assert words in everything, words
    assert "________" in everything and "{" not in everything


def test_no_words_of_the_book_overlap_or_are_cut_off(printed):
    _, _, pages, _ = printed
    for page in pages:
        boxes = [w for w in page.written if w.box.w > 0]
        for k, a in enumerate(boxes):
            assert not a.words.endswith("…"), a.words
            for b in boxes[k + 1 :]:
                assert (
                    a.box.right <= b.box.x + 0.05
                    or b.box.right <= a.box.x + 0.05
                    or a.box.bottom <= b.box.y + 0.05
                    or b.box.bottom <= a.box.y + 0.05
                ), (a.words, b.words)


def test_no_raw_figure_or_time_on_paper(printed):
    raw = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d|\de[+-]\d|ug/m3|degC|\bnan\b|\bNaT\b|\bNone\b")
    _, _, pages, text = printed
    assert not [w.words for page in pages for w in page.written if raw.search(w.words)]
    assert "Thu 16 Apr 17:30" in " ".join(text)


def test_charts_are_vector_with_their_words_as_text(printed):
    _, raw, _, text = printed
    page = next(p for p in text if "Wind by the hour" in p)
    assert "Moisture of dead straw by the hour" in page and "gust" in page
    assert len(raw) < 2_000_000


def test_a_farms_own_words_take_the_place_of_ours_and_say_who_set_them():
    plan = demo_plan(("Hut",), blocks=1)
    own = Wording("clothing", ("Wool only; ring {phone}.", "Boots: ____"), "the manager", "2026-03-01")
    told = replace(plan, farm=plan.farm.with_(wording={"clothing": own}))
    everything = " ".join(book_of(told)[2])
    assert "Wool only; ring 0491 570 110." in everything and "Set by the manager, 2026-03-01." in everything
    assert "The program's words, not yet set by the farm" in everything  # the others


def test_long_drives_and_drives_with_a_warning_are_listed():
    plan = demo_plan(("Hut",), blocks=1)
    n, line = 3, shapely.LineString([(0, 0), (1, 1)])
    columns = {"paddock": ["Hut"] * n, "block": ["A"] * n, "crew": ["Crew 1"] * n, "from_no": [1, 2, 3],
               "to_no": [2, 3, 4], "leaves_at": [plan.sunset] * n, "length_m": [14.0, 640.0, 12.0],
               "note": ["", "", "no way clear of fire"]}  # fmt: skip
    routes = gpd.GeoDataFrame(columns, geometry=[line] * n, crs=plan.farm.grid.crs)
    (table,) = drives_items(SimpleNamespace(routes=routes, paddocks=plan.paddocks, farm=plan.farm))
    sheet = Sheet("x", "x", "A4 portrait", (lambda page: table.paint(page, Box(10, 10, 190, table.tall(190))),))
    said = {w.words for w in picture_of(sheet, 0, 40.0)[1].written}
    assert {"640 m", "no way clear of fire", "2 – 3", "3 – 4"} <= said and "1 – 2" not in said
