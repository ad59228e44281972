import json
import shutil
import subprocess
import sys
from dataclasses import replace
from functools import cache
from io import BytesIO

import numpy as np
import pypdfium2
import pytest
import shapely
from pypdf import PdfReader

from mapper.farm.notes import Remark
from mapper.plan.burnplan import CAUTION, NEIGHBOUR_CAUTION
from mapper.sheets.book import made_of, print_plan, sheets_of, write_pictures
from mapper.sheets.mapframe import round_scale, row_turn_deg
from mapper.sheets.night import gate_place
from mapper.sheets.order import crew_words
from mapper.sheets.panels import title_bar
from mapper.sheets.pdf import Sheet, file_name, paint_on, pdf_of, picture_of
from tests.demo import demo_plan

PLANS = {
    "straight": {},
    "curved": {"names": ("Shed Hill",), "curved": True, "blocks": 4, "go": False},
    "tiny": {"names": ("Hut",), "blocks": 1},
    "strip": {"names": ("Long Strip",), "pitch_m": 9.0, "blocks": 3},
    "crowded": {"names": ("Bottom Dam",), "pitch_m": 5.0, "blocks": 9},
}


@pytest.fixture(scope="module")
def printed():
    """Every plan's sheets as (sheet, bytes, pages)."""
    found = {}
    for name, given in PLANS.items():
        plan = demo_plan(**given)
        # The book binds what the others show, and is tested by itself.
        paper = "A4" if name in ("crowded", "strip") else None
        wanted = [s for s in sheets_of(plan, paper) if s.name != "plan-book"]
        found[name] = (plan, [(s, *pdf_of(s, made_of(plan))) for s in wanted])
    return found


def _all(printed):
    return [(name, plan, *one) for name, (plan, made) in printed.items() for one in made]


@cache
def _text(raw):
    return [" ".join(p.get_textpage().get_text_range().split()) for p in pypdfium2.PdfDocument(raw)]


def test_caution_on_every_side(printed):
    for name, _, sheet, raw, _ in _all(printed):
        for side in _text(raw):
            notice = "Notice of burning" in side and "plan no. 7" in side and "RING US" in side
            assert (NEIGHBOUR_CAUTION if notice else CAUTION) in side, (name, sheet.name)


def test_no_words_overlap_or_leave_the_page(printed):
    for name, _, sheet, _, pages in _all(printed):
        for page in pages:
            boxes = [w for w in page.written if w.box.w > 0]
            for k, a in enumerate(boxes):
                assert a.box.x >= 0 and a.box.right <= page.width - 4 and a.box.bottom <= page.height - 2, (name, a)
                for b in boxes[k + 1 :]:
                    apart = (
                        a.box.right <= b.box.x + 0.05
                        or b.box.right <= a.box.x + 0.05
                        or a.box.bottom <= b.box.y + 0.05
                        or b.box.bottom <= a.box.y + 0.05
                    )
                    assert apart, (name, sheet.name, a, b)


def test_the_front_says_what_is_asked_of_it(printed):
    plan, made = printed["straight"]
    front = _text(made[0][1])[0]
    for words in ("No ban declared today", "checked at", "Permit here", "Fire service told", "10-min mean at 10 m",
                  "STOP AND HOLD", "GDA2020 / MGA zone 54", "WHAT THE MARKS MEAN", "1:7,500 on A4", "100 mm",
                  "Made Fri 17 Apr 2026 16:40 by the farm manager", "Sources:", "invented data"):  # fmt: skip
        assert words in front, words
    assert "NOT A GO" not in front and plan.go


def test_not_a_go_is_said_with_what_stands_against(printed):
    plan, made = printed["curved"]
    for sheet, raw, _ in made:
        if sheet.name.startswith("notice"):
            assert "NOT DECIDED YET" in _text(raw)[0]
        elif sheet.name != "cover-list":
            assert "NOT A GO" in _text(raw)[0] and plan.against[0].rstrip(".") in _text(raw)[0]
    everything = " ".join(" ".join(_text(raw)) for s, raw, _ in made if "burn-order" in s.name)
    assert all(t.rstrip(".") in everything for t in plan.against)


