// What the server draws is put in place without disturbing what is being typed, unfolded or set.
import { drawClocks } from "./clocks.js";
import { $, at, page, tell } from "./dom.js";

export const drawn = {}; // panels as the server last drew them
for (const name of page.panels?.split(" ") ?? []) if ($(`#${name}`)) drawn[name] = $(`#${name}`).outerHTML;

// A reader's own choice stays: what was unfolded keeps its mark and stays so, and what was set is not the server's to change.
if (window.Idiomorph) {
  const { callbacks } = window.Idiomorph.defaults, touched = (node) => node.dataset && "touched" in node.dataset; // for htmx, too
  callbacks.beforeNodeMorphed = (node) => !touched(node) || node.matches("details");
  callbacks.beforeAttributeUpdated = (name, node) => !touched(node) || !["open", "data-touched"].includes(name);
}
at("click", "summary", ({ parentNode }) => parentNode.setAttribute("data-touched", ""));

export function place(panels) {
  // Only a field that is being filled in is left alone; a button that has the focus must change its words like any other.
  const ignoreActiveValue = document.activeElement?.matches("input, select, textarea");
  for (const [name, html] of Object.entries(panels)) {
    const old = $(`#${name}`);
    if (old) window.Idiomorph.morph(old, html, { ignoreActiveValue });
  }
  drawClocks();
  tell("placed");
}

// Puts panels back as the server drew them.
export const restore = (names) => place(Object.fromEntries(names.map((name) => [name, drawn[name]])));
