"""How pages are looked at: on which screens, what axe finds, by day and by night, and whether all fits."""

from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

LAPTOP: dict[str, Any] = {"viewport": {"width": 1280, "height": 800}}
PHONE: dict[str, Any] = {"viewport": {"width": 360, "height": 740}, "has_touch": True, "is_mobile": True}
SHORT = 20
"""Minutes of a block that is at least 24 px high on a laptop's screen."""
sizes = pytest.mark.parametrize("size", [LAPTOP, PHONE], ids=["laptop", "phone"])


def faults(page: Page) -> list[str]:
    """What axe finds, as rule, what it is about, and where: once by day, and what colours do by night."""
    # The grid draws time to scale: a few minutes are a few pixels. For those cells the list below it is the equivalent
    # control on the same page that WCAG 2.5.8 allows, which axe cannot know.
    rest = {"exclude": [[f'.cell[data-length="{minutes}"]'] for minutes in range(5, SHORT, 5)]}
    page.evaluate(Axe().axe_script)
    found = _violations(page, {"rules": {"target-size": {"enabled": False}}})
    found += _violations(page, {"runOnly": ["target-size"]}, rest)
    page.emulate_media(color_scheme="dark")
    found += [f"by night, {one}" for one in _violations(page, {"runOnly": ["color-contrast", "link-in-text-block"]})]
    page.emulate_media(color_scheme="light")
    return found


def _violations(page: Page, options: dict[str, Any], within: dict[str, Any] | None = None) -> list[str]:
    told = [within or {}, {**options, "resultTypes": ["violations"]}]
    found = page.evaluate("([within, options]) => axe.run(within.exclude ? within : document, options)", told)
    return [f"{one['id']}: {one['help']}: {node['target']}" for one in found["violations"] for node in one["nodes"]]


def fits(page: Page) -> bool:
    return bool(page.evaluate("document.documentElement.scrollWidth <= innerWidth"))