@pytest.mark.parametrize("name", list(PLANS))
def test_every_row_number_can_be_ticked(printed, name):
    plan, made = printed[name]
    for paddock in plan.paddocks:
        wanted = {str(n) for n in plan.pieces.loc[plan.pieces["paddock"] == paddock, "order_no"] if n > 0}
        for sheet, _, pages in made:
            if f"burn-order {paddock} " in f"{sheet.name} ":
                said = {w.words for page in pages for w in page.written}
                assert wanted <= said, sheet.name
                blocks = plan.blocks[plan.blocks["paddock"] == paddock]
                assert {f"{b.first_no}–{b.last_no}" for b in blocks.itertuples() if b.first_no != b.last_no} <= said


def test_neighbours_learn_nothing_of_others(printed):
    for _, plan, sheet, raw, _ in _all(printed):
        if not sheet.name.startswith("notice"):
            continue
        text = _text(raw)[0]
        for row in plan.farm.neighbours.itertuples():
            if row.name not in sheet.name:
                assert row.name not in text and row.phone not in text
        for secret in ("Crew 1", "OUT 1", "W1", "START", "5,000 L", "Vines"):
            assert secret not in text, secret


def test_documents_are_whole(printed):
    for _, _, sheet, raw, _ in _all(printed):
        reader = PdfReader(BytesIO(raw))
        assert reader.metadata.title == sheet.title and reader.metadata.author == "the farm manager"
        assert reader.root_object["/Lang"] == "en-AU" and reader.root_object["/ViewerPreferences"]["/DisplayDocTitle"]
        assert len(raw) < 2_000_000
        for page in reader.pages:
            fonts = page["/Resources"]["/Font"]
            for font in fonts.values():
                inner = font.get_object().get("/DescendantFonts", [font])[0].get_object()
                assert "MapperSans" in inner["/BaseFont"] and "/FontFile2" in inner["/FontDescriptor"]
            assert not page["/Resources"].get("/XObject"), "the page should be vector"


def test_corners_are_georeferenced(printed):
    plan, made = printed["straight"]
    for sheet, raw, pages in made:
        if sheet.name == "cover-list":
            continue
        first = PdfReader(BytesIO(raw)).pages[0]
        view = first["/VP"][0]
        gpts = np.array([float(v) for v in view["/Measure"]["/GPTS"]]).reshape(-1, 2)
        e, n = plan.farm.grid.from_lonlat(gpts[:, 1], gpts[:, 0])
        corners = np.array(pages[0].frames[0].corners)[[3, 0, 1, 2]]
        assert np.abs(np.column_stack([e, n]) - corners).max() < 0.1
        assert int(view["/Measure"]["/GCS"]["/EPSG"]) == 7854
        west, _, east, _ = (float(v) for v in view["/BBox"])
        metres = np.hypot(*(corners[3] - corners[0]))
        scale = metres / ((east - west) / 72 * 0.0254)
        assert scale == pytest.approx(round_scale(scale), rel=1e-3)


def test_the_check_line_is_100_mm(printed):
    _, made = printed["straight"]
    picture = pypdfium2.PdfDocument(made[0][1])[0].render(scale=600 / 72).to_numpy()[:, :, 0] < 100
    row = picture[round(292.6 / 25.4 * 600)]
    inked = np.flatnonzero(row[: round(110 / 25.4 * 600)])
    assert (inked[-1] - inked[0] + 1) / 600 * 25.4 == pytest.approx(100.3, abs=0.15)  # the end strokes are 0.3 wide


def test_rows_stand_out_in_grey():
    sheet = sheets_of(demo_plan())[0]
    image, page = picture_of(sheet, dpi=300)
    grey = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine())[:, 1::4]
    box, k = page.frames[0].box, 300 / 25.4
    # A band across block B, clear of cards and labels: rows of at least 0.35 mm at 1.6 mm pitch.
    y = round((box.y + box.h * 0.28) * k)
    line = grey[y, round(box.x * k) : round(box.right * k)] < 90
    runs = np.diff(np.flatnonzero(np.diff(line.astype(int)))) / k
    assert (runs < 1.5).sum() > 60 and np.median(runs[runs < 0.6]) >= 0.28


def test_the_gate_round_trips():
    plan = demo_plan()
    gate = gate_place(plan, "Bottom Dam")
    degrees = []
    for part in gate.words.split(": ")[1].removesuffix(" (WGS 84)").split(", "):
        sign, whole, minutes = part.replace("°", "").replace("'", "").split()
        degrees.append((-1 if sign in "SW" else 1) * (float(whole) + float(minutes) / 60))
    e, n = plan.farm.grid.from_lonlat(degrees[1], degrees[0])
    assert np.hypot(e - gate.east, n - gate.north) < 2.0  # a thousandth of a minute of arc is 1.9 m


