// Where taps wait: IndexedDB, written through to the disk before a tap counts as made.
let base = null;

const done = (request) => new Promise((resolve, reject) => {
  request.onsuccess = () => resolve(request.result);
  request.onerror = () => reject(request.error);
});

function open() {
  const request = indexedDB.open("doorside", 1);
  request.onupgradeneeded = () => {
    request.result.createObjectStore("taps", { keyPath: "n", autoIncrement: true });
    request.result.createObjectStore("counters");
  };
  return done(request);
}

// All of some work or nothing of it.
async function transaction(mode, work) {
  const tx = (await (base ??= open())).transaction(["taps", "counters"], mode, { durability: "strict" });
  const kept = new Promise((resolve, reject) => { [tx.oncomplete, tx.onabort] = [resolve, () => reject(tx.error)]; });
  const [result] = await Promise.all([work(tx.objectStore("taps"), tx.objectStore("counters")), kept]);
  return result;
}

// Gives the tap its station's next number and keeps it, both or neither.
export const keep = (tap) => transaction("readwrite", async (taps, counters) => {
  tap.counter = ((await done(counters.get(tap.station))) ?? 0) + 1;
  counters.put(tap.counter, tap.station);
  taps.add({ tap, refused: null });
});

// Every row, oldest first: { n, tap, refused, held, seen }. refused and held are the server's answer; such rows stay here.
export const rows = () => transaction("readonly", (taps) => done(taps.getAll()));
export const drop = (found) => transaction("readwrite", (taps) => found.forEach((row) => taps.delete(row.n)));
export const mark = (found) => transaction("readwrite", (taps) => found.forEach((row) => taps.put(row)));
