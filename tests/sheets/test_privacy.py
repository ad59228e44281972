"""A notice carries nothing of anybody else: in its text, metadata or bytes, nor in the words mailed with it."""

import re
import zlib
from io import BytesIO

import pypdfium2
import pytest
from pypdf import PdfReader

from mapper.sheets.book import made_of, notice_sheets, print_plan
from mapper.sheets.pdf import pdf_of
from tests.demo import demo_plan


@pytest.fixture(scope="module")
def notices():
    """Sheet, bytes, page and the bytes of all its streams opened, by neighbour."""
    plan = demo_plan()
    found = {}
    for sheet in notice_sheets(plan):
        raw, pages = pdf_of(sheet, made_of(plan))
        streams = b""
        for body in re.findall(rb"stream\r?\n(.*?)endstream", raw, re.S):
            try:
                streams += zlib.decompress(body)
            except zlib.error:
                streams += body
        found[sheet.name] = (sheet, raw, pages[0], streams)
    return plan, found


def secrets_of(plan, name: str) -> list[str]:
    others = plan.farm.neighbours[plan.farm.neighbours["name"] != name]
    crew = [w for c in plan.farm.crews for w in (c.crew, f"{c.water_l:,.0f} L")]
    things = ["OUT 1", "OUT 2", "W1", "START", "FINISH", "Light here", "Row,", "Vines", "Hay stack", "5,000 L"]
    return [*others["name"], *others["phone"], *others["phone"].str.replace(" ", ""), *crew, *things]


def test_every_neighbour_due_one_gets_one_and_nobody_else(notices):
    plan, found = notices
    due = plan.tell.loc[plan.tell["role"] == "neighbour", "who"]
    assert set(found) == {f"notice {who}" for who in due}


def test_nothing_of_others_in_text_metadata_or_bytes(notices):
    plan, found = notices
    for name, (sheet, raw, page, streams) in found.items():
        who = name.removeprefix("notice ")
        document = pypdfium2.PdfDocument(raw)
        text = document[0].get_textpage().get_text_range()
        assert who in text and len(document) == 1
        meta = " ".join(str(v) for v in PdfReader(BytesIO(raw)).metadata.values())
        laid = " ".join(w.words for w in page.written)
        laid += " ".join(" ".join(p.ask.lines) + p.ask.name for m in page.maps for p in m.placing.placed)
        for secret in secrets_of(plan, who):
            for where in (text, meta, laid, sheet.words, sheet.title):
                assert secret not in where, (name, secret)
            # Two letters stand in any packed bytes by chance; they were looked for in the text.
            for blob in (raw, streams) if len(secret) > 5 else ():
                assert secret.encode() not in blob and secret.encode("utf-16-be") not in blob, (name, secret)


def test_no_row_or_neighbour_line_is_drawn(notices):
    _, found = notices
    for name, (_, _, page, _) in found.items():
        who = name.removeprefix("notice ")
        # What the map was made from holds nothing else to draw.
        scene_layers = {c.cell_contents for c in page.maps[0].draw.__closure__ if hasattr(c.cell_contents, "layers")}
        (scene,) = scene_layers
        assert set(scene.layers) <= {"paddocks", "assets", "neighbours", "smoke"}
        assert scene.layer("neighbours")["name"].tolist() == [who]
        assert set(scene.layer("assets")["kind"]) <= {"house", "road", "railway"}


def test_files_are_named_safe_and_dated_with_words_to_mail(tmp_path):
    plan = demo_plan(("Hut",), blocks=1)
    names = plan.farm.neighbours.copy()
    names["name"] = ["A/B: Gümüş & Co?", "../Neighbour 2"]
    tell = plan.tell.copy()
    tell.loc[tell["neighbour"] == "N1", "who"], tell.loc[tell["neighbour"] == "N2", "who"] = names["name"]
    from dataclasses import replace

    odd = replace(plan, farm=plan.farm.with_(neighbours=names), tell=tell)
    paths = print_plan(odd, tmp_path, "A4")
    notices = sorted(p.name for p in paths if "notice" in p.name)
    assert notices == ["2026-04-18_notice_A_B_Gümüş_Co.pdf", "2026-04-18_notice_A_B_Gümüş_Co.txt",
                       "2026-04-18_notice_Neighbour_2.pdf", "2026-04-18_notice_Neighbour_2.txt"]  # fmt: skip
    mail = (tmp_path / notices[1]).read_text(encoding="utf-8")
    assert "Dear A/B: Gümüş & Co?," in mail and "Sat 18 April 2026" in mail and "0491 570 110" in mail
    assert "{" not in mail and "Neighbour 2" not in mail