def test_same_plan_same_bytes():
    made = []
    for _ in range(2):
        plan = demo_plan(**PLANS["tiny"])
        made.append([pdf_of(s, made_of(plan))[0] for s in sheets_of(plan, "A4") if s.name != "cover-list"])
    assert made[0] == made[1]


def test_remarks_of_the_plan_are_printed_and_nothing_is_judged_again():
    plan = demo_plan()
    words = "OUT 1 runs into the smoke after the change."
    told = replace(plan, remarks=(Remark("order", "look", words, "Bottom Dam"), Remark("order", "note", "No slope.")))
    burn_order = [next(s for s in sheets_of(p, "A4") if "burn-order" in s.name) for p in (plan, told)]
    text = " ".join(" ".join(_text(pdf_of(s, made_of(p))[0])) for s, p in zip(burn_order, (plan, told), strict=True))
    assert text.count(words) == 1 and "into the smoke" not in text.replace(words, "")
    assert "WHAT THIS PLAN LEAVES OUT" in text and "No slope." in text


def test_the_gate_is_the_paddocks_own_else_the_nearest_to_it():
    plan = demo_plan()
    land = plan.farm.paddock("Bottom Dam").geometry
    west, south, _, _ = land.bounds
    assets = plan.farm.assets.copy()
    number = np.flatnonzero(assets["kind"] == "gate")[0]
    keep = (assets["kind"] != "gate") | (np.arange(len(assets)) == number)
    assets.loc[assets.index[number], "geometry"] = shapely.Point(west - 2000, south)
    one = replace(plan, farm=plan.farm.with_(assets=assets[keep].reset_index(drop=True)))
    assert gate_place(one, "Bottom Dam").east == pytest.approx(west - 2000)
    none = replace(plan, farm=plan.farm.with_(assets=assets[assets["kind"] != "gate"].reset_index(drop=True)))
    here = gate_place(none, "Bottom Dam")
    assert here.name == "middle of the paddock" and land.contains(shapely.Point(here.east, here.north))


def test_crews_of_one_kind_are_said_short():
    assert crew_words("Crew 1 + Crew 2 + Crew 3") == "Crew 1–3"
    assert crew_words("Crew 1 + Crew 3") == "Crew 1, 3"
    assert crew_words("Red ute + Blue ute") == "Red ute + Blue ute" and crew_words("Crew 1") == "Crew 1"


def test_invented_is_said_once_by_the_farms_name():
    plan = demo_plan()
    names = plan.farm.neighbours.copy()
    names["name"] = [f"{n} (invented)" for n in names["name"]]
    marked = replace(plan, farm=plan.farm.with_(neighbours=names, in_charge="Farm manager (invented)", invented=True))
    for sheet in sheets_of(marked, "A4"):
        if sheet.name == "plan-book":
            continue
        front = _text(pdf_of(sheet, made_of(marked))[0])[0]
        assert "(invented)" not in front and front.count("invented data") <= 2 and "invented" in front, sheet.name


def test_scales_and_turn():
    assert [round_scale(v) for v in (1001, 5000, 5001, 7600)] == [1250, 5000, 6000, 10000]
    assert row_turn_deg(demo_plan().pieces) == 0.0


def test_print_plan_writes_files(tmp_path):
    paths = print_plan(demo_plan(**PLANS["tiny"]), tmp_path / "new", "A4")
    assert [p.name for p in paths] == ["2026-04-18_burn-order_Hut_A4.pdf", "2026-04-18_buffer-map_A4.pdf",
                                       "2026-04-18_notice_Neighbour_1.pdf", "2026-04-18_notice_Neighbour_1.txt",
                                       "2026-04-18_notice_Neighbour_2.pdf", "2026-04-18_notice_Neighbour_2.txt",
                                       "2026-04-18_plan-book.pdf", "2026-04-18_cover-list.pdf"]  # fmt: skip
    assert all(p.read_bytes().startswith(b"%PDF") for p in paths if p.suffix == ".pdf")
    assert not list(paths[0].parent.glob(".*")), "nothing half-written is left behind"


def test_names_that_a_disk_may_hold_for_one_or_cannot_hold():
    assert file_name("burn-order same A4", {"burn-order_Same_A4"}) == "burn-order_same_A4_2"
    assert len(file_name("ü" * 300, set()).encode()) <= 120
    assert file_name("../../x", set()) == "x"


