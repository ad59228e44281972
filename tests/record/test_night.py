"""A night of several paddocks: numbers are one run, block letters may stand in each."""

from dataclasses import replace

import pytest

from mapper.farm.errors import SettingError
from mapper.record.night import open_record
from mapper.record.tally import read_tally
from tests.demo import demo_plan


def two_paddocks():
    plan = demo_plan(("Bottom Dam", "Hut"))
    record = open_record(plan)
    pieces = record.pieces.assign(order_no=range(1, len(record.pieces) + 1))
    return record, pieces


def test_a_letter_of_two_paddocks_is_not_taken_for_one_block():
    record, pieces = two_paddocks()
    record = replace(record, pieces=pieces)
    first = {p: g["order_no"].min() for p, g in pieces.groupby("paddock")}
    assert record.blocks["A Bottom Dam"][0] == first["Bottom Dam"] and record.blocks["A Hut"][0] == first["Hut"]
    assert sum(map(len, record.blocks.values())) == len(pieces)
    with pytest.raises(SettingError, match="block A stands in several paddocks"):
        read_tally("block A done", record.numbers, record.blocks)


def test_one_paddocks_blocks_go_by_their_letters():
    record = open_record(demo_plan())
    (said,) = read_tally("block B done", record.numbers, record.blocks)
    assert said.numbers == record.blocks["B"]
