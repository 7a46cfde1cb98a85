"""Text for formats that carry seven-bit letters only: transliterated, or refused by name; never dropped."""

import unicodedata

from cutroom.errors import PlotError

_WORDS = {
    "ß": "ss", "æ": "ae", "Æ": "AE", "œ": "oe", "Œ": "OE", "ø": "o", "Ø": "O", "ł": "l", "Ł": "L", "đ": "d", "Đ": "D",
    "Ð": "D", "ð": "d", "þ": "th", "Þ": "Th", "ħ": "h", "ı": "i", "×": "x", "°": " deg", "–": "-", "—": "-", "−": "-",
    "‐": "-", "‑": "-", "’": "'", "‘": "'", "“": '"', "”": '"', "„": '"', "′": "'", "″": '"', "«": '"', "»": '"',
    "→": "->", "←": "<-", "…": "...", "·": "-", "±": "+/-", "÷": "/", "€": "EUR", "£": "GBP", "\N{NO-BREAK SPACE}": " ",
    "\N{FRACTION SLASH}": "/",
}  # fmt: skip


def seven_bit(text: str) -> str:
    """Text in printable ASCII: `é` becomes `e`, `5½` becomes `5 1/2`.

    Raises:
        PlotError: A letter has no such form.
    """
    return "".join(_ascii(letter, before) for before, letter in zip(f" {text}", text, strict=False))


def _ascii(letter: str, before: str) -> str:
    if " " <= letter <= "~":
        return letter
    if letter in _WORDS:
        return _WORDS[letter]
    apart = unicodedata.normalize("NFKD", letter)
    plain = "".join(_WORDS.get(part, part) for part in apart if not unicodedata.combining(part))
    if not all(" " <= part <= "~" for part in plain) or (not plain and not unicodedata.combining(letter)):
        raise PlotError(
            f"the letter '{letter}' (U+{ord(letter):04X}) cannot be written in this file",
            "Write names and labels with Latin letters",
        )
    fraction = unicodedata.category(letter) == "No" and before.isdigit()
    return f" {plain}" if fraction else plain