@pytest.mark.skipif(shutil.which("gdalinfo") is None, reason="GDAL's own program is not on this machine")
def test_a_general_map_reader_finds_the_corners(printed, tmp_path):
    _, made = printed["straight"]
    _, raw, pages = made[0]
    path = tmp_path / "map.pdf"
    path.write_bytes(raw)
    said = json.loads(subprocess.run(["gdalinfo", "-json", str(path)], capture_output=True, check=True).stdout)
    assert said["coordinateSystem"]["wkt"].count("MGA") or "7854" in said["coordinateSystem"]["wkt"]
    to_ground = np.array(said["geoTransform"]).reshape(2, 3)
    # GDAL draws the page's box, which Qt gives in whole points, on whole pixels.
    media = PdfReader(BytesIO(raw)).pages[0].mediabox
    frame = pages[0].frames[0]
    b = frame.box
    spots = np.array([(b.x, b.y), (b.right, b.y), (b.right, b.bottom), (b.x, b.bottom)])
    pixels = spots * 72 / 25.4 * np.array(said["size"]) / [float(media.width), float(media.height)]
    ground = to_ground[:, 0] + pixels @ to_ground[:, 1:].T
    assert np.abs(ground - np.array(frame.corners)).max() < 0.1


def test_a_printer_gets_full_size_whatever_its_fineness(tmp_path):
    from PySide6.QtCore import QMarginsF
    from PySide6.QtGui import QPageLayout, QPageSize
    from PySide6.QtPrintSupport import QPrinter

    plan = demo_plan(**PLANS["tiny"])
    sheet = next(s for s in sheets_of(plan, "A4 portrait") if "burn-order" in s.name)
    printer = QPrinter()
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)  # the one printer that every machine has
    printer.setOutputFileName(str(tmp_path / "out.pdf"))
    printer.setResolution(600)
    printer.setFullPage(True)
    printer.setPageLayout(
        QPageLayout(QPageSize(QPageSize.PageSizeId.A4), QPageLayout.Orientation.Portrait, QMarginsF())
    )
    assert len(paint_on(printer, sheet)) == len(sheet.sides)
    picture = pypdfium2.PdfDocument(tmp_path / "out.pdf")[0].render(scale=600 / 72).to_numpy()[:, :, 0] < 100
    inked = np.flatnonzero(picture[round(292.6 / 25.4 * 600)][: round(110 / 25.4 * 600)])
    assert (inked[-1] - inked[0] + 1) / 600 * 25.4 == pytest.approx(100.3, abs=0.15)


def test_pictures_of_every_side(tmp_path):
    plan = demo_plan(**PLANS["tiny"])
    paths = write_pictures(plan, tmp_path, "A4", 40.0)
    assert {p.name for p in paths} >= {"2026-04-18_burn-order_Hut_A4_1.png", "2026-04-18_notice_Neighbour_1_1.png"}
    assert all(p.read_bytes().startswith(b"\x89PNG") for p in paths)


def test_sheets_are_made_where_nobody_has_started_qt():
    code = (
        "from tests.demo import demo_plan\nfrom mapper.sheets.book import sheets_of\n"
        "sheets_of(demo_plan(('Hut',), blocks=1), 'A4')"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_names_of_any_length_leave_the_title_alone():
    plan, long = demo_plan(("Hut",), blocks=1), "Überschwemmungswiese hinter dem Mühlenbächlein am Tor"

    def bar(page):
        title_bar(page, plan, "Burn-order map: back", ("", "A farm"), (long, "Sat 18 April 2026"), 8.0)

    _, page = picture_of(Sheet("x", "x", "A4 portrait", (bar,)), 0, 40.0)
    title = next(w for w in page.written if w.words.startswith("Burn-order"))
    for word in page.written:
        assert word is title or word.box.x >= title.box.right


def test_a_break_that_nobody_asked_for_is_not_called_wide_enough():
    plan = demo_plan(("Hut",), blocks=1)
    breaks = plan.breaks.copy()
    breaks["present_m"], breaks["wanted_m"], breaks["short_m"] = 0.0, np.nan, np.nan
    sheet = next(s for s in sheets_of(replace(plan, breaks=breaks), "A4") if "burn-order" in s.name)
    said = {w.words for w in picture_of(sheet, 0, 40.0)[1].written}
    assert "Break wide enough" not in said and "Edge: break wanted not known" in said
