"""A finger on a page: finds the button or form that makes an entry of a kind, sets what goes with it, and taps.

It knows no page's layout: only what every tap carries (`data-kind`, `data-body`), how a sheet or a fold is opened, and
how steppers and words are set. What it touches it counts.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

from playwright.sync_api import ElementHandle, Error, Locator, Page, expect

FREE = frozenset({"q", "note", "n", "from"})
"""Fields that a page fills in itself, or that only the file's author knew."""

FIND = """(kind) => [...document.querySelectorAll(`button.tap[data-kind="${kind}"], form[data-kind="${kind}"]`)].filter((one) => !one.closest('#ahead')).map((one) => {
  const root = one.dataset.with ? document.getElementById(one.dataset.with) : null;
  const names = one.matches('form') ? [...one.elements].map((field) => field.name).filter(Boolean)
    : root ? [...root.querySelectorAll('[data-name]')].map((part) => part.dataset.name) : [];
  const shut = [];
  for (let up = one.parentElement; up; up = up.parentElement) {
    if (up.matches('details:not([open])')) shut.unshift(['fold', up.id]);
    if (up.matches('[popover]') && !up.matches(':popover-open')) shut.unshift(['sheet', up.id]);
  }
  const key = (window.e2eSeen ??= []).push(one) - 1;
  return { key, kind, said: one.dataset.body, root: root?.id, form: one.matches('form'), body: JSON.parse(one.dataset.body), names, shut,
           case: one.dataset.case, seen: one.checkVisibility(), next: one.matches('#next .tap-next') };
})"""

STILL = """({ key, kind, said }) => { const one = window.e2eSeen[key];
  return one.isConnected && one.dataset.kind === kind && one.dataset.body === said ? one : null; }"""
"""What was found, unless the page has been drawn anew since and it is gone or says something else."""

AIM = """(aim) => {
  Object.assign(window, { e2eAim: aim, e2eMissed: false });
  if (window.e2eGuarded) return;
  window.e2eGuarded = true;
  window.addEventListener("click", (event) => {
    if (!window.e2eAim) return;
    const { key, kind, said } = window.e2eAim, one = window.e2eSeen[key];
    window.e2eAim = null;
    if (one.contains(event.target) && one.dataset.kind === kind && one.dataset.body === said) return;
    event.stopImmediatePropagation();
    event.preventDefault();
    window.e2eMissed = true;
  }, true);
}"""
"""A push may change a button while the finger comes down. Who sees that does not touch it: such a touch does nothing."""


@dataclass
class Count:
    """What a finger did: touches that make an entry or open what makes it, and touches that set a figure or a word.

    pressed  keys, where keys are pressed instead
    """

    made: int = 0
    opened: int = 0
    said: int = 0
    pressed: int = 0
    entries: int = 0
    figures: int = 0
    by_kind: dict[str, list[int]] = field(default_factory=dict)


LOOKS, AIM_MS = 8, 4000


class NoTap(AssertionError):
    """A page has no way to make an entry."""


def plain(value: Any) -> str:
    return str(sorted(value) if isinstance(value, list) else value).casefold()


