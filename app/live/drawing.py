"""Draws panels and pages: one Jinja environment a language, and what stands behind a panel's cache.

A panel is drawn once per (panel, cases, language, revision of each case); every page and every push takes that. Of a
page's panels a tap changes one or two: a view that has read nothing of what is new is not asked again (`watched.py`),
and one that says the same as before is not set out again. The latter holds for parts of a panel, too (`part`).
"""

from __future__ import annotations

import re
from collections import OrderedDict
from collections.abc import MutableMapping, Sequence
from copy import copy
from dataclasses import dataclass
from datetime import datetime
from functools import cache, partial
from typing import Any
from zoneinfo import ZoneInfo

from babel.core import Locale
from babel.dates import format_date
from babel.numbers import get_decimal_symbol
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from app.base.moments import moment_text
from app.base.paths import data
from app.base.text import translations
from app.case.sentences import PEOPLE
from app.live.now import CaseNow
from app.live.panels import PAGES, PANELS
from app.live.watched import Reading

KEPT = 2000
_LOCALES = {"en": "en_GB"}
"""Where a language alone would not say how its hospitals write a day."""
_MARKED = re.compile(r"\b([CSMK]): ([^\]]+)")
Key = tuple[str, tuple[str, ...], str]


@cache
def _icon(name: str) -> Markup:
    """One icon as inline SVG. It stands beside words and says nothing by itself."""
    path = data("static") / "vendor" / "icons" / f"{name}.svg"
    text = path.read_text("utf-8")
    return Markup(text.replace("<svg ", '<svg aria-hidden="true" focusable="false" ', 1))


class _Plain(Environment):
    """All templates share the environment's globals, as a plain mapping: one laid over another for each template is
    copied for every part that is set out, which took a sixth of the time."""

    def make_globals(self, d: MutableMapping[str, Any] | None) -> MutableMapping[str, Any]:
        return super().make_globals(d) if d else self.globals


def environment(language: str, zone: ZoneInfo) -> Environment:
    """A Jinja environment with words of a language and times of a zone."""
    env = _Plain(
        loader=FileSystemLoader(data("templates")),
        autoescape=True,
        undefined=StrictUndefined,
        auto_reload=False,  # or the disk is asked after each file that a panel is made of, for every panel
        trim_blocks=True,
        lstrip_blocks=True,
        extensions=["jinja2.ext.i18n"],
    )
    words = translations(language)
    locale = Locale.parse(_LOCALES.get(language, language))
    decimal = get_decimal_symbol(locale)
    # Not the new style: it takes every text for a format and for safe HTML, also one that a station has sent.
    env.install_gettext_translations(words, newstyle=False)  # type: ignore[attr-defined]

    def clock(moment: datetime | None, seconds: bool = False) -> str:
        return "" if moment is None else moment.astimezone(zone).strftime("%H:%M:%S" if seconds else "%H:%M")

    def day(moment: datetime | None) -> str:
        return "" if moment is None else format_date(moment.astimezone(zone), "medium", locale=locale)

    def local(moment: datetime) -> str:
        """As a field for date and time holds it: without zone, and without seconds that are none."""
        return moment.astimezone(zone).replace(tzinfo=None, microsecond=0).isoformat().removesuffix(":00")

    def offset(moment: datetime) -> str:
        """How far the zone is from UTC at that moment, as +01:00."""
        return moment.astimezone(zone).isoformat()[-6:]

    def said(message: str, params: dict[str, Any]) -> str:
        """A sentence in the reader's language with its figures and names in place."""
        return str(words.gettext(message) % params)

    def filled(message: str, params: dict[str, str]) -> str:
        """A notice in the reader's language with names and figures in its places."""
        return str(words.gettext(message).format(**params))

    def figure(value: Any) -> str:
        """A number as people write it: 8.0 is 8; 7.5 stays, with the language's decimal sign."""
        return f"{value:g}".replace(".", decimal) if isinstance(value, float) else str(value)

    def word(value: Any) -> str:
        """A word of the record in the reader's language, also several; a number as people write it."""
        if isinstance(value, tuple | list):
            return ", ".join(word(one) for one in value)
        if isinstance(value, datetime):
            return clock(value, True)
        return str(words.gettext(value)) if isinstance(value, str) else figure(value)

    def told(message: str, params: dict[str, Any]) -> str:
        """As `said`, where what stands in the places are words and figures of the record, or working names."""
        put = copy(params)  # it has a sign for what was not said
        put.update({name: one if name in PEOPLE else word(one) for name, one in params.items()})
        return str(words.gettext(message) % put)

    def source(text: str) -> str:
        """Where a figure is from: publications keep their names, how sure it is has words."""
        return _MARKED.sub(lambda found: f"{found[1]}: {words.gettext(found[2])}", text)

    env.filters.update(
        clock=clock, day=day, iso=moment_text, said=said, told=told, word=word, filled=filled, figure=figure,
        source=source, local=local, offset=offset,
    )  # fmt: skip
    env.globals.update(icon=_icon, language=language, _=words.gettext)  # Jinja's own `_` takes a way round
    return env


