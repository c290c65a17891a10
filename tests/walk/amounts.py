# SPDX-License-Identifier: GPL-3.0-or-later
"""Lengths in nanometres and money in 1/10 000: how a shop writes them, how a paper prints them."""

import re
from fractions import Fraction

NM = {"mm": 10**6, "cm": 10**7, "m": 10**9, "in": 25400000, "ft": 304800000}


class Length:
    """A printed length: what it says, and by how much the print may be off (0 unless marked ~)."""

    def __init__(self, nm, slack):
        self.nm = nm
        self.slack = slack

    def is_of(self, nm):
        return abs(self.nm - nm) <= self.slack

    def __repr__(self):
        return f"{float(self.nm) / 1e6:.6g} mm"


def number(text):
    """24, 24.375, 3/8, 24 3/8, 8-1/2 as a fraction."""
    text = text.strip()
    mixed = re.fullmatch(r"(?:(\d+)[ -]+)?(\d+)/(\d+)", text)
    if mixed:
        whole, above, below = mixed.groups()
        return int(whole or 0) + Fraction(int(above), int(below))
    if not re.fullmatch(r"\d+(\.\d+)?", text):
        raise ValueError(f"no number: {text!r}")
    return Fraction(text)


def read_length(text, unit=None, grain=0):
    """Reads a printed length; a bare one is in `unit`, one marked ~ may be off by `grain`."""
    text = text.strip()
    rounded = text.startswith("~") or text.startswith("-~")
    sign = -1 if text.startswith("-") else 1
    body = text.lstrip("-~").strip()
    feet = re.fullmatch(r"(\d+)'(?:[- ]?([\d/ -]+(?:\.\d+)?)\")?", body)
    if feet:
        nm = int(feet.group(1)) * NM["ft"] + (number(feet.group(2)) if feet.group(2) else 0) * NM["in"]
    else:
        match = re.fullmatch(r"([\d./ -]+?)\s*(mm|cm|m|in|ft|\")?", body)
        name = match and {'"': "in", None: unit}.get(match.group(2), match.group(2))
        if not match or name is None or (name == "ft" and match.group(2) is None):
            raise ValueError(f"no length: {text!r}")
        nm = number(match.group(1)) * NM[name]
    return Length(sign * nm, grain if rounded else 0)


def read_money(text):
    """Money as the count of 1/10 000; ValueError if it is none."""
    match = re.fullmatch(r"(-?)(\d+)(?:\.(\d{1,4}))?", text.strip())
    if not match:
        raise ValueError(f"no money: {text!r}")
    sign, whole, part = match.groups()
    value = int(whole) * 10000 + int((part or "").ljust(4, "0"))
    return -value if sign else value


def write_money(money):
    sign, money = ("-", -money) if money < 0 else ("", money)
    part = f"{money % 10000:04d}"
    return f"{sign}{money // 10000}.{part[:2]}{part[2:].rstrip('0')}"


def round_half_up(value, unit=1):
    """The multiple of `unit` nearest to a fraction, half away from zero."""
    scaled = Fraction(value) / unit
    whole = int(abs(scaled) + Fraction(1, 2))
    return (whole if scaled >= 0 else -whole) * unit
