"""The stylesheet's colours against the contrast that WCAG 2.2 asks: 4.5:1 for text, 3:1 for edges.

Relative luminance and contrast ratio are worked out as WCAG 2.2 defines them
(https://www.w3.org/TR/WCAG22/#dfn-contrast-ratio); `color-mix(in oklab)` as CSS Color 5 does, with
the matrices of CSS Color 4 (https://www.w3.org/TR/css-color-4/#color-conversion-code), from memory.
"""

import re
from pathlib import Path

import pytest

CSS = (Path(__file__).parents[2] / "teamroom/static/teamroom/teamroom.css").read_text(encoding="utf-8")
LIGHT, DARK = re.findall(r":root \{([^}]*--paper: #\w{6};[^}]*--rim-with[^}]*)\}", CSS)[:2]
ACTIVITIES = dict(re.findall(r"\.(a\d) \{ --colour: (#\w{6}); \}", CSS))
Triple = tuple[float, float, float]


def token(name: str, scheme: str) -> str:
    """A token's value; dark keeps what it does not say from light."""
    told = re.search(rf"--{name}: ([^;]+);", DARK if scheme == "dark" else LIGHT)
    told = told or re.search(rf"--{name}: ([^;]+);", LIGHT)
    assert told is not None, name
    return told[1]


def linear(colour: str) -> Triple:
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return red, green, blue


def oklab(colour: str) -> Triple:
    r, g, b = linear(colour)
    long = (0.4122214708 * r + 0.5363325363 * g + 0.0514459929 * b) ** (1 / 3)
    medium = (0.2119034982 * r + 0.6806995451 * g + 0.1073969566 * b) ** (1 / 3)
    short = (0.0883024619 * r + 0.2817188376 * g + 0.6299787005 * b) ** (1 / 3)
    return (
        0.2104542553 * long + 0.7936177850 * medium - 0.0040720468 * short,
        1.9779984951 * long - 2.4285922050 * medium + 0.4505937099 * short,
        0.0259040371 * long + 0.7827717662 * medium - 0.8086757660 * short,
    )


def luminance(lab: Triple) -> float:
    long = (lab[0] + 0.3963377774 * lab[1] + 0.2158037573 * lab[2]) ** 3
    medium = (lab[0] - 0.1055613458 * lab[1] - 0.0638541728 * lab[2]) ** 3
    short = (lab[0] - 0.0894841775 * lab[1] - 1.2914855480 * lab[2]) ** 3
    parts = (
        4.0767416621 * long - 3.3077115913 * medium + 0.2309699292 * short,
        -1.2684380046 * long + 2.6097574011 * medium - 0.3413193965 * short,
        -0.0041960863 * long - 0.7034186147 * medium + 1.7076147010 * short,
    )
    red, green, blue = (min(1.0, max(0.0, part)) for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def mixed(colour: str, percent: str, other: str) -> Triple:
    part = float(percent.rstrip("%")) / 100
    first, second = oklab(colour), oklab(other)
    lightness, a, b = (x * part + y * (1 - part) for x, y in zip(first, second, strict=True))
    return lightness, a, b


def contrast(one: Triple, other: Triple) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_black_on_white_is_the_greatest_contrast() -> None:
    assert contrast(oklab("#000000"), oklab("#ffffff")) == pytest.approx(21, abs=0.01)
    assert contrast(oklab("#777777"), oklab("#ffffff")) == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("activity", sorted(ACTIVITIES))
def test_a_blocks_text_and_edge_stand_out(activity: str, scheme: str) -> None:
    colour, night = ACTIVITIES[activity], token("night", scheme)
    fill = mixed(colour, token("depth", scheme), night)
    edge = mixed(colour, token("rim", scheme), token("rim-with", scheme))
    assert contrast(oklab(token("ink", scheme)), fill) >= 4.5
    assert contrast(edge, oklab(token("paper", scheme))) >= 3


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("ground", ["paper", "desk", "fixed", "outside"])
@pytest.mark.parametrize("text", ["ink", "soft", "action", "refusal"])
def test_text_stands_out_on_every_ground(text: str, ground: str, scheme: str) -> None:
    assert contrast(oklab(token(text, scheme)), oklab(token(ground, scheme))) >= 4.5


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("shape", ["met", "short", "advice", "unchecked", "edge", "focus"])
def test_shapes_and_edges_stand_out(shape: str, scheme: str) -> None:
    assert contrast(oklab(token(shape, scheme)), oklab(token("paper", scheme))) >= 3


def test_activities_have_paul_tols_light_colours_in_their_order() -> None:
    """The hexadecimal values as this project's design names them; the scheme is Paul Tol's 'light'."""
    named = "#77aadd #99ddff #44bb99 #bbcc33 #aaaa00 #eedd88 #ee8866 #ffaabb #dddddd"
    assert [ACTIVITIES[f"a{place}"] for place in range(1, 10)] == named.split()


def test_paper_has_none_of_the_dark_scheme_s_own_colours() -> None:
    paper = re.search(r":root \{ color-scheme: light;([^}]*)\}", CSS)
    assert paper is not None
    colours = set(re.findall(r"--([\w-]+): #", DARK))
    assert colours <= set(re.findall(r"--([\w-]+):", paper[1]))
