// What every module asks of its page and of the server.
export const page = document.body.dataset, UNPAIRED = [401, 403, 410];
export const $ = (where, root = document) => root.querySelector(where);
export const $$ = (where, root = document) => [...root.querySelectorAll(where)];
export const on = (types, act) => types.split(" ").forEach((type) => addEventListener(type, act));
export const at = (types, where, act) => on(types, (event) => {
  const one = event.target.closest?.(where);
  if (one) act(one, event);
});
export const tell = (type, detail) => dispatchEvent(new CustomEvent(type, { detail }));
export const bodyOf = (one) => JSON.parse(one.dataset.body);

// Gives the answer's status and what it says, both undefined where nothing came back.
export async function post(address, said) {
  const headers = { "content-type": "application/json" }, signal = AbortSignal.timeout(8000);
  const answer = await fetch(address, { method: "POST", headers, signal, body: JSON.stringify(said) }).catch(() => null);
  return [answer?.status, await answer?.json().catch(() => null)];
}

// Shows a box with these words in its <b>; without words it is hidden.
export const say = (where, words) => $$(where).forEach((box) => {
  box.hidden = !words;
  $("b", box).textContent = words;
});
