import random

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from mapper.draw.labels import Ask, InkMap, Obstacle, place

BLANK = InkMap(np.zeros((200, 200)), 5.0)
FRAME = (0.0, 0.0, 1000.0, 1000.0)


def _ask(k, x, y, rank=5):
    ring = np.array([[np.cos(t), np.sin(t)] for t in np.linspace(0, 2 * np.pi, 16, endpoint=False)])
    spots = np.vstack([np.array([x, y]) + ring * r for r in (40, 80, 130)])
    return Ask(f"a{k:03d}", (f"word {k}",), spots, np.repeat([0.0, 1.0, 2.0], 16), rank, leader=True, anchor=(x, y))


def _overlapping(boxes):
    return [
        (a, b)
        for i, a in enumerate(boxes)
        for b in boxes[i + 1 :]
        if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
    ]


spots = st.lists(st.tuples(st.floats(50, 950), st.floats(50, 950)), min_size=1, max_size=40)


@settings(max_examples=25, deadline=None)
@given(spots, st.integers(0, 9))
def test_no_overlap_and_every_ask_is_answered(points, seed):
    asks = [_ask(k, x, y, rank=k % 4) for k, (x, y) in enumerate(points)]
    block = [Obstacle("o", (480.0, 480.0, 520.0, 520.0))]
    found = place(asks, FRAME, BLANK, block, 4.0)
    boxes = [p.box for p in found.placed]
    assert not _overlapping([*boxes, block[0].box])
    assert all(b[0] >= 0 and b[1] >= 0 and b[2] <= 1000 and b[3] <= 1000 for b in boxes)
    assert {p.ask.name for p in found.placed} | set(found.left) == {a.name for a in asks}
    random.Random(seed).shuffle(asks)
    assert place(asks, FRAME, BLANK, block, 4.0).left == found.left
    assert [p.box for p in place(asks, FRAME, BLANK, block, 4.0).placed] == boxes


def test_ink_is_avoided():
    dark = np.zeros((200, 200))
    dark[:, :100] = 1.0
    ask = Ask("a", ("word",), np.array([[250.0, 500.0], [750.0, 500.0]]), np.array([0.0, 1.0]))
    assert place([ask], FRAME, InkMap(dark, 5.0), (), 4.0).placed[0].box[0] > 500


def test_a_higher_rank_puts_a_lower_one_out_of_the_way():
    low = Ask("a", ("word",), np.array([[500.0, 500.0], [500.0, 700.0]]), np.array([0.0, 1.0]), rank=5)
    high = Ask("b", ("word",), np.array([[500.0, 500.0]]), np.array([0.0]), rank=1)
    found = place([low, high], FRAME, BLANK, (), 4.0)
    assert not found.left and {p.ask.name: p.box[1] > 600 for p in found.placed} == {"a": True, "b": False}
