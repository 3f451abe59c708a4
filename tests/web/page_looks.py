"""What the tests of how pages look share: shots, contrasts of all that is read, and what a finger finds on paper."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
from PIL import Image

TWICE = (720, 450)  # a desk of 1440 by 900 at 200 %


def shot(page: Any, part: str) -> np.ndarray:
    """(height, width, 3) of what the screen shows of a part."""
    png = page.locator(part).first.screenshot()
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB"), dtype=float)


# Contrast and words of all that is read, typed words too, by the relative luminance of WCAG 2.2.
CONTRASTS = """() => {
  const light = ([r, g, b]) => [r, g, b].map((v) => v / 255)
    .map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4))
    .reduce((sum, v, k) => sum + v * [0.2126, 0.7152, 0.0722][k], 0);
  const parts = (colour) => colour.match(/[\\d.]+/g).map(Number);
  const ground = (one) => {
    for (let up = one; up; up = up.parentElement) {
      const found = parts(getComputedStyle(up).backgroundColor);
      if (found.length < 4 || found[3] > 0.5) return found;
    }
    return [255, 255, 255];
  };
  const told = [];
  const read = 'body *:not(svg *):not(#tags *):not(#glance *):not(option):not(script)';
  const typed = 'select, textarea, input:not([type=radio], [type=checkbox], [type=range], [type=file])';
  for (const one of document.querySelectorAll(read)) {
    const words = one.matches(typed) ? one.value
      : [...one.childNodes].filter((node) => node.nodeType === 3).map((node) => node.data).join('');
    if (!one.offsetParent || !words.trim()) continue;
    const [a, b] = [light(parts(getComputedStyle(one).color)), light(ground(one))].sort((p, q) => q - p);
    told.push([(a + 0.05) / (b + 0.05), words.trim().slice(0, 40)]);
  }
  return told;
}"""

# What of a page stands on paper that only a finger has use for, and headings with nothing under them.
USELESS_ON_PAPER = """() => {
  const there = (one) => one.getClientRects().length > 0;
  const controls = 'button:not([aria-pressed=true]), nav, summary, .choice, [type=range], [type=file], canvas#relief';
  const bare = (head) => ![...head.parentElement.children].some((one) => one !== head && there(one));
  return [
    [...document.querySelectorAll(controls)].filter(there).map((one) => one.id || one.textContent.trim()),
    [...document.querySelectorAll('h2')].filter((one) => there(one) && bare(one)).map((one) => one.textContent),
    [...document.querySelectorAll('body *')].filter((one) => there(one)
      && ['fixed', 'sticky'].includes(getComputedStyle(one).position)).map((one) => one.className || one.id),
  ];
}"""
