"""A tally as people write it, "1-40 done, 17 missed, 22 went out from 150 m", into rows and states."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from mapper.farm.errors import SettingError
from mapper.record.states import WORDS

_TOKEN = re.compile(r"(?P<range>\d+\s*(?:[-–—]|\bto\b)\s*\d+)|(?P<number>\d+)|(?P<word>[^\W\d_]+)|(?P<other>\S)")
_PART = re.compile(
    r"\bfrom\s+(?P<a>\d+(?:[.,]\d+)?)\s*m?(?:\s*(?:to|-|–)\s*(?P<b>\d+(?:[.,]\d+)?)\s*m?)?"
    r"|\bup to\s+(?P<c>\d+(?:[.,]\d+)?)\s*m\b",
    re.IGNORECASE,
)
_CLOCK = re.compile(r"\bat\s+(?P<h>[01]?\d|2[0-3])[:.h](?P<m>[0-5]\d)\b", re.IGNORECASE)
_PHRASES = sorted(WORDS, key=lambda w: (-len(w.split()), -len(w)))
_FILLER = ("and", "the", "row", "rows", "number", "numbers", "no")


@dataclass(frozen=True)
class Said:
    """One phrase of a tally: row numbers, their state, and the part of each row where it holds.

    from_m, to_m: metres from the end where lighting began, None for that end or the far one. clock: (hour, minute).
    """

    numbers: tuple[int, ...]
    state: str
    from_m: float | None = None
    to_m: float | None = None
    clock: tuple[int, int] | None = None

    @property
    def body(self) -> dict[str, Any]:
        """The body of the entry that says it."""
        return {"numbers": list(self.numbers), "state": self.state, "from_m": self.from_m, "to_m": self.to_m}


def read_tally(
    text: str, known: Sequence[int], blocks: Mapping[str, Sequence[int]] | None = None, copied: Sequence[int] = ()
) -> tuple[Said, ...]:
    """Return what a tally says, phrase by phrase.

    known: the plan's row numbers; blocks: letter to its numbers ("block A done"); copied: numbers already written
    down, for "rest missed". Raises SettingError naming the words that were not understood; nothing is guessed.
    """
    everything, letters = set(known), {k.upper(): tuple(v) for k, v in (blocks or {}).items()}
    said: list[Said] = []
    taken = set(copied)
    for phrase in _phrases(text):
        one = _one_phrase(phrase, everything, letters, taken)
        taken |= set(one.numbers)
        said.append(one)
    if not said:
        raise SettingError("there is nothing in the tally", "tally", 'Write for example "1-40 done, 17 missed"')
    return tuple(said)


def _phrases(text: str) -> list[str]:
    """Cut after each state word and what belongs to it; commas between numbers do not part phrases."""
    phrases: list[str] = []
    held = ""
    for piece in re.split(r"[;\n]|,(?=\s)|,(?!\d)|\.(?=\s|$)", text):
        held = f"{held}, {piece}" if held.strip() else piece
        if _state_word(held):
            phrases.append(held)
            held = ""
    if held.strip():
        if re.search(r"\w", held) is None:
            return phrases
        raise SettingError(
            f"{held.strip()!r} does not say what became of the rows",
            "tally",
            "Write burnt, went out, missed or got away",
        )
    return phrases


def _state_word(text: str) -> str:
    """The words for a state, "" where there are none; the m of metres is none."""
    text = _PART.sub(" ", text)
    for phrase in _PHRASES:
        if re.search(rf"(?<![^\W\d_]){re.escape(phrase)}(?![^\W\d_])", text, re.IGNORECASE):
            return phrase
    return ""


def _one_phrase(phrase: str, known: set[int], blocks: Mapping[str, Sequence[int]], taken: set[int]) -> Said:
    rest = phrase
    clock = None
    if found := _CLOCK.search(rest):
        clock = (int(found["h"]), int(found["m"]))
        rest = rest.replace(found[0], " ", 1)
    from_m = to_m = None
    if found := _PART.search(rest):
        from_m, to_m = (_metres(found[k]) for k in ("a", "b"))
        to_m = _metres(found["c"]) if found["c"] else to_m
        rest = rest.replace(found[0], " ", 1)
    if from_m is not None and to_m is not None and from_m >= to_m:
        raise _unclear(phrase, f"{from_m:g} to {to_m:g} m runs backwards")
    word = _state_word(rest)
    rest = re.sub(rf"(?<![^\W\d_]){re.escape(word)}(?![^\W\d_])", " ", rest, count=1, flags=re.IGNORECASE)
    numbers = _numbers(rest, phrase, known, blocks, taken)
    return Said(tuple(numbers), WORDS[word], from_m, to_m, clock)


def _numbers(
    text: str, phrase: str, known: set[int], blocks: Mapping[str, Sequence[int]], taken: set[int]
) -> list[int]:
    found: list[int] = []
    after_block = False
    for token in _TOKEN.finditer(text):
        words = token["word"].lower() if token["word"] else ""
        if token["range"]:
            first, last = (int(n) for n in re.findall(r"\d+", token["range"]))
            if first > last:
                raise _unclear(phrase, f"{first} to {last} runs backwards")
            _must_be_known((first, last), phrase, known)
            found += [n for n in range(first, last + 1) if n in known]
        elif token["number"]:
            _must_be_known((int(token["number"]),), phrase, known)
            found.append(int(token["number"]))
        elif words in ("all", "everything"):
            found += sorted(known)
        elif words == "rest":
            found += sorted(known - taken)
        elif words == "block":
            after_block = True
            continue
        elif after_block and words.upper() in blocks:
            found += list(blocks[words.upper()])
        elif after_block and any(name.startswith(f"{words.upper()} ") for name in blocks):
            raise _unclear(phrase, f"block {words.upper()} stands in several paddocks: write row numbers")
        elif words in _FILLER or token[0] == ",":
            pass
        else:
            raise _unclear(phrase, f"{token[0]!r} is not understood")
        after_block = after_block and (words in ("", "and") or words.upper() in blocks)
    if not found:
        raise _unclear(phrase, "no row number stands in it")
    return list(dict.fromkeys(found))


def _metres(text: str | None) -> float | None:
    return None if text is None else float(text.replace(",", "."))


def _must_be_known(numbers: tuple[int, ...], phrase: str, known: set[int]) -> None:
    for number in numbers:
        if number not in known:
            lies = f"The plan's rows are {min(known)} to {max(known)}" if known else "The plan has no rows"
            raise SettingError(f"there is no row {number}", f"tally, {phrase.strip()!r}", lies)


def _unclear(phrase: str, why: str) -> SettingError:
    return SettingError(why, f"tally, {phrase.strip()!r}", 'Write for example "22 went out from 150 m"')
