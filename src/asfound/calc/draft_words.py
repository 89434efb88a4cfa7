"""Words of menus that tell what a row holds: pairs of a switch, and telling words of labels.

Everyday words of seven languages (from memory; no recorder's menu was taken as a model). They
only tip the balance where the values themselves leave it open.
"""

from __future__ import annotations

import re

PAIRS: tuple[tuple[str, str], ...] = (
    ("on", "off"), ("yes", "no"), ("enabled", "disabled"), ("enable", "disable"),
    ("active", "inactive"), ("activated", "deactivated"), ("open", "closed"), ("true", "false"),
    ("armed", "disarmed"), ("locked", "unlocked"), ("shown", "hidden"), ("show", "hide"),
    ("allowed", "blocked"), ("used", "not used"), ("in use", "not in use"),
    ("ein", "aus"), ("an", "aus"), ("ja", "nein"), ("aktiv", "inaktiv"),
    ("marche", "arrêt"), ("oui", "non"), ("activé", "désactivé"),
    ("aan", "uit"), ("ja", "nee"), ("wł", "wył"), ("tak", "nie"),
    ("encendido", "apagado"), ("sí", "no"), ("si", "no"), ("acceso", "spento"),
)  # fmt: skip
"""(on, off): words that are each other's opposite."""

QUANTITY = re.compile(
    r"\b(after|above|below|every|for|than|within|until|over|under|limit|delay|timeout|length|"
    r"radius|cut-?off|threshold|distance|duration|interval|period|"
    r"nach|über|unter|alle|après|chaque|na|om|po|co|ogni|cada)$",
    re.IGNORECASE,
)
"""A label that ends like this asks for an amount, also where a word such as Off stands there."""

SECRET = re.compile(
    r"\b(pass\s?word|pass\s?code|pass\s?phrase|phrase|pin|code|key|secret|passwort|kennwort|"
    r"schlüssel|mot de passe|wachtwoord|hasło|contraseña|clave)\b",
    re.IGNORECASE,
)

PASSWORD = re.compile(
    r"(\bpass ?words?\b|\bpass ?codes?\b|\bpass ?phrase\b|\bpin\b|\bpasswort\b|\bkennwort\b|"
    r"\bmot de passe\b|\bwachtwoord\b|\bhasło\b|\bcontraseña\b)",
    re.IGNORECASE,
)
"""Labels of secrets, whatever is shown beside them."""

HOST = re.compile(
    r"\b(host|server|apn|url|domain|ftp|ntp|smtp|web ?site|gateway name|serveur|servidor|serwer)\b",
    re.IGNORECASE,
)

NAME = re.compile(
    r"(\bname|\btitle|\bplate\b|\bregistration|\bsite\b|\buser\b|\baccount\b|\blogin\b|"
    r"\bowner\b|\bkeeper\b|\boperator\b|\bcompany\b|\bphone\b|\btelephone\b|\bnote\b|\btext\b|"
    r"\bssid\b|\baccess point\b|\bnetwork name\b|\bdriver\b|\bvehicle( id| no\.?| number)?$|"
    r"\bfleet number\b|"
    r"\bcaption\b|\blabel\b|\bstamp\b|\bbezeichnung\b|\bkennzeichen\b|\bnom\b|\bnaam\b|\bnazwa\b|"
    r"\bnombre\b|\bnome\b)",
    re.IGNORECASE,
)

SHOWN = re.compile(
    r"^(free|used|last|now)\b|\bnow$|\b(model|serial|version|software|firmware|hardware|revision|build|mac|imei|iccid|"
    r"drive size|disk|disc|capacity|size of drive|measured|current|present|"
    r"hours run|run time|uptime|starts|counter|status|state|fitted memory|"
    r"seriennummer|modell|série|serienummer|seryjny|serie)\b",
    re.IGNORECASE,
)
"""Labels of rows that usually only show something."""

VERSION_LABEL = re.compile(
    r"\b(version|software|firmware|build|wersja|versión|versione)\b", re.IGNORECASE
)

SERIAL_LABEL = re.compile(
    r"\b(serial|seriennummer|série|serienummer|seryjny|serie|mac|hardware address|imei|iccid)\b",
    re.IGNORECASE,
)

LEVEL = re.compile(
    r"\b(brightness|contrast|colou?r|saturation|hue|sharpness|volume|loudness|sensitivity|level|gain|"
    r"beep|tone|helligkeit|kontrast|lautstärke|empfindlichkeit|luminosité|contraste|helderheid|"
    r"jasność|kontrast|brillo|luminosità)\b",
    re.IGNORECASE,
)
"""Labels of small whole numbers without a unit."""

RATE = re.compile(r"\b(frames?|fps|rate|second|bilder|images|beelden|klatek)\b", re.IGNORECASE)

CAMERA = re.compile(
    r"\b(camera|cam|channel|ch|kamera|kanal|caméra|canal|voie|kanaal|kanał|cámara|canale|"
    r"video|input|view|picture)\b",
    re.IGNORECASE,
)

GRADED = re.compile(r"\b(resolution|raster|band|codec|standard|format|supply|auflösung)\b", re.I)
"""Labels whose figures are usually a short list."""

HEIGHTS = frozenset(
    {120, 144, 240, 288, 360, 480, 540, 576, 600, 720, 768, 900, 960, 1080, 1200, 1440, 1536, 2160}
)
"""Picture heights, lines: standard video and computer rasters (common practice, no source)."""

RATES = frozenset({1, 2, 3, 5, 6, 10, 12, 15, 20, 24, 25, 30, 50, 60})
"""Pictures a second that recorders offer (common practice, no source)."""

SUPPLIES = frozenset({6, 12, 24, 36, 48})
"""Nominal supplies of vehicles, volts (common practice, no source)."""

UNITS = {
    unit.casefold(): unit
    for unit in (
        "s", "ms", "min", "h", "days", "day", "weeks", "week", "months", "km/h", "mph", "m", "km",
        "cm", "mm", "g", "mg", "m/s²", "V", "mV", "A", "mA", "W", "Ah", "°C", "°F", "°", "%",
        "kbit/s", "Mbit/s", "bit/s", "kB/s", "MB/s", "fps", "GB", "MB", "TB", "kB",
        "Hz", "kHz", "MHz", "GHz",
        "dB", "dBm", "px", "imp/km", "pulses/km", "rpm", "l", "kg", "t", "bar", "kPa", "lx",
    )
}  # fmt: skip
"""Units as the SI brochure and the trade write them, by their folded text."""


UNITS["c"], UNITS["f"] = "°C", "°F"
"""A degree sign is easily overlooked; neither coulombs nor farads are set in a recorder."""


def opposite(word: str) -> tuple[str, str] | None:
    """The pair (on, off) that the folded ``word`` belongs to; None when it is no such word."""
    return next((pair for pair in PAIRS if word in pair), None)