class Finger:
    """One page and what was touched on it."""

    def __init__(self, page: Page) -> None:
        self.page, self.count = page, Count()

    def can(self, kind: str, wanted: Mapping[str, Any]) -> int | None:
        """How well the page offers a tap: the fewer marks against it the better; None when it does not."""
        found = self._ranked(kind, wanted)
        return found[0][0] if found else None

    def tap(self, kind: str, wanted: Mapping[str, Any], entries: int = 1) -> None:
        """Makes an entry of a kind, saying as much of what is wanted as the page can say.

        A page that is drawn anew between the look and the touch is looked at again.
        """
        before = (self.count.made, self.count.opened, self.count.said)
        for left in reversed(range(LOOKS)):
            ranked = self._ranked(kind, wanted)
            if not ranked:
                raise NoTap(f"no tap makes {kind} {dict(wanted)}")
            try:
                self._make(ranked[0][1], wanted)
                break
            except Error:
                if not left:
                    raise
        self.count.made += 1
        self.count.entries += entries
        after = (self.count.made, self.count.opened, self.count.said)
        self.count.by_kind.setdefault(kind, []).append(sum(b - a for a, b in zip(before, after, strict=True)))

    def _make(self, chosen: Mapping[str, Any], wanted: Mapping[str, Any]) -> None:
        names, body = chosen["names"], chosen["body"]
        for how, key in chosen["shut"]:
            self._open(how, key)
        missing = {n: v for n, v in wanted.items() if n in names and body.get(n) != v}
        if chosen["form"]:
            form = self._aim(chosen)
            for name, value in missing.items():  # a list of things is sent as it is marked: all there
                self.count.said += self.fill(form, name, value)
            self._hit(chosen, self.submit)
            return
        for name, value in missing.items():
            self._say(self.page.locator(f"#{chosen['root']}"), name, value)
        self._hit(chosen, self.touch)

    def _hit(self, chosen: Mapping[str, Any], how: Callable[[ElementHandle], None]) -> None:
        """Touches what was chosen, or raises Error when it became something else under the finger."""
        target = self._aim(chosen)
        self.page.evaluate(AIM, {name: chosen[name] for name in ("key", "kind", "said")})
        missed = False
        try:
            how(target)
        finally:
            with suppress(Error):  # it led to another page
                missed = self.page.evaluate("(window.e2eAim = null, window.e2eMissed === true)")
        if missed:
            raise Error("the page was drawn anew under the finger")

    def _aim(self, chosen: Mapping[str, Any]) -> ElementHandle:
        found = self.page.evaluate_handle(STILL, {name: chosen[name] for name in ("key", "kind", "said")}).as_element()
        if found is None:
            raise Error("the page was drawn anew")
        return found

    def _ranked(self, kind: str, wanted: Mapping[str, Any]) -> list[tuple[int, dict[str, Any]]]:
        found = []
        for one in self.page.evaluate(FIND, kind):
            marks = self._marks(one, wanted)
            if marks is not None:
                found.append((marks, one))
        return sorted(found, key=lambda pair: pair[0])

    @staticmethod
    def _marks(one: Mapping[str, Any], wanted: Mapping[str, Any]) -> int | None:
        marks = 0 if one["next"] else 2
        marks += 0 if one["seen"] else 10 * len(one["shut"]) + 10
        marks += 5 if one["form"] else 0
        if "q" in one["body"] and one["body"]["q"] != wanted.get("q"):
            return None
        for name, value in wanted.items():
            if name in FREE or (name in one["names"] and not (name == "p" and isinstance(value, list))):
                continue
            said = one["body"].get(name)
            if said is None:
                marks += (
                    100 if name in ("p", "subject", "tray", "step", "class", "plan", "result", "phase", "item") else 20
                )
            elif plain(said) != plain(value):
                if name in ("device", "via", "who", "checker", "urg", "to", "site"):
                    marks += 20
                    continue
                return None
        marks += 3 * len([name for name in one["body"] if name not in wanted and name not in FREE])
        return None if marks >= 100 else marks

    def _open(self, how: str, key: str) -> None:
        opener = f'[popovertarget="{key}"]:not([popovertargetaction])' if how == "sheet" else f"#{key} > summary"
        self.touch(_the(self.page.locator(opener)))
        self.count.opened += 1

    def _say(self, root: Locator, name: str, value: Any) -> None:
        words = root.locator(f'.say[data-name="{name}"]')
        if words.count():
            word = words.and_(self.page.locator(f'[data-value="{value}"]'))
            if word.get_attribute("aria-pressed", timeout=AIM_MS) != "true":
                self.touch(_the(word))
                self.count.said += 1
            return
        stepper = root.locator(f'.stepper[data-name="{name}"]')
        if not stepper.count():
            return
        left = round(float(value) - float(stepper.get_attribute("data-value") or 0), 3)
        buttons = {_by(button): button for button in stepper.locator(".step").all()}
        if left == 0 and stepper.get_attribute("data-touched") is not None:
            return
        self.count.figures += 1
        touches = [buttons[by] for by in _fewest(left, sorted(buttons))] or [stepper.locator(".step-value")]
        for button in touches:
            self.touch(_the(button))
        self.count.said += len(touches)
        expect(stepper.locator("output")).to_have_text(re.compile(rf"^{re.escape(f'{float(value):g}')}$"))

    def touch(self, target: ElementHandle) -> None:
        """One touch."""
        target.click(timeout=AIM_MS)

    def submit(self, form: ElementHandle) -> None:
        """Sends a form by its button."""
        button = form.query_selector('button[type="submit"]')
        assert button is not None
        self.touch(button)

    def fill(self, form: ElementHandle, name: str, value: Any) -> int:
        """Says one field of a form, whatever it is made of; 1 when the form has it."""
        fields = form.query_selector_all(f'[name="{name}"]')
        if not fields:
            return 0
        for fold in folds_over(fields[0]):
            self.touch(fold)
        kind, text = fields[0].evaluate("(one) => one.type"), said_in_a_form(value)
        if kind == "radio":
            wanted = [one for one in fields if one.get_attribute("value") == text]
            for one in wanted[:1]:
                one.check(force=True, timeout=AIM_MS)
            return len(wanted)
        if kind.startswith("select"):
            fields[0].select_option(text, timeout=AIM_MS)
        else:
            fields[0].fill(text, timeout=AIM_MS)
        return 1


def _the(found: Locator) -> ElementHandle:
    return found.element_handle(timeout=AIM_MS)


def folds_over(one: ElementHandle) -> list[ElementHandle]:
    """What must be unfolded before something is in sight, the outermost first."""
    found = one.evaluate_handle(
        """(one) => { const shut = [];
          for (let up = one.parentElement; up; up = up.parentElement) if (up.matches('details:not([open])')) shut.unshift(up.querySelector(':scope > summary'));
          return shut; }"""
    )
    handles = (value.as_element() for _, value in sorted(found.get_properties().items(), key=lambda item: int(item[0])))
    return [handle for handle in handles if handle is not None]


def said_in_a_form(value: Any) -> str:
    """As it is written into a field."""
    if isinstance(value, list | tuple):
        return ", ".join(value)
    return f"{value:g}" if isinstance(value, float) else str(value)


def _fewest(left: float, sizes: list[float]) -> list[float]:
    """The fewest steps that move a stepper so far: with its large step as far as that helps, also past it and back.

    >>> _fewest(8, [-10, -1, 1, 10])
    [10, -1, -1]
    """
    small, large = min(abs(by) for by in sizes), max(abs(by) for by in sizes)
    ways = []
    for count in {int(abs(left) / large), int(abs(left) / large) + 1, 0} if large > small else {0}:
        rest = abs(left) - count * large
        ways.append([large] * count + [small if rest > 0 else -small] * round(abs(rest) / small))
    sign = 1 if left > 0 else -1
    return [sign * by for by in min(ways, key=len)]


def _by(button: Locator) -> float:
    return float(button.get_attribute("data-by") or 0)
