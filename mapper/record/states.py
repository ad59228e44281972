"""What a row can have done, and the words it is written down with."""

# State to its words on paper, from the best end of a row to the one that matters most in the next crop.
STATES: dict[str, str] = {
    "burnt": "Burnt",
    "lit": "Alight",
    "left": "Left on purpose",
    "cool": "Burnt cool",
    "late": "Burnt late",
    "went out": "Went out",
    "missed": "Missed",
    "got away": "Got away",
}
WORST_LAST = tuple(STATES)
# Seed on these was not killed for certain: they are looked at in the next crop.
LOOK_AT = ("left", "cool", "late", "went out", "missed", "got away")
# Fire has been along these.
FIRE_WENT_ALONG = ("burnt", "cool", "late", "got away")

# What people write on a tally sheet. Longer words are tried first.
WORDS: dict[str, str] = {
    "burnt": "burnt", "burned": "burnt", "done": "burnt", "ok": "burnt", "b": "burnt", "burnt out": "burnt",
    "lit": "lit", "alight": "lit", "burning": "lit",
    "went out": "went out", "died": "went out", "o": "went out",
    "missed": "missed", "not lit": "missed", "m": "missed",
    "left on purpose": "left", "left": "left", "l": "left",
    "got away": "got away", "left the row": "got away", "escaped": "got away", "g": "got away",
    "cool": "cool", "burnt cool": "cool", "smouldered": "cool",
    "late": "late", "burnt late": "late",
}  # fmt: skip