@dataclass(slots=True)
class _Drawn:
    """A panel as it was drawn last: the revisions for which that holds, what its view has read, and what it said."""

    revisions: tuple[int, ...]
    reading: Reading
    view: Any
    html: str


class Drawing:
    """Draws panels, each once."""

    def __init__(self, zone: ZoneInfo) -> None:
        self._zone = zone
        self._environments: dict[str, Environment] = {}
        self._drawn: OrderedDict[Key, _Drawn] = OrderedDict()
        self._parts: OrderedDict[tuple[str, str, str], tuple[Any, Markup]] = OrderedDict()

    def environment(self, language: str) -> Environment:
        """The environment of a language, made at first use."""
        if language not in self._environments:
            env = self._environments[language] = environment(language, self._zone)
            env.globals["part"] = partial(self._part, language)
        return self._environments[language]

    def forget(self) -> None:
        """Everything is drawn anew from here on."""
        self._drawn.clear()
        self._parts.clear()

    def _part(self, language: str, name: str, key: str, view: Any) -> Markup:
        """What a template calls to set out a part that comes many times: of twenty bands of a board a tap changes one.

        name, key, view  `parts/_<name>.html`, which of them, and what it sets out as `one`
        """
        place = (name, key, language)
        known = self._parts.get(place)
        if known is not None and known[0] == view:
            html = known[1]
        else:
            html = Markup(self.environment(language).get_template(f"parts/_{name}.html").render(one=view).strip())
            self._parts[place] = (view, html)
            if len(self._parts) > KEPT:
                self._parts.popitem(last=False)
        self._parts.move_to_end(place)
        return html

    def panel(self, name: str, cases: Sequence[CaseNow], language: str) -> str:
        """The HTML of one panel."""
        key = (name, tuple(case.id for case in cases), language)
        revisions = tuple(case.revision for case in cases)
        known = self._drawn.get(key)
        if known is None or (known.revisions != revisions and not known.reading.stands(cases)):
            reading = Reading(cases)
            view = PANELS[name].view(reading.shown())
            if known is not None and known.view == view:  # a template sets out its view and knows nothing else
                html = known.html
            else:
                template = self.environment(language).get_template(f"panels/{name}.html")
                html = template.render(view=view).strip()
            known = self._drawn[key] = _Drawn(revisions, reading, view, html)
            if len(self._drawn) > KEPT:
                self._drawn.popitem(last=False)
        known.revisions = revisions
        self._drawn.move_to_end(key)
        return known.html

    def page(self, page: str, cases: Sequence[CaseNow], language: str) -> dict[str, str]:
        """The HTML of every panel of a page."""
        return {name: self.panel(name, cases, language) for name in PAGES[page]}
