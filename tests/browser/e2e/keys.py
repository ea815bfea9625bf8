"""A hand on a keyboard alone: goes to a control with Tab, and presses it with Enter, Space or the arrows.

No pointer touches the page and no script moves its focus. How many presses it takes is worked out from the order of
the page and then looked at: what cannot be reached that way is a control that the keyboard does not have.
"""

from __future__ import annotations

from typing import Any

from playwright.sync_api import ElementHandle

from tests.browser.e2e.finger import AIM_MS, Finger, folds_over, said_in_a_form

WAY = """(target) => {
  const stops = [...document.querySelectorAll('a[href], button, input, select, textarea, summary, [tabindex]')].filter((one) =>
    one === target || (!one.disabled && one.tabIndex >= 0 && one.checkVisibility({ visibilityProperty: true })));
  const here = stops.indexOf(document.activeElement), there = stops.indexOf(target);
  return { there: document.activeElement === target, known: here >= 0, steps: there - here, all: stops.length };
}"""
"""How many stops lie between where the focus is and where it is wanted, as far as the order of the page says."""
GUESSES = 4


class NotReached(AssertionError):
    """A control that no number of presses of Tab reaches."""


class Keys(Finger):
    """As a finger, with keys."""

    def touch(self, target: ElementHandle) -> None:
        """Goes there and presses Enter."""
        self._go(target)
        self._press("Enter")

    def fill(self, form: ElementHandle, name: str, value: Any) -> int:
        """Says one field of a form with the keys that fields of its sort have; 1 when the form has it."""
        fields = form.query_selector_all(f'[name="{name}"]')
        if not fields:
            return 0
        for fold in folds_over(fields[0]):
            self.touch(fold)
        kind, text = fields[0].evaluate("(one) => one.type"), said_in_a_form(value)
        if kind == "radio":
            return self._pick(fields, text)
        self._go(fields[0])
        if kind.startswith("select"):
            place = fields[0].evaluate(
                "(one, text) => [...one.options].findIndex((each) => each.value === text || each.label === text)", text
            )
            assert place >= 0, f"no {text!r} to choose for {name}"
            for key in ("Home", *["ArrowDown"] * place):
                self._press(key)
        else:
            self._press("Control+a")
            self.page.keyboard.type(_as_typed(kind, text))
            self.count.pressed += len(text)
        return 1

    def _pick(self, radios: list[ElementHandle], text: str) -> int:
        """Tab goes to a group of choices as one; the arrows go through it."""
        if text not in [one.get_attribute("value") for one in radios]:
            return 0
        checked = [one for one in radios if one.is_checked()]
        self._go((checked or radios)[0])
        if not checked:
            self._press("Space")
        for _ in radios:
            if self.page.evaluate("document.activeElement.value") == text:
                return 1
            self._press("ArrowDown")
        raise NotReached(f"the arrows never came to {text}")

    def _go(self, target: ElementHandle) -> None:
        target.wait_for_element_state("visible", timeout=AIM_MS)
        for _ in range(GUESSES):
            way = target.evaluate(WAY)
            if way["there"]:
                return
            # Where nothing has the focus the browser goes on from where it was last: one press shows where that is.
            steps = way["steps"] if way["known"] else 1
            for _ in range(abs(steps)):
                self._press("Tab" if steps > 0 else "Shift+Tab")
        for _ in range(2 * way["all"]):
            if target.evaluate("(one) => one === document.activeElement"):
                return
            self._press("Tab")
        raise NotReached(str(target.evaluate("(one) => one.outerHTML"))[:400])

    def _press(self, key: str) -> None:
        self.page.keyboard.press(key)
        self.count.pressed += 1


def _as_typed(kind: str, text: str) -> str:
    """A date is typed in the order of its parts on the screen."""
    if kind != "date":
        return text
    year, month, day = text.split("-")
    return month + day + year
