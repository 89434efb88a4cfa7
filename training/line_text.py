"""Random texts of the kind that menus of any device show, and many that none would.

Half of them follow no language at all: what a recogniser may learn of English must not make it
read "0n" as "On".
"""

from __future__ import annotations

import random
import string

from alphabet import LATIN

_ALIKE = "0Oo1lI|5S8B2Z6G9gq.,:;-_'i!Cc"
_UNIT_LIST = (
    "fps kbit/s Mbit/s s ms min h days d % km/h mph g mg V mV A mA °C °F dB dBm Hz kHz MHz GB MB "
    "TB m cm mm m/s² W lx px x days/week rpm bar kPa l/h months weeks KB/s deg ° /s"
)
_UNITS = _UNIT_LIST.split()
_OPTION_LIST = (
    "On Off Yes No Auto Manual High Low Medium None Always Never Enabled Disabled Left Right Front "
    "Rear Top Bottom Day Night Both Main Sub Full Half Normal Inverted Stop Continue Default "
    "Custom Open Closed NC NO PAL NTSC UTC GMT H.264 H.265 AAC G.711 1080p 720p CIF D1 4CIF CBR VBR"
)
_OPTIONS = _OPTION_LIST.split()


class Texts:
    """A source of texts; ``words`` is a list of plain words of any language."""

    def __init__(self, words: list[str], seed: int) -> None:
        self._words = words
        self.rng = random.Random(seed)
        kinds = (
            (self._phrase, 22), (self._noise, 13), (self._alike, 9), (self._number, 14),
            (self._time, 5), (self._date, 4), (self._address, 4), (self._host, 5),
            (self._serial, 8), (self._option, 10), (self._short, 7), (self._mask, 1),
            (self._version, 4), (self._name, 8),
        )  # fmt: skip
        self._kinds = [kind for kind, _ in kinds]
        self._weights = [weight for _, weight in kinds]

    def next(self) -> str:
        """One text, without space at its ends, at least one character."""
        while True:
            text = self.rng.choices(self._kinds, self._weights)[0]()
            text = " ".join(text.split())[: self.rng.randint(24, 46)].strip()
            if text:
                return text

    def _word(self) -> str:
        word = self.rng.choice(self._words)
        style = self.rng.random()
        if style < 0.45:
            return word.capitalize()
        return word if style < 0.85 else word.upper()

    def _phrase(self) -> str:
        words = [self._word() for _ in range(self.rng.choice((1, 1, 2, 2, 3, 4, 5)))]
        if self.rng.random() < 0.7:
            words[1:] = [word.lower() for word in words[1:]]
        if self.rng.random() < 0.2:
            words.append(str(self.rng.randint(0, 99)))
        glue = self.rng.choice((" ", " ", " ", " ", " ", " ", "-", "/", " & ", ", "))
        text = glue.join(words)
        if self.rng.random() < 0.12:
            text = f"{text} ({self.rng.choice(_UNITS)})"
        return text + self.rng.choice(("", "", "", "", ":", ".", "?", " >"))

    def _noise(self) -> str:
        pool = string.ascii_letters + string.digits + string.punctuation + "  "
        if self.rng.random() < 0.25:
            pool = string.ascii_letters + string.digits + LATIN * 2
        elif self.rng.random() < 0.3:
            pool = string.ascii_letters + string.digits
        return "".join(self.rng.choices(pool, k=self.rng.randint(1, 16)))

    def _alike(self) -> str:
        pool = self.rng.choice((_ALIKE, _ALIKE + string.ascii_letters, _ALIKE + string.digits))
        return "".join(self.rng.choices(pool, k=self.rng.randint(2, 12)))

    def _number(self) -> str:
        style = self.rng.random()
        if style < 0.5:
            text = str(self.rng.randint(0, 10 ** self.rng.randint(1, 6)))
        elif style < 0.85:
            value = self.rng.uniform(0, 10 ** self.rng.randint(0, 4))
            text = f"{value:.{self.rng.randint(1, 3)}f}"
        else:
            text = f"{self.rng.randint(1, 64)}{self.rng.choice('/xX: ')}{self.rng.randint(1, 2000)}"
        text = self.rng.choice(("", "", "", "", "", "-", "+", "±")) + text
        if self.rng.random() < 0.1:
            text = text.replace(".", ",")
        if self.rng.random() < 0.6:
            text += self.rng.choice((" ", " ", " ", "")) + self.rng.choice(_UNITS)
        return text

    def _time(self) -> str:
        hour, minute, second = (self.rng.randint(0, top) for top in (23, 59, 59))
        text = f"{hour:02}:{minute:02}"
        if self.rng.random() < 0.5:
            text += f":{second:02}"
        if self.rng.random() < 0.15:
            text += self.rng.choice((" AM", " PM", "h", " UTC"))
        if self.rng.random() < 0.15:
            text += f" - {self.rng.randint(0, 23):02}:{self.rng.randint(0, 59):02}"
        return text

    def _date(self) -> str:
        year, month, day = self.rng.randint(1999, 2045), self.rng.randint(1, 12), 0
        day = self.rng.randint(1, 31)
        text = self.rng.choice((
            f"{year}-{month:02}-{day:02}", f"{day:02}.{month:02}.{year}",
            f"{day:02}/{month:02}/{year}", f"{month:02}/{day:02}/{year}",
            f"{year}/{month:02}/{day:02}", f"{day:02}.{month:02}.{year % 100:02}",
        ))  # fmt: skip
        return f"{text} {self._time()}" if self.rng.random() < 0.35 else text

    def _address(self) -> str:
        parts = [self.rng.randint(0, 255) for _ in range(4)]
        style = self.rng.random()
        if style < 0.55:
            text = ".".join(map(str, parts))
        elif style < 0.75:
            text = ".".join(f"{part:03}" for part in parts)
        else:
            glue = self.rng.choice(":-")
            pairs = [f"{self.rng.randint(0, 255):02x}" for _ in range(6)]
            text = glue.join(pairs)
            return text.upper() if self.rng.random() < 0.6 else text
        if self.rng.random() < 0.15:
            text += f"{self.rng.choice(':/')}{self.rng.randint(1, 65535)}"
        return text

    def _host(self) -> str:
        parts = []
        for _ in range(self.rng.randint(2, 4)):
            part = self.rng.choice(self._words).lower()[:9]
            if self.rng.random() < 0.35:
                part += self.rng.choice(("-", "")) + str(self.rng.randint(0, 99))
            parts.append(part)
        parts[-1] = self.rng.choice(("net", "com", "org", "example", "local", "lan", "info", "io"))
        return ".".join(parts)

    def _serial(self) -> str:
        groups = []
        pool = self.rng.choice(
            (string.ascii_uppercase + string.digits, string.digits, "0123456789ABCDEF",
             string.ascii_lowercase + string.digits, string.ascii_letters + string.digits)
        )  # fmt: skip
        for _ in range(self.rng.choice((1, 1, 2, 2, 3))):
            groups.append("".join(self.rng.choices(pool, k=self.rng.randint(2, 8))))
        return self.rng.choice(("-", "-", " ", "/", "_", ".")).join(groups)

    def _version(self) -> str:
        numbers = [str(self.rng.randint(0, 30)) for _ in range(self.rng.randint(2, 4))]
        text = self.rng.choice(("", "", "v", "V", "Ver ", "Rev. ")) + ".".join(numbers)
        if self.rng.random() < 0.3:
            text += self.rng.choice(("-rc1", "b", "a", " build 12", "_R2", "-1204"))
        return text

    def _option(self) -> str:
        text = self.rng.choice(_OPTIONS)
        if self.rng.random() < 0.2:
            text += " " + self.rng.choice(_OPTIONS).lower()
        return text.upper() if self.rng.random() < 0.15 else text

    def _short(self) -> str:
        pool = string.digits * 4 + string.ascii_letters + "-+*%"
        return "".join(self.rng.choices(pool, k=self.rng.choice((1, 1, 2, 2, 3))))

    def _mask(self) -> str:
        return self.rng.choice("*•*x#") * self.rng.randint(2, 14)

    def _name(self) -> str:
        word = self._word()
        number = self.rng.randint(0, 999)
        return self.rng.choice((
            f"{word} {number}", f"{word}{number}", f"{word}-{number:02}", f"{number} {word}",
            f"{word} {self.rng.choice(string.ascii_uppercase)}{number}", f"{word}_{number}",
            f"{self.rng.choice(string.ascii_uppercase)}{number} {word}",
        ))  # fmt: skip
