"""The proof page for all who read it, in a real Chromium.

Names, contrast (WCAG 2.1 AA, 1.4.3 and 1.4.11, by its own formula of relative luminance), motion,
a narrow screen. axe-core is run too where the variable AXE_CORE names its script.
"""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest

from .in_browser import by_id, needs_browser, reload

pytestmark = [pytest.mark.browser, needs_browser]


def test_every_control_has_a_name(browser):
    reload(browser)
    nameless = browser.execute_script("""
        return [...document.querySelectorAll('button,select,input,[tabindex]')].filter((each) =>
            !(each.labels && each.labels.length) && !each.getAttribute('aria-label')
            && !each.getAttribute('aria-labelledby') && !each.textContent.trim()
        ).map((each) => each.outerHTML)""")
    assert nameless == []
    assert browser.find_element("tag name", "html").get_attribute("lang") == "en"


LUMINANCE = """
    const rgb = (c) => c.match(/[\\d.]+/g).slice(0, 3).map((v) => {
        v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; });
    const light = (c) => { const [r, g, b] = rgb(c); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
    const behind = (e) => {
        for (; e; e = e.parentElement) {
            const colour = getComputedStyle(e).backgroundColor;
            if (!/, 0\\)$/.test(colour)) return colour;
        }
        return 'rgb(255,255,255)'; };
    const ratio = (a, b) => {
        const [x, y] = [light(a), light(b)].sort((p, q) => q - p);
        return (x + 0.05) / (y + 0.05); };
    const out = [];
    for (const e of document.querySelectorAll('h1,h2,p,label,button,select,li,th,td,legend,output'))
        if (e.textContent.trim())
            out.push([e.outerHTML.slice(0, 60), ratio(getComputedStyle(e).color, behind(e)), 4.5]);
    const view = document.getElementById('view');
    for (const e of document.querySelectorAll('svg.sheet g[data-kind]'))
        out.push([e.dataset.kind, ratio(getComputedStyle(e).stroke, behind(view)), 3]);
    return out.filter(([, is, least]) => is < least);
"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_contrast_in_light_and_dark(browser, scheme):
    wanted = [{"name": "prefers-color-scheme", "value": scheme}]
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": wanted})
    reload(browser)
    paper = browser.execute_script("return getComputedStyle(document.body).backgroundColor")
    assert (int(re.findall(r"\d+", paper)[0]) < 128) == (scheme == "dark")
    assert browser.execute_script(LUMINANCE) == []
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})


def test_without_motion_it_plays_in_steps(browser):
    calm = [{"name": "prefers-reduced-motion", "value": "reduce"}]
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": calm})
    reload(browser)
    by_id(browser, "play").click()
    frames = browser.execute_script("return matchMedia('(prefers-reduced-motion: reduce)').matches")
    assert frames
    from selenium.webdriver.support.ui import WebDriverWait

    first = by_id(browser, "left").text
    WebDriverWait(browser, 8).until(lambda b: by_id(b, "left").text != first)
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})


def test_narrow_as_a_phone_nothing_sticks_out(browser):
    size = {"width": 390, "height": 844, "deviceScaleFactor": 2, "mobile": True}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    reload(browser)
    wide = browser.execute_script("return document.documentElement.scrollWidth")
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    assert wide <= 390


def test_axe_finds_nothing(browser):
    script = os.environ.get("AXE_CORE", "")
    if not script:
        pytest.skip("AXE_CORE names no axe-core script; contrast and names are checked by hand")
    reload(browser)
    browser.execute_cdp_cmd("Runtime.evaluate", {"expression": Path(script).read_text("utf-8")})
    found = browser.execute_async_script(
        "const done=arguments[0]; axe.run()"  # every rule: also best practices
        ".then((r)=>done(r.violations.map((v)=>[v.id,v.nodes.map((n)=>n.html)])))"
    )
    assert found == []
